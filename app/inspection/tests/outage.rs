//! Homes × hours of an outage. The cases are sums anybody can do by hand.
#![expect(clippy::unwrap_used, reason = "tests break loudly")]
use chrono::{DateTime, Utc};
use inspection::clock::home_hours;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

#[test]
fn homes_times_hours() {
    let evening = |from: &str| (at(from), at("2026-11-25T22:00:00Z"));
    assert_eq!(home_hours(&[]), 0.0);
    // 4 h + 3 h 30 min + 2 h = 9 h 30 min.
    let three = [
        evening("2026-11-25T18:00:00Z"),
        evening("2026-11-25T18:30:00Z"),
        evening("2026-11-25T20:00:00Z"),
    ];
    assert_eq!(home_hours(&three), 9.5);
}

#[test]
fn a_home_that_had_it_back_before_it_said_so_counts_as_nothing() {
    let turned = [(at("2026-11-25T18:00:00Z"), at("2026-11-25T17:00:00Z"))];
    assert_eq!(home_hours(&turned), 0.0);
}
