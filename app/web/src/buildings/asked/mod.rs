//! What a building answers to each question: a heading, what follows from it, and at most five rows "why there".
mod checks;
mod heat;
mod money;
mod oldest;
mod pipes;

use terms::FunctionLost;
use terms::unit::{Reading, UnitCard};
use usecases::register::{BuildingView, FlatNow, Question, Trouble};
use wording::sentences::{counted, dates};
use wording::{Ask, Link, Row, Urgency};

use super::section::href;
use crate::when;

/// Rows under a drawing.
const MOST_ROWS: usize = 5;
/// Hardness above which scale is looked for, mg/l (trade table on units, adjusters; common practice, no source).
const HARD: f64 = 200.0;

/// One question with its answer.
pub(super) struct Answered {
    /// The finding.
    pub heading: String,
    /// What follows from it.
    pub standing: String,
    /// Over the rows.
    pub rows_heading: &'static str,
    /// Small words beside it.
    pub rows_note: String,
    /// At most five.
    pub rows: Vec<Row>,
}

/// The questions as links; pipes only where there are any.
pub(super) fn asks(view: &BuildingView, current: Question) -> Vec<Ask> {
    let all = [
        (Question::Heat, "heat", "Where is heat most likely to fail?"),
        (Question::Checks, "checks", "Whose check is next?"),
        (Question::Oldest, "oldest", "What is oldest?"),
        (Question::Money, "money", "Where did the money go?"),
        (Question::Pipes, "pipes", "Which pipe feeds whom?"),
    ];
    all.into_iter()
        .filter(|(q, _, _)| *q != Question::Pipes || !view.branches.is_empty())
        .map(|(question, code, words)| Ask {
            words: words.to_owned(),
            href: format!("/buildings/{}?ask={code}", view.building.id),
            current: question == current,
        })
        .collect()
}

/// The question of an address; anything unknown asks about heat.
pub(super) fn question_of(code: &str) -> Question {
    match code {
        "checks" => Question::Checks,
        "oldest" => Question::Oldest,
        "money" => Question::Money,
        "pipes" => Question::Pipes,
        _ => Question::Heat,
    }
}

/// The answer in words.
pub(super) fn answered(view: &BuildingView, ask: Question) -> Answered {
    let unknown = view.flats.iter().all(|f| f.units.is_empty()) && view.plant.is_empty();
    // Pipes may be known before any unit is.
    if unknown && (ask != Question::Pipes || view.branches.is_empty()) {
        return nothing_known(view);
    }
    match ask {
        Question::Heat => heat::heat(view),
        Question::Checks => checks::checks(view),
        Question::Oldest => oldest::oldest(view),
        Question::Money => money::spent(view),
        Question::Pipes => pipes::pipes(view),
    }
}

fn nothing_known(view: &BuildingView) -> Answered {
    let flats = counted(view.flats.len() as u64, "flat", "flats");
    Answered {
        heading: format!("Nothing is known yet of the {flats} in {}", view.building.name),
        standing: "Press a flat to say what heats it, or bring in the list you have.".to_owned(),
        rows_heading: "Do this first",
        rows_note: String::new(),
        rows: vec![
            Row::plain("first-list", "Bring in a spreadsheet with a row for each flat; wrong rows are held back, not lost.")
                .verb(wording::Verb::link("Bring in a list", "/import")),
        ],
    }
}

/// What is wrong, in a few words: "no heating since 24 November".
pub(super) fn trouble_words(trouble: &Trouble) -> String {
    let since = dates::day_of_year(when::local_day(trouble.since));
    let what = match trouble.function {
        Some(FunctionLost::Heating) => "no heating",
        Some(FunctionLost::HotWater) => "no hot water",
        Some(FunctionLost::HeatingAndHotWater) => "no heating and no hot water",
        Some(FunctionLost::Leak) => "a leak",
        Some(FunctionLost::Noise) => "a noise",
        Some(FunctionLost::GasOrCo) => "smell of gas, or a carbon monoxide alarm",
        Some(FunctionLost::Other) => "something reported wrong",
        None => "left isolated",
    };
    let shared = if trouble.shared {
        ", with others: one outage"
    } else {
        ""
    };
    format!("{what} since {since}{shared}")
}

/// "17 °C on 12 August".
pub(super) fn reading_words(reading: &Reading) -> String {
    let value = reading
        .value
        .map_or_else(|| reading.words.clone(), |v| format!("{v}"));
    let measured = if reading.measured_in.is_empty() {
        value
    } else {
        format!("{value}\u{a0}{}", reading.measured_in)
    };
    format!(
        "{measured} on {}",
        dates::day(when::local_day(reading.taken_at))
    )
}

fn flat_link(flat: &FlatNow) -> Link {
    Link::new(&flat.space.name, href(flat))
}

fn row_of(flat: &FlatNow, sentence: String) -> Row {
    let mut row = Row::about(format!("s-{}", flat.space.id), flat_link(flat), sentence);
    if let Some(trouble) = &flat.trouble {
        row.more.push(format!("Now: {}.", trouble_words(trouble)));
        row = row.urgency(Urgency::Soon);
    }
    row
}

/// What is on record of a flat that bears on its chance.
fn reasons(view: &BuildingView, flat: &FlatNow, subject: Option<&UnitCard>) -> String {
    let mut parts = Vec::new();
    if let Some(unit) = subject {
        let kind = view
            .kinds
            .iter()
            .find(|k| k.code == unit.kind)
            .map_or(unit.kind.as_str(), |k| k.name.as_str());
        let (first, last) = unit
            .installed
            .map_or((None, None), |(a, b)| (Some(a), Some(b)));
        parts.push(format!("{kind} fitted {}", dates::fitted_when(first, last)));
    }
    if flat.failures > 0 {
        parts.push(format!(
            "{} in 36\u{a0}months",
            counted(flat.failures as u64, "failure", "failures")
        ));
    }
    let hard = view.building.hardness_mg_l.filter(|h| *h > HARD);
    let bare = flat.units.iter().any(|u| u.reducer_fitted == Some(false));
    if let (Some(h), true) = (hard, bare) {
        parts.push(format!(
            "hard water, {h:.0}\u{a0}mg/l, and no scale reducer"
        ));
    }
    if flat.units.len() > 1 {
        parts.push(format!(
            "{} in it",
            counted(flat.units.len() as u64, "unit", "units")
        ));
    }
    parts.join("; ")
}

/// "ground floor", "second floor", "floor 14".
pub(crate) fn floor_words(ordinal: i32) -> String {
    const ORDINALS: [&str; 13] = [
        "ground", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth",
        "ninth", "tenth", "eleventh", "twelfth",
    ];
    match usize::try_from(ordinal).ok().and_then(|n| ORDINALS.get(n)) {
        Some(word) => format!("{word} floor"),
        None if ordinal < 0 => "floor below the ground".to_owned(),
        None => format!("floor\u{a0}{ordinal}"),
    }
}
