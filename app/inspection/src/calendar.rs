//! Calendar arithmetic of duties: months clamped to the month's end, days, seasons, dates in words.
use chrono::{Datelike, Days, Months, NaiveDate};

/// `day` plus `months` (may be negative): the same day of the month, else the month's last day,
/// never later. Beyond the calendar's ends it stays at the end.
pub fn add_months(day: NaiveDate, months: i32) -> NaiveDate {
    let span = Months::new(months.unsigned_abs());
    if months >= 0 {
        day.checked_add_months(span).unwrap_or(NaiveDate::MAX)
    } else {
        day.checked_sub_months(span).unwrap_or(NaiveDate::MIN)
    }
}

/// `day` plus `days` (may be negative). Beyond the calendar's ends it stays at the end.
pub fn add_days(day: NaiveDate, days: i64) -> NaiveDate {
    let span = Days::new(days.unsigned_abs());
    if days >= 0 {
        day.checked_add_days(span).unwrap_or(NaiveDate::MAX)
    } else {
        day.checked_sub_days(span).unwrap_or(NaiveDate::MIN)
    }
}

/// Whole days from `from` to `to`; negative when `to` is earlier.
pub fn days_between(from: NaiveDate, to: NaiveDate) -> i64 {
    (to - from).num_days()
}

/// 1 November to 30 April, both included: the winter of the right-to-repair periods.
pub fn is_winter(day: NaiveDate) -> bool {
    !(5..=10).contains(&day.month())
}

/// A date as it is read aloud: `12 February 2026`.
pub fn date_words(day: NaiveDate) -> String {
    day.format("%-d %B %Y").to_string()
}

/// `1 day`, `5 days`.
pub fn day_count(days: i64) -> String {
    if days == 1 {
        "1 day".to_owned()
    } else {
        format!("{days} days")
    }
}
