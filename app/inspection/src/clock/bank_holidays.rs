//! The bank holidays of England computed from the rules: the shipped fall-back when the published
//! list is not at hand. Special days are those proclaimed up to the rule book's date.
use chrono::{Datelike, NaiveDate, Weekday};

use crate::calendar::add_days;

/// Days proclaimed for one year only (from memory; checked against PyPI `holidays` 0.109).
const SPECIAL: [(i32, u32, u32); 8] = [
    (1981, 7, 29),
    (1999, 12, 31),
    (2002, 6, 3),
    (2011, 4, 29),
    (2012, 6, 5),
    (2022, 6, 3),
    (2022, 9, 19),
    (2023, 5, 8),
];

/// The bank holidays of `year` in England, in order; all fall on Monday to Friday. Empty for years
/// before 1978, when the present set began, and after 9999.
pub fn england(year: i32) -> Vec<NaiveDate> {
    if !(1978..=9999).contains(&year) {
        return Vec::new();
    }
    let mut days: Vec<NaiveDate> = [
        new_year(year),
        easter_sunday(year).map(|e| add_days(e, -2)),
        easter_sunday(year).map(|e| add_days(e, 1)),
        early_may(year),
        spring(year),
        last_monday(year, 8),
    ]
    .into_iter()
    .flatten()
    .chain(christmas(year))
    .collect();
    days.extend(
        SPECIAL
            .iter()
            .filter(|s| s.0 == year)
            .filter_map(|&(y, m, d)| NaiveDate::from_ymd_opt(y, m, d)),
    );
    days.sort_unstable();
    days.dedup();
    days
}

fn new_year(year: i32) -> Option<NaiveDate> {
    let day = NaiveDate::from_ymd_opt(year, 1, 1)?;
    Some(match day.weekday() {
        Weekday::Sat => add_days(day, 2),
        Weekday::Sun => add_days(day, 1),
        _ => day,
    })
}

/// First Monday in May; moved to 8 May in 1995 and 2020.
fn early_may(year: i32) -> Option<NaiveDate> {
    if matches!(year, 1995 | 2020) {
        return NaiveDate::from_ymd_opt(year, 5, 8);
    }
    NaiveDate::from_weekday_of_month_opt(year, 5, Weekday::Mon, 1)
}

/// Last Monday in May; moved to June in the years of the jubilees.
fn spring(year: i32) -> Option<NaiveDate> {
    match year {
        2002 | 2012 => NaiveDate::from_ymd_opt(year, 6, 4),
        2022 => NaiveDate::from_ymd_opt(year, 6, 2),
        _ => last_monday(year, 5),
    }
}

fn last_monday(year: i32, month: u32) -> Option<NaiveDate> {
    NaiveDate::from_weekday_of_month_opt(year, month, Weekday::Mon, 5)
        .or_else(|| NaiveDate::from_weekday_of_month_opt(year, month, Weekday::Mon, 4))
}

/// Christmas Day and Boxing Day, or the working days given instead.
fn christmas(year: i32) -> Vec<NaiveDate> {
    let Some(day) = NaiveDate::from_ymd_opt(year, 12, 25) else {
        return Vec::new();
    };
    let offsets = match day.weekday() {
        Weekday::Fri => [0, 3],
        Weekday::Sat => [2, 3],
        Weekday::Sun => [1, 2],
        _ => [0, 1],
    };
    offsets.iter().map(|&n| add_days(day, n)).collect()
}

/// Easter Sunday by the Gregorian computus in its anonymous form (Meeus, Astronomical Algorithms,
/// chapter 8, from memory).
fn easter_sunday(year: i32) -> Option<NaiveDate> {
    let a = year % 19;
    let (b, c) = (year / 100, year % 100);
    let (d, e) = (b / 4, b % 4);
    let f = (b + 8) / 25;
    let g = (b - f + 1) / 3;
    let h = (19 * a + b - d - g + 15) % 30;
    let (i, k) = (c / 4, c % 4);
    let l = (32 + 2 * e + 2 * i - h - k) % 7;
    let m = (a + 11 * h + 22 * l) / 451;
    let n = h + l - 7 * m + 114;
    NaiveDate::from_ymd_opt(
        year,
        u32::try_from(n / 31).ok()?,
        u32::try_from(n % 31 + 1).ok()?,
    )
}
