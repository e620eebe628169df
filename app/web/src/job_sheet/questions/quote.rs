//! The price of what is left to do.
use chrono::Days;
use usecases::visit::SheetView;
use wording::sentences::dates;

use super::work::part_choices;
use super::{Answers, Ask, Group};

/// A quote holds a fortnight unless its writer says otherwise (common practice, no source).
const USUAL_DAYS: u64 = 14;

/// A quote.
pub(crate) fn quote(view: &SheetView, answers: &Answers<'_>) -> Group {
    let mut part = answers.ask("q_part", "For which part?", Ask::List);
    if part.value.is_empty() {
        part.value = answers.get("cause");
    }
    part.choices = part_choices(view, ("", "no part in particular"), &part.value);
    let mut questions = vec![part];
    for (n, what) in ["Part", "Labour", "Access", "Waste", "Other"]
        .into_iter()
        .enumerate()
    {
        let n = n + 1;
        let mut name = answers.ask(&format!("q.{n}.what"), &format!("Line {n}"), Ask::Line);
        if name.value.is_empty() {
            what.clone_into(&mut name.value);
        }
        questions.push(name);
        questions.push(answers.ask(&format!("q.{n}.net"), "Pounds without VAT", Ask::Line));
    }
    let mut vat = answers.ask("q_vat", "VAT, per cent", Ask::Line);
    if vat.value.is_empty() {
        "20".clone_into(&mut vat.value);
    }
    questions.push(vat);
    let mut until = answers.ask("q_until", "It holds until", Ask::Day);
    if until.value.is_empty() {
        until.value = dates::machine(view.facts.day + Days::new(USUAL_DAYS));
    }
    questions.push(until);
    questions.push(answers.ask("q_words", "Anything the office should know", Ask::Lines));
    Group {
        key: "quote".to_owned(),
        heading: format!("Your quote for {}", view.facts.space.name),
        lines: vec!["Making safe and lending heaters wait for no quote.".to_owned()],
        questions,
    }
}
