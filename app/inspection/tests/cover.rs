//! Nights and days off that nobody covers. The week is that of Friday 27 November 2026; the days are counted by hand.
#![expect(clippy::unwrap_used, reason = "tests break loudly")]
use std::collections::BTreeSet;

use chrono::NaiveDate;
use inspection::cover::{Cover, Gap, gaps};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn cover(nights: bool, weekends: bool, until: Option<&str>) -> Cover {
    Cover {
        nights,
        weekends,
        from_on: day("2026-11-01"),
        until_on: until.map(day),
    }
}

/// From Friday to Monday: "27n" is the night that begins on the 27th, "28d" the daytime of the 28th.
fn of(covers: &[Cover], holidays: &[&str]) -> Vec<String> {
    let holidays: BTreeSet<NaiveDate> = holidays.iter().map(|h| day(h)).collect();
    gaps(covers, (day("2026-11-27"), 4), &holidays)
        .into_iter()
        .map(|Gap { on, night }| format!("{}{}", on.format("%d"), if night { "n" } else { "d" }))
        .collect()
}

#[test]
fn with_nobody_every_night_and_day_off_is_a_gap() {
    assert_eq!(of(&[], &[]), ["27n", "28d", "28n", "29d", "29n", "30n"]);
}

#[test]
fn weekends_hold_from_friday_evening_to_monday_morning() {
    assert_eq!(of(&[cover(false, true, None)], &[]), ["30n"]);
    assert_eq!(of(&[cover(true, false, None)], &[]), ["28d", "29d"]);
    assert!(of(&[cover(true, true, None)], &[]).is_empty());
}

#[test]
fn a_bank_holiday_is_a_day_off_and_cover_ends_on_its_last_day() {
    // Monday the 30th taken as a bank holiday: its daytime and its night belong to the weekend too.
    assert_eq!(of(&[cover(false, true, None)], &["2026-11-30"]), [""; 0]);
    assert_eq!(
        of(&[cover(true, false, None)], &["2026-11-30"]),
        ["28d", "29d", "30d"]
    );
    assert_eq!(
        of(&[cover(true, true, Some("2026-11-28"))], &[]),
        ["29d", "29n", "30n"]
    );
}
