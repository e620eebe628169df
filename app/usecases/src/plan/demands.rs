//! What a duty's work asks of its day, from the trade's data; heating seasons; daylight.
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate, NaiveTime, Timelike};
use inspection::calendar::add_days;

use crate::work::wall;

/// Dated data: code, crew, `heat_off`, daylight.
const DUTIES: &str = include_str!("../../data/DUTIES.csv");
/// Degrees north by which daylight is reckoned: the middle of Great Britain, so that a winter's day in the south is
/// longer than said, never shorter. Common practice, no source.
const LATITUDE: f64 = 54.0;
/// The earth's tilt, degrees (from memory).
const TILT: f64 = 23.44;
/// Minutes kept back at both ends: the equation of time (16 at most, from memory) and some east and west.
const KEPT_BACK: f64 = 20.0;

/// What one duty's work asks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WorkAsks {
    /// Two people come together.
    pub pair: bool,
    /// Plant is drained or isolated: heat goes off.
    pub heat_off: bool,
    /// Work outside.
    pub daylight: bool,
}

impl WorkAsks {
    /// What both ask.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self {
            pair: self.pair || other.pair,
            heat_off: self.heat_off || other.heat_off,
            daylight: self.daylight || other.daylight,
        }
    }
}

/// By the rule's code; a rule that is not shipped asks nothing.
pub(super) fn asks_of_rules() -> BTreeMap<String, WorkAsks> {
    let mut reader = csv::Reader::from_reader(DUTIES.as_bytes());
    let mut found = BTreeMap::new();
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().flatten().collect();
    for row in rows {
        let cell = |name: &str| row.get(name).map_or("", String::as_str);
        let asks = WorkAsks {
            pair: cell("crew") == "2",
            heat_off: cell("heat_off") == "yes",
            daylight: cell("daylight") == "yes",
        };
        found.insert(cell("code").to_owned(), asks);
    }
    found
}

/// The heating seasons a horizon touches: 1 October to 31 March (common practice, no source).
pub(super) fn seasons(from: NaiveDate, until: NaiveDate) -> Vec<(NaiveDate, NaiveDate)> {
    (from.year() - 1..=until.year())
        .filter_map(|year| {
            let first = NaiveDate::from_ymd_opt(year, 10, 1)?;
            Some((first, NaiveDate::from_ymd_opt(year + 1, 3, 31)?))
        })
        .filter(|(first, last)| *first <= until && *last >= from)
        .collect()
}

/// Whether heat is wanted on a day.
pub(super) fn in_season(day: NaiveDate) -> bool {
    let near = seasons(day, day);
    near.iter()
        .any(|(first, last)| (*first..=*last).contains(&day))
}

/// Sunrise and sunset of every day on the wall clock, minutes from midnight.
pub(super) fn daylight(from: NaiveDate, until: NaiveDate) -> BTreeMap<NaiveDate, (u32, u32)> {
    let days = from.iter_days().take_while(|day| *day <= until);
    days.map(|day| (day, sun(day))).collect()
}

/// cos of the half day = −tan(latitude)·tan(declination), declination = −tilt·cos(2π(day of the year + 10)/365):
/// the textbook's formula, from memory; the equation of time is left aside and kept back at both ends.
fn sun(day: NaiveDate) -> (u32, u32) {
    let turn = 2.0 * std::f64::consts::PI * f64::from(day.ordinal() + 10) / 365.0;
    let declination = -TILT.to_radians() * turn.cos();
    let half = (-LATITUDE.to_radians().tan() * declination.tan())
        .clamp(-1.0, 1.0)
        .acos();
    let minutes = half.to_degrees() * 4.0 - KEPT_BACK;
    let noon = f64::from(noon_by_the_clock(day));
    (
        (noon - minutes).ceil() as u32,
        (noon + minutes).floor() as u32,
    )
}

/// Minute of the wall clock at noon GMT.
fn noon_by_the_clock(day: NaiveDate) -> u32 {
    let noon = NaiveTime::from_hms_opt(12, 0, 0).map(|time| day.and_time(time).and_utc());
    noon.map_or(720, |at| {
        let local = wall::local(at);
        local.hour() * 60 + local.minute()
    })
}

/// For work that puts heat off and may be done at any time before its last day: a last day in the season is met before
/// the season, in the month before it. `None` where that has gone by, or the last day lies outside.
pub(super) fn before_the_season(last: NaiveDate, tomorrow: NaiveDate) -> Option<NaiveDate> {
    let season = seasons(last, last)
        .into_iter()
        .find(|s| (s.0..=s.1).contains(&last))?;
    (add_days(season.0, -1) >= tomorrow).then(|| add_days(season.0, -30))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn the_rules_say_who_comes_and_what_goes_off() {
        let asks = asks_of_rules();
        assert!(asks["L7"].pair && !asks["L7"].heat_off);
        assert!(asks["G5"].heat_off && !asks["G5"].pair);
        assert!(asks["Y6"].daylight);
        assert_eq!(asks["G1"], WorkAsks::default());
    }

    // Leeds, 53.8° north: sunrise 08:22 and sunset 15:46 on 21 December, 04:35 and 21:41 on 21 June (an almanac, from
    // memory). Ours lies inside, by no more than an hour.
    #[test]
    fn daylight_lies_inside_the_almanacs() {
        let inside = |ours: (u32, u32), almanac: (u32, u32)| {
            assert!(
                ours.0 >= almanac.0 && ours.1 <= almanac.1,
                "{ours:?} {almanac:?}"
            );
            assert!(
                ours.0 <= almanac.0 + 60 && ours.1 + 60 >= almanac.1,
                "{ours:?} {almanac:?}"
            );
        };
        inside(sun(day("2026-12-21")), (502, 946));
        inside(sun(day("2027-06-21")), (275, 1301));
    }

    #[test]
    fn what_is_due_in_the_season_is_done_before_it() {
        assert!(in_season(day("2026-10-01")) && in_season(day("2027-03-31")));
        assert!(!in_season(day("2027-04-01")) && !in_season(day("2026-09-30")));
        assert_eq!(
            before_the_season(day("2028-01-15"), day("2027-05-01")),
            Some(day("2027-09-01"))
        );
        assert_eq!(
            before_the_season(day("2027-01-15"), day("2026-11-30")),
            None
        );
        assert_eq!(
            before_the_season(day("2027-07-15"), day("2026-11-30")),
            None
        );
    }
}
