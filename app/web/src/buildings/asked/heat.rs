//! Where is heat most likely to fail?
use chrono::Datelike;
use usecases::register::{BuildingView, FlatNow, SectionLevel};
use wording::sentences::{capital, chances, counted, plural};
use wording::{Link, Row, Why};

use super::super::section::before;
use super::{Answered, MOST_ROWS, floor_words, reasons, row_of};

fn by_chance(view: &BuildingView) -> Vec<(&FlatNow, (f64, f64, f64))> {
    let mut found: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.chance.map(|c| (f, c)))
        .collect();
    found.sort_by(|a, b| b.1.0.total_cmp(&a.1.0));
    found
}

/// The answer in words.
pub(super) fn heat(view: &BuildingView) -> Answered {
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
    let mut standing = Vec::new();
    match bad {
        0 => {}
        1 => standing.push(format!(
            "One flat stands at 1\u{a0}in\u{a0}4 or worse {when}."
        )),
        n => standing.push(format!(
            "{} stand at 1\u{a0}in\u{a0}4 or worse {when}.",
            capital(&counted(n as u64, "flat", "flats"))
        )),
    }
    if let Some(likely) = view.likely {
        standing.push(format!(
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
            row_of(
                flat,
                format!(": {}.", reasons(view, flat, flat.likeliest.as_ref())),
            )
            .figure(chances::brief(*p), small),
        );
    }
    if let Some(row) = rows.last_mut() {
        row.why = Some(why_chances());
    }
    Answered {
        heading: format!("Heat in {name} is most likely to fail {place}"),
        standing: standing.join(" "),
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

/// A storey that stands out.
struct Weak<'a> {
    level: &'a SectionLevel,
    words: String,
}

/// The storey whose mean chance is at least half as high again as the others', if three quarters of its flats are so
/// too (judgement: with many storeys the worst of them is somewhat worse by luck alone). A way of saying what the
/// drawing shows; nothing is decided on it.
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
        .filter(|p| **p > 1.5 * others)
        .count();
    let stands_out = worst >= 1.5 * others && 4 * above >= 3 * on(level.ordinal, true).len();
    let top = view.flats.iter().map(|f| f.space.ordinal).max()?;
    let words = match level.ordinal {
        n if n == top && top > 0 => "top floor".to_owned(),
        n => floor_words(n),
    };
    stands_out.then_some(Weak { level, words })
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
