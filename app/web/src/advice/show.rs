//! One advice: the answers kept apart, the drawings, the options, what is not known, and the decision.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{AdviceId, Role};
use usecases::advice::{self, AdvicePage};
use wording::sentences::dates;
use wording::{Choice, Drawing, Link, Row, Shell, Table};

use super::answers::{answers, limit_words};
use super::choices::{choices, confirm_hint, decide_note, hows};
use super::columns::{Column, columns};
use super::{
    asking, before, consult, course, differences, drawings, facts, follows, not_known, sources,
    stored, summary, words,
};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

/// Under the fork: why a line may lie outside a narrow band.
const MEAN: &str = "Each line is the mean of all cases; where a band is narrow, a few dear cases can carry the line out of it.";
/// The same, where failures beyond repair stand in the line of keeping.
const BEYOND_REPAIR: &str = "In the line of keeping a failure beyond repair may end it; the new one in its place is counted by the year from then on.";

/// What both forms of the page show.
#[derive(Template)]
#[template(path = "advice/show.html")]
pub(super) struct ShowPage {
    pdf: bool,
    shell: Shell,
    title: String,
    heading: String,
    standing: String,
    facts: Vec<String>,
    number: String,
    summary: Vec<Row>,
    answers: Vec<Row>,
    differences: Option<Table>,
    bridge: Vec<String>,
    unit_facts: Vec<Row>,
    past: Option<Table>,
    inputs: Table,
    fork: Option<Drawing>,
    fork_notes: Vec<&'static str>,
    kept: Option<Drawing>,
    limits: Option<Drawing>,
    limit_words: Vec<String>,
    columns: Vec<Column>,
    ruled: Vec<Row>,
    later: Vec<Row>,
    doubts: Option<Drawing>,
    doubts_words: String,
    unknowns: Vec<Row>,
    ask: Vec<Row>,
    consult: Option<String>,
    consult_steps: Vec<Row>,
    consult_reminder: &'static str,
    quote: Option<Table>,
    quote_words: String,
    decided: Option<String>,
    /// What follows from the decision, a sentence each.
    follows: Vec<String>,
    newer: Option<Link>,
    may_decide: bool,
    by_desk: bool,
    confirm: Option<Confirm>,
    before: Vec<Row>,
    asked_first: AskedFirst,
    decide_note: String,
    choices: Vec<Choice>,
    hows: Vec<Choice>,
    form: Typed,
    once: String,
    href: String,
    standing_words: &'static str,
}

/// How a large decision is confirmed: for which sums, and whether a second device shows digits too.
struct Confirm {
    only: String,
    digits: bool,
}

/// Whom somebody has to have asked before a repair is agreed.
struct AskedFirst {
    maker: bool,
    firm: bool,
}

impl AskedFirst {
    fn of(seen: &AdvicePage) -> Self {
        Self {
            maker: before::is_makers(&seen.before),
            firm: before::is_repeat(&seen.before),
        }
    }
}

/// The page of one advice.
pub(crate) async fn page_of(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let seen = load(&reader, &state, &path).await?;
    let by_desk = reader.seat.role() != Role::Landlord;
    page(&build(
        &seen,
        reader.shell(&state, "advice"),
        (by_desk, state.sets_papers()),
        Typed::default(),
    ))
}

pub(super) async fn load(
    reader: &Reader,
    state: &web::Data<State>,
    path: &str,
) -> Result<AdvicePage, Failure> {
    let id: AdviceId = id_of(path, "advice")?;
    let seat = reader.seat.clone();
    let seen = answer(state, move |world| advice::advice_page(world, &seat, id)).await?;
    Ok(stored::ready(seen))
}

/// The page; `by_desk`: read by the agent, `pdf`: its two pages can be had as PDF.
pub(super) fn build(
    seen: &AdvicePage,
    shell: Shell,
    (by_desk, pdf): (bool, bool),
    form: Typed,
) -> ShowPage {
    let a = &seen.listed;
    let (ruled, later) = sources::not_compared(seen);
    let once = once(&form);
    let heading = course::heading(a, &shell.person_name);
    ShowPage {
        pdf,
        shell,
        title: format!(
            "Advice for {}",
            words::place(&a.unit.space_name, &a.unit.building_name)
        ),
        heading,
        summary: summary::rows(seen),
        differences: differences::table(seen),
        bridge: differences::bridge(seen),
        unit_facts: facts::rows(seen),
        past: facts::past(seen),
        standing: course::standing(seen),
        facts: vec![
            words::unit_there(a),
            format!("as known on {}", dates::day(seen.known_on)),
            format!("made by {}", seen.made_by),
        ],
        number: a.unit.number.clone(),
        answers: answers(seen),
        inputs: sources::table(seen),
        fork: drawings::fork(a, seen.known_on),
        fork_notes: fork_notes(seen),
        kept: drawings::keep_years(a),
        limits: drawings::two_limits(a),
        limit_words: limit_words(seen),
        columns: columns(seen, true),
        ruled: sources::in_full(ruled, seen, by_desk),
        later: sources::in_full(later, seen, by_desk),
        doubts: drawings::doubts(a, usize::MAX),
        doubts_words: drawings::turns_words(a),
        unknowns: not_known::rows(seen),
        ask: asking::rows(&seen.ask),
        consult: consult::test(seen),
        consult_steps: consult::steps(seen),
        consult_reminder: consult::REMINDER,
        quote: quote_table(seen),
        quote_words: quote_words(seen),
        decided: a.decision.as_ref().map(words::decided),
        follows: follows::sentences(seen),
        newer: seen.newer.map(|id| {
            Link::new(
                "A newer advice stands in this one’s place",
                format!("/advice/{id}"),
            )
        }),
        may_decide: seen.may_decide,
        by_desk,
        confirm: confirm_hint(seen).map(|only| Confirm {
            only,
            digits: seen.second_device,
        }),
        before: before::rows_of(seen),
        asked_first: AskedFirst::of(seen),
        decide_note: decide_note(seen),
        choices: choices(seen, form.value("choice")),
        hows: hows(seen, form.value("how")),
        form,
        once,
        href: format!("/advice/{}", a.id),
        standing_words: words::STANDING,
    }
}

/// The form's own key: as it came, or a fresh one.
fn once(form: &Typed) -> String {
    match form.value("once") {
        "" => fresh_once(),
        kept => kept.to_owned(),
    }
}

fn fork_notes(seen: &AdvicePage) -> Vec<&'static str> {
    let lost = !seen.listed.answer.advice.lost_adds.is_empty();
    std::iter::once(MEAN)
        .chain(lost.then_some(BEYOND_REPAIR))
        .collect()
}

fn quote_table(seen: &AdvicePage) -> Option<Table> {
    let quote = seen.listed.quoted.as_ref()?;
    let rows = quote
        .lines
        .iter()
        .map(|(what, net, vat)| vec![what.clone(), net.to_string(), format!("{vat}\u{a0}%")])
        .collect();
    let mut table = Table::new(&["What", "Without VAT", "VAT"], rows).numbers(&[1, 2]);
    table.sum = Some(vec![
        "With VAT".to_owned(),
        quote.total.to_string(),
        format!("{} of it", quote.vat),
    ]);
    Some(table)
}

fn quote_words(seen: &AdvicePage) -> String {
    let Some(quote) = &seen.listed.quoted else {
        return String::new();
    };
    let words = match quote.words.as_str() {
        "" => String::new(),
        words => format!(" “{words}”"),
    };
    format!(
        "{} gave it on {}; it holds until {}.{words}",
        quote.firm_name,
        dates::day(quote.given_on),
        dates::day(quote.valid_until)
    )
}
