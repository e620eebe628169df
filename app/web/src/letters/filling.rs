//! What is filled in on a letter: from the form and back into it.
use usecases::letters::{Filled, LetterView};
use wording::sentences::dates;

use crate::form::Typed;

/// Lays what was typed over what the job suggests; a day or hour that cannot be read is said at its field.
pub(super) fn typed_over(form: &mut Typed, suggested: Filled) -> Filled {
    if form.value("shown").is_empty() {
        return suggested;
    }
    let text = |form: &Typed, field: &str| form.value(field).trim().chars().take(600).collect();
    let minutes = form.number("minutes", 0.0, 1440.0);
    Filled {
        day: form.date("day"),
        from: form.time("from"),
        until: form.time("until"),
        who: text(form, "who"),
        why: text(form, "why"),
        minutes: minutes.map_or(0, |m| m.round() as i32),
        moves: text(form, "moves"),
        off: text(form, "off"),
        after: text(form, "after"),
        terms: text(form, "terms"),
        answer_by: form.date("answer_by"),
        agreed: form.ticked("agreed"),
        sender: suggested.sender,
    }
}

/// The form as the letter stands; what was typed wrongly stays as typed.
pub(super) fn form_of(view: &LetterView, typed: &Typed, now: chrono::NaiveDateTime) -> Typed {
    let filled = &view.filled;
    let day = |day: Option<chrono::NaiveDate>| day.map(dates::machine).unwrap_or_default();
    let hour = |at: Option<chrono::NaiveTime>| {
        at.map(|at| at.format("%H:%M").to_string())
            .unwrap_or_default()
    };
    let mut form = Typed::starting_with([
        ("day", day(filled.day)),
        ("from", hour(filled.from)),
        ("until", hour(filled.until)),
        ("who", filled.who.clone()),
        ("why", filled.why.clone()),
        ("minutes", filled.minutes.to_string()),
        ("moves", filled.moves.clone()),
        ("off", filled.off.clone()),
        ("after", filled.after.clone()),
        ("terms", filled.terms.clone()),
        ("answer_by", day(filled.answer_by)),
        ("agreed", if filled.agreed { "yes" } else { "" }.to_owned()),
        ("sent_on", dates::machine(now.date())),
        ("sent_time", now.format("%H:%M").to_string()),
        ("how", String::new()),
        ("reference", String::new()),
    ]);
    form.lay_over(typed);
    form
}
