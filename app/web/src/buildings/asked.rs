//! What a building answers to each question: a heading, what follows from it, and at most five rows "why there".
use chrono::{Datelike, NaiveDate};
use terms::unit::Reading;
use terms::{FunctionLost, Pence};
use usecases::register::{BuildingView, FlatNow, Question, SectionLevel, Trouble};
use wording::sentences::{capital, chances, counted, dates, list, money, plural, spans};
use wording::{Ask, Link, Row, Urgency, Why};

use super::section::{before, href, number};
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
    if view.flats.iter().all(|f| f.units.is_empty()) && view.plant.is_empty() {
        return nothing_known(view);
    }
    match ask {
        Question::Heat => heat(view),
        Question::Checks => checks(view),
        Question::Oldest => oldest(view),
        Question::Money => spent(view),
        Question::Pipes => pipes(view),
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
    format!("{what} since {since}")
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

fn by_chance(view: &BuildingView) -> Vec<(&FlatNow, (f64, f64, f64))> {
    let mut found: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.chance.map(|c| (f, c)))
        .collect();
    found.sort_by(|a, b| b.1.0.total_cmp(&a.1.0));
    found
}

fn heat(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let worst = by_chance(view);
    let (Some((first, _)), Some((_, until))) = (worst.first(), view.season) else {
        return Answered {
            heading: format!("Nothing can be said yet of what is likely to fail in {name}"),
            standing: "Forecasts are made each night from what is on record.".to_owned(),
            rows_heading: "Why there",
            rows_note: String::new(),
            rows: Vec::new(),
        };
    };
    let when = before(until);
    let storey = weak_storey(view);
    let place = storey.as_ref().map_or_else(
        || format!("in {}", first.space.name.to_lowercase()),
        |weak| format!("on the {}", weak.words),
    );
    let bad = worst.iter().filter(|(_, c)| c.0 >= 0.222).count();
    let mut standing = match bad {
        0 => String::new(),
        1 => format!("One flat stands at 1\u{a0}in\u{a0}4 or worse {when}. "),
        n => format!(
            "{} stand at 1\u{a0}in\u{a0}4 or worse {when}. ",
            capital(&counted(n as u64, "flat", "flats"))
        ),
    };
    if let Some(likely) = view.likely {
        standing.push_str(&format!(
            "In the whole block about {:.0} of {} in the flats are likely to fail {when} ({} to {}).",
            likely.expected,
            plural(likely.of as u64, "unit", "units"),
            likely.low,
            likely.high
        ));
    }
    let mut rows: Vec<Row> = storey.and_then(|weak| weak.row(view)).into_iter().collect();
    for (flat, (p, low, high)) in worst.iter().take(MOST_ROWS - rows.len()) {
        let small = match chances::range(*low, *high) {
            Some(range) => format!("{when} ({range})"),
            None => when.clone(),
        };
        rows.push(
            row_of(flat, format!(": {}.", reasons(view, flat))).figure(chances::brief(*p), small),
        );
    }
    if let Some(row) = rows.last_mut() {
        row.why = Some(why_chances());
    }
    Answered {
        heading: format!("Heat in {name} is most likely to fail {place}"),
        standing,
        rows_heading: "Why there",
        rows_note: "What is on record of the worst five".to_owned(),
        rows,
    }
}

fn why_chances() -> Why {
    Why {
        question: "How is this worked out?".to_owned(),
        paragraphs: vec![
            "Each part of a unit ages on its own clock; how a unit differs from its sisters is learned from its own history. The range in brackets holds 8 cases in 10. A flat with several units fails when one of them does.".to_owned(),
            "A ranking, not a diagnosis, and never a reason to replace on age alone.".to_owned(),
        ],
        more: Some(Link::new("How right we were", "/track-record")),
    }
}

/// What is on record of a flat that bears on its chance.
fn reasons(view: &BuildingView, flat: &FlatNow) -> String {
    let mut parts = Vec::new();
    if let Some(unit) = flat.oldest.as_ref().or(flat.units.first()) {
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

/// A storey that stands out.
struct Weak<'a> {
    level: &'a SectionLevel,
    words: String,
}

/// The storey whose mean chance is at least half as high again as the others', if half of its flats are above the
/// building's mean; a way of saying what the drawing shows, nothing is decided on it.
fn weak_storey(view: &BuildingView) -> Option<Weak<'_>> {
    let mean = |chances: &[f64]| {
        (chances.len() >= 3).then(|| chances.iter().sum::<f64>() / chances.len() as f64)
    };
    let on = |ordinal: i32, same: bool| -> Vec<f64> {
        view.flats
            .iter()
            .filter(|f| (f.space.ordinal == ordinal) == same)
            .filter_map(|f| f.chance.map(|c| c.0))
            .collect()
    };
    let (level, worst) = view
        .section
        .iter()
        .filter_map(|level| mean(&on(level.ordinal, true)).map(|m| (level, m)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let others = mean(&on(level.ordinal, false))?;
    let above = on(level.ordinal, true)
        .iter()
        .filter(|p| **p > others)
        .count();
    let stands_out = worst >= 1.5 * others && 2 * above >= on(level.ordinal, true).len();
    let top = view.flats.iter().map(|f| f.space.ordinal).max()?;
    let words = match level.ordinal {
        n if n == top && top > 0 => "top floor".to_owned(),
        n => floor_words(n),
    };
    stands_out.then_some(Weak { level, words })
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

impl Weak<'_> {
    /// What its units have in common against the rest, when their ages differ by three years or more.
    fn row(&self, view: &BuildingView) -> Option<Row> {
        let years = |same: bool| {
            let mut years: Vec<i32> = view
                .flats
                .iter()
                .filter(|f| (f.space.ordinal == self.level.ordinal) == same)
                .filter_map(|f| f.oldest.as_ref()?.installed)
                .map(|(first, _)| first.year())
                .collect();
            years.sort_unstable();
            years
        };
        let (here, there) = (years(true), years(false));
        let (mid_here, mid_there) = (here.get(here.len() / 2)?, there.get(there.len() / 2)?);
        if mid_there - mid_here < 3 {
            return None;
        }
        let span = |years: &[i32]| match (years.first(), years.last()) {
            (Some(a), Some(b)) if a != b => format!("between {a} and {b}"),
            (Some(a), _) => format!("in {a}"),
            _ => String::new(),
        };
        let sentence = format!(
            "The units on the {} were fitted {}; those on the other floors {}.",
            self.words,
            span(&here),
            span(&there)
        );
        Some(
            Row::plain("weak-storey", sentence)
                .figure(mid_here.to_string(), "the middle one there"),
        )
    }
}

fn checks(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let mut dated: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.next_check.as_ref().map(|c| (f, c)))
        .collect();
    dated.sort_by_key(|(f, c)| (c.deadline, f.space.ordinal, f.space.place));
    let late = dated
        .iter()
        .filter(|(_, c)| c.deadline < view.today)
        .count();
    let undated = view.flats.iter().filter(|f| f.undated > 0).count();
    let heading = match (late, dated.first()) {
        (0, None) => format!("No check in {name} has a date yet"),
        (0, Some((flat, check))) => format!(
            "The next check in {name} is due by {}, in {}",
            dates::day(check.deadline),
            flat.space.name.to_lowercase()
        ),
        (1, _) => format!("One flat in {name} is past its date"),
        (n, _) => format!(
            "{} in {name} are past their date",
            capital(&counted(n as u64, "flat", "flats"))
        ),
    };
    let soon = dated
        .iter()
        .filter(|(_, c)| (0..=30).contains(&(c.deadline - view.today).num_days()))
        .count();
    let mut standing = format!(
        "{} within the next 30\u{a0}days.",
        match soon {
            0 => "No flat comes due".to_owned(),
            1 => "One flat comes due".to_owned(),
            n => format!("{} come due", capital(&counted(n as u64, "flat", "flats"))),
        }
    );
    if undated > 0 {
        standing.push_str(&format!(
            " In {} a duty has no date until its papers come.",
            counted(undated as u64, "flat", "flats")
        ));
    }
    let rows = dated
        .iter()
        .take(MOST_ROWS)
        .map(|(flat, check)| {
            let row = row_of(
                flat,
                format!(
                    ": {} by {}.",
                    check.name.to_lowercase(),
                    dates::day(check.deadline)
                ),
            );
            let row = row.figure(spans::due(view.today, check.deadline), check.rule.clone());
            if check.deadline < view.today {
                row.urgency(Urgency::Late)
            } else {
                row
            }
        })
        .collect();
    Answered {
        heading,
        standing,
        rows_heading: "Soonest first",
        rows_note: "Reminder, not legal advice".to_owned(),
        rows,
    }
}

fn oldest(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let mut aged: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| {
            f.oldest
                .as_ref()
                .and_then(|u| u.installed.map(|i| (f, u, i)))
        })
        .collect();
    aged.sort_by_key(|(_, _, installed)| *installed);
    let unknown = view
        .flats
        .iter()
        .filter(|f| f.units.iter().any(|u| u.installed.is_none()))
        .count();
    let heading = match aged.first() {
        None => format!("When the units in {name} were fitted is not known"),
        Some((flat, _, (first, last))) => format!(
            "The oldest unit in the flats of {name} stands in {}, fitted {}",
            flat.space.name.to_lowercase(),
            dates::fitted_when(Some(*first), Some(*last))
        ),
    };
    let past = aged
        .iter()
        .filter(|(_, u, (first, _))| {
            view.kinds.iter().any(|k| {
                k.code == u.kind
                    && f64::from(dates::whole_years(*first, view.today)) > k.life_median_years
            })
        })
        .count();
    let mut standing = format!(
        "{} of {} past the age at which half of their kind have been replaced. Age alone never orders a replacement.",
        past,
        plural(aged.len() as u64, "dated flat", "dated flats")
    );
    if unknown > 0 {
        standing.push_str(&format!(
            " In {} a fitting date is unknown.",
            counted(unknown as u64, "flat", "flats")
        ));
    }
    let rows = aged
        .iter()
        .take(MOST_ROWS)
        .map(|(flat, _, (first, _))| {
            row_of(flat, format!(": {}.", reasons(view, flat)))
                .figure(dates::age_brief(*first, view.today), "at most")
        })
        .collect();
    Answered {
        heading,
        standing,
        rows_heading: "Oldest first",
        rows_note: String::new(),
        rows,
    }
}

fn spent(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let mut dear: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.spent.map(|s| (f, s)))
        .collect();
    dear.sort_by_key(|(f, s)| (std::cmp::Reverse(*s), f.space.ordinal, f.space.place));
    let total: i64 = dear.iter().map(|(_, s)| s.0).sum();
    let mut half = Vec::new();
    let mut sum = 0;
    for (flat, spent) in &dear {
        if 2 * sum > total {
            break;
        }
        sum += spent.0;
        half.push(number(&flat.space.name).to_owned());
    }
    let few = total > 0 && half.len() * 4 <= dear.len() && half.len() <= 5;
    let heading = match (total, few) {
        (0, _) => format!("No money for failures is on record for {name} in 36\u{a0}months"),
        (_, true) => format!(
            "{} in {name} took more than half of the repair money",
            capital(&counted(half.len() as u64, "flat", "flats"))
        ),
        _ => format!(
            "Failures and repairs in {name} cost {} in 36\u{a0}months",
            money::whole(Pence(total))
        ),
    };
    let mut standing = if few {
        let flats = if half.len() == 1 { "Flat" } else { "Flats" };
        format!(
            "{flats} {} cost {} of {} in 36\u{a0}months.",
            list(&half),
            money::whole(Pence(sum)),
            money::whole(Pence(total))
        )
    } else {
        format!(
            "From {} to today, including VAT.",
            dates::day(view.money_from)
        )
    };
    let unknown = view.flats.iter().filter(|f| f.spent.is_none()).count();
    if unknown > 0 {
        standing.push_str(&format!(
            " For {} nothing is on record.",
            counted(unknown as u64, "flat", "flats")
        ));
    }
    let rows = dear
        .iter()
        .take(MOST_ROWS)
        .filter(|(_, s)| s.0 > 0)
        .map(|(flat, s)| {
            row_of(flat, format!(": {}.", reasons(view, flat))).figure(
                money::whole(*s),
                counted(flat.failures as u64, "failure", "failures"),
            )
        })
        .collect();
    Answered {
        heading,
        standing,
        rows_heading: "What the money bought",
        rows_note: months_words(view.money_from, view.today),
        rows,
    }
}

fn months_words(from: NaiveDate, today: NaiveDate) -> String {
    format!("{} to {}", dates::day(from), dates::day(today))
}

fn pipes(view: &BuildingView) -> Answered {
    let risers = view.branches.iter().filter(|b| b.kind == "riser").count();
    let hung: usize = view.branches.iter().map(|b| b.spaces.len()).sum();
    let rows = view
        .branches
        .iter()
        .map(|branch| {
            let names: Vec<&str> = view
                .flats
                .iter()
                .filter(|f| branch.spaces.contains(&f.space.id))
                .map(|f| number(&f.space.name))
                .collect();
            let feeds = if names.is_empty() {
                " feeds the risers".to_owned()
            } else {
                format!(
                    " feeds {} {}",
                    if names.len() == 1 { "flat" } else { "flats" },
                    list(&names)
                )
            };
            let fed = match (branch.fed_by.len(), branch.needed) {
                (0, _) => String::new(),
                (n, Some(needed)) => format!(
                    "; {} feed it, {needed} needed on the coldest day",
                    counted(n as u64, "unit", "units")
                ),
                (n, None) => format!("; fed by {}", counted(n as u64, "unit", "units")),
            };
            Row::about(
                format!("p-{}", branch.id),
                Link::new(&branch.name, ""),
                format!("{feeds}{fed}."),
            )
            .figure(branch.spaces.len().to_string(), "spaces")
        })
        .collect();
    Answered {
        heading: format!(
            "{} is fed by {}",
            view.building.name,
            counted(risers as u64, "riser", "risers")
        ),
        standing: format!(
            "{} hang on its pipes.",
            capital(&counted(hung as u64, "space", "spaces"))
        ),
        rows_heading: "The pipes",
        rows_note: String::new(),
        rows,
    }
}
