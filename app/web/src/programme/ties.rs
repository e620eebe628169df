//! What people tied, and the form that ties.
use usecases::plan::{BuildingProgramme, TieCard};
use wording::sentences::{capital, dates, list};
use wording::{Choice, Row, Verb};

use super::words::called_by_place;
use crate::form::{Typed, fresh_once};

/// What is tied, each with who, when and why, and the verb that takes it back.
pub(super) fn rows(found: &BuildingProgramme) -> Vec<Row> {
    found.ties.iter().map(|card| row(found, card)).collect()
}

fn row(found: &BuildingProgramme, card: &TieCard) -> Row {
    let tie = &card.tie;
    let names: Vec<String> = tie
        .units
        .iter()
        .map(|u| called_by_place(found, *u))
        .collect();
    let year = tie.year.map(|y| y.to_string()).unwrap_or_default();
    let what = match tie.what.as_str() {
        "pin" => format!("{} is pinned to {year}", list(&names)),
        "forbid" => format!("{} is kept out of {year}", list(&names)),
        "by" => format!("{} must go by {year}", list(&names)),
        _ => format!("{} go together, or none of them", list(&names)),
    };
    let row = Row::plain(
        format!("tie-{}", tie.id),
        format!(
            "{}: {}. {}, {}.",
            capital(&what),
            tie.why.trim_end_matches('.'),
            card.by,
            dates::day(tie.said_on)
        ),
    );
    if !found.may_state {
        return row;
    }
    row.verb(Verb::post(
        "Let it go",
        format!("/programme/{}/ties/{}/back", found.building.id, tie.id),
        vec![("once".to_owned(), fresh_once())],
    ))
}

/// What can be tied.
pub(super) fn kinds(form: &Typed) -> Vec<Choice> {
    let chosen = match form.value("kind") {
        "" => "pin",
        kind => kind,
    };
    [
        ("pin", "In this year and no other"),
        ("forbid", "Not in this year"),
        (
            "by",
            "In this year at the latest: a law, a maker or a surveyor says so",
        ),
        ("together", "Together with another, in one year or never"),
    ]
    .into_iter()
    .map(|(value, label)| Choice::new(value, label, value == chosen))
    .collect()
}

/// The units of the building, to choose one by field name; the first entry is none.
pub(super) fn units(found: &BuildingProgramme, form: &Typed, field: &str) -> Vec<Choice> {
    let chosen = form.value(field).to_owned();
    let mut all: Vec<_> = found.units.values().collect();
    all.sort_by_cached_key(|a| natural(&a.space_name, &a.number));
    let mut choices = vec![Choice::new("", "none", chosen.is_empty())];
    choices.extend(all.into_iter().map(|unit| {
        let id = unit.unit.to_string();
        let is_chosen = id == chosen;
        Choice::new(
            id,
            format!("{} ({})", unit.space_name, unit.number),
            is_chosen,
        )
    }));
    choices
}

/// "Flat 9" before "Flat 10".
fn natural(name: &str, number: &str) -> (String, u64, String) {
    let digits: String = name.chars().filter(char::is_ascii_digit).collect();
    let letters: String = name.chars().filter(|c| !c.is_ascii_digit()).collect();
    (letters, digits.parse().unwrap_or(0), number.to_owned())
}

/// The years of the programme.
pub(super) fn years(found: &BuildingProgramme, form: &Typed, field: &str) -> Vec<Choice> {
    let chosen = form.value(field).to_owned();
    let first = found.money.first().map_or(found.input.first_year, |m| m.0);
    (first..first + found.money.len() as i32)
        .map(|y| Choice::new(y.to_string(), y.to_string(), y.to_string() == chosen))
        .collect()
}
