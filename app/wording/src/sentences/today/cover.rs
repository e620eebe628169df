//! Nights and days off that nobody covers.
use chrono::NaiveDate;
use terms::today::Uncovered;

use crate::sentences::{dates, list};

/// "Friday night, Saturday day and night and Sunday": each day once.
pub fn stretches(all: &[(NaiveDate, bool)]) -> String {
    let mut days: Vec<NaiveDate> = all.iter().map(|(on, _)| *on).collect();
    days.sort_unstable();
    days.dedup();
    let said: Vec<String> = days
        .into_iter()
        .map(|day| {
            let name = dates::weekday(day);
            let (by_day, by_night) = (all.contains(&(day, false)), all.contains(&(day, true)));
            match (by_day, by_night) {
                (true, true) => format!("{name} by day and night"),
                (false, true) => format!("{name} night"),
                _ => name.to_owned(),
            }
        })
        .collect();
    list(&said)
}

/// ": nobody comes on Friday night, Saturday by day and night and Sunday."
pub fn uncovered(found: &Uncovered) -> String {
    format!(
        ": nobody comes out of hours on {}.",
        stretches(&found.stretches)
    )
}
