//! The share of a unit's failures that are beyond repair: from its own forecast where enough of its kind were written off to
//! tell how long such units stay, else from its kind's write-offs and failures on record beside what is believed of any kind;
//! what the desk stated stands before both, and has no doubt.
use std::collections::BTreeMap;

use dependability::BeyondRepair;
use store::forecasts::FitRow;

use super::book::{Book, InputLine, Measure};
use super::case::{Lines, Subject};

/// Units written off and failures behind a kind's fit.
pub(super) type Ended = BTreeMap<String, (u32, u32)>;

/// Counts of each kind by its kept fit; nothing of a kind that has none.
pub(super) fn ended(fits: &BTreeMap<String, FitRow>) -> Ended {
    let count = |fit: &FitRow, place: &str| {
        let number = fit.body.pointer(place).and_then(serde_json::Value::as_u64);
        number.and_then(|n| u32::try_from(n).ok()).unwrap_or(0)
    };
    fits.iter()
        .map(|(kind, fit)| {
            let counts = (
                count(fit, "/life/written_off"),
                count(fit, "/fit/n_failures"),
            );
            (kind.clone(), counts)
        })
        .collect()
}

/// φ and its 80 % range where it is in doubt, `level` failures being expected over the next 12 months.
pub(super) fn beyond_repair(
    book: &Book,
    subject: &Subject<'_>,
    level: f64,
    lines: &mut Lines,
) -> (f64, Option<(f64, f64)>) {
    let Some(start) = book.assumed_line("write_off_share") else {
        return (0.0, None);
    };
    if start.source == "estate setting" || start.value <= 0.0 {
        let share = start.value.min(1.0);
        lines.take(Some(start));
        return (share, None);
    }
    let told = subject.told;
    let of_unit = told.and_then(|t| Some((t, BeyondRepair::of_unit(t.lost_12m?, level)?)));
    let (found, source, status) = if let Some((told, found)) = of_unit {
        let source = format!(
            "forecast of {}: the chance that a failure ends it within 12 months, beside how often it fails",
            told.made_on.format("%-d %B %Y")
        );
        let status = "how long units of its kind stayed until they were written off".to_owned();
        (found, source, status)
    } else {
        let kind = &subject.card.kind;
        let (written_off, failures) = book.ended(kind);
        let believed = (start.value, book.write_off_weight);
        let Some(found) = BeyondRepair::of_kind(believed, (written_off, failures)) else {
            lines.take(Some(start));
            return (0.0, None);
        };
        let (source, status) = of_kind((written_off, failures), book.write_off_weight, &start);
        (found, source, status)
    };
    let range = format!(
        "; 8 in 10 between {:.1} and {:.1} in 100",
        found.low * 100.0,
        found.high * 100.0
    );
    lines.add(
        "write_off_share",
        (found.share, Measure::Share),
        (&(source + &range), &status),
    );
    (found.share, Some((found.low, found.high)))
}

/// Where a kind's share comes from, and how it is known.
fn of_kind(
    (written_off, failures): (u32, u32),
    weight: f64,
    start: &InputLine,
) -> (String, String) {
    if failures == 0 {
        return (
            "what is believed of any kind; none of this one has failed on record".to_owned(),
            start.status.clone(),
        );
    }
    let own = f64::from(failures) / (weight + f64::from(failures)) * 100.0;
    let source = format!(
        "{written_off} of its kind written off over {failures} failure{} on record, beside {:.1} in 100 believed of any kind",
        if failures == 1 { "" } else { "s" },
        start.value * 100.0
    );
    let status = format!("own records {own:.0} %, the rest: {}", start.status);
    (source, status)
}
