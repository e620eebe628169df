//! What speaks against paying for a repair as asked, each in a sentence.
use chrono::NaiveDate;
use usecases::advice::{AdvicePage, Before};
use wording::sentences::{counted, dates, list};
use wording::{Row, Urgency};

/// One row for each; a row that says so when there is nothing.
pub(crate) fn rows(found: &[Before]) -> Vec<Row> {
    if found.is_empty() {
        let words = "No warranty is on record, no notice of its maker is open on it, the same was not put right in the 30 days before, and this part not in the two years before.";
        return vec![Row::plain("before-none", words)];
    }
    (1..)
        .zip(found)
        .map(|(n, before)| Row::plain(format!("before-{n}"), words(before)).urgency(Urgency::Soon))
        .collect()
}

/// The same for an advice: first that a warranty nobody wrote down may still run.
pub(super) fn rows_of(seen: &AdvicePage) -> Vec<Row> {
    let asked = may_be_under(seen).map(|why| {
        let words = format!(
            "It may still be under warranty, though none is on record: it is {why}. Ask the maker before paying."
        );
        Row::plain("before-may", words).urgency(Urgency::Soon)
    });
    asked.into_iter().chain(rows(&seen.before)).collect()
}

/// "under six years old, and such units often come with seven years": why a warranty may run that is not on record; nothing
/// where one is, or the unit is older than one would last.
pub(super) fn may_be_under(seen: &AdvicePage) -> Option<String> {
    let unit = &seen.listed.unit;
    if unit.warranty_until.is_some() {
        return None;
    }
    let line = seen
        .lines
        .iter()
        .find(|l| l.code == "warranty" && l.option == unit.kind)?;
    // The first day it may have been fitted: where it is young by that, it is young by any other.
    younger(unit.installed?.0, seen.known_on, line.value)
}

/// A year in days, as everywhere.
const YEAR: f64 = 365.25;

fn younger(fitted: NaiveDate, today: NaiveDate, warranty: f64) -> Option<String> {
    let years = (today - fitted).num_days() as f64 / YEAR;
    if !(0.0..warranty.round()).contains(&years) {
        return None;
    }
    let under = years.floor() as u64 + 1;
    Some(format!(
        "under {} old, and such units often come with {}",
        counted(under, "year", "years"),
        counted(warranty.round() as u64, "year", "years")
    ))
}

/// Whether its maker is to be asked: the unit is in warranty, or called back.
pub(crate) fn is_makers(found: &[Before]) -> bool {
    let makers =
        |before: &Before| matches!(before, Before::InWarranty { .. } | Before::Recalled { .. });
    found.iter().any(makers)
}

/// Whether the same was put right within 30 days.
pub(crate) fn is_repeat(found: &[Before]) -> bool {
    found
        .iter()
        .any(|before| matches!(before, Before::Repeat { .. }))
}

/// " Whether it does hangs on its serial number, which is not on record."
pub(crate) fn open_words(unsure: &[&str]) -> String {
    let named: Vec<String> = unsure.iter().map(|words| (*words).to_owned()).collect();
    match named.as_slice() {
        [] => String::new(),
        [only] => format!(" Whether it does hangs on {only}, which is not on record."),
        _ => format!(
            " Whether it does hangs on {}, which are not on record.",
            list(&named)
        ),
    }
}

fn words(before: &Before) -> String {
    match before {
        Before::InWarranty { until } => format!(
            "The unit is in warranty until {}: ask its maker before anybody pays. Keep the old part and a photo until the claim is accepted; have the yearly services, readings and water treatment at hand.",
            dates::day(*until)
        ),
        Before::Recalled { title, on, unsure } => format!(
            "A notice of its maker of {} {} it: “{title}”. Ask the maker before anybody pays: what it calls back is mostly put right free.{}",
            dates::day(*on),
            if unsure.is_empty() {
                "means"
            } else {
                "may mean"
            },
            open_words(unsure)
        ),
        Before::Repeat { number, closed_on } => format!(
            "The same was put right on {} ({number}), within 30 days: it is that job again, and free under most contracts. Ask the firm first.",
            dates::day(*closed_on)
        ),
        Before::SamePart { part, on } => format!(
            "The same part was dealt with on {}, within two years ({}): ask why it is needed again before paying for it twice.",
            dates::day(*on),
            part.replace('_', " ")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_young_unit_may_be_under_a_warranty_nobody_wrote_down() {
        let day = |text: &str| -> NaiveDate { text.parse().expect("a day") };
        let said = |on: &str, years| younger(day("2021-01-25"), day(on), years);
        assert_eq!(
            said("2026-11-27", 7.0).as_deref(),
            Some("under six years old, and such units often come with seven years")
        );
        assert!(said("2021-06-01", 2.0).is_some_and(|s| s.starts_with("under one year old")));
        assert_eq!(said("2028-02-01", 7.0), None);
        assert_eq!(said("2026-11-27", 0.0), None);
    }
}
