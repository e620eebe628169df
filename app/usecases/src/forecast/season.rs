//! The heating season and how a kind's calls spread over the year.
use chrono::{Datelike, NaiveDate};
use dependability::Horizon;
use serde::{Deserialize, Serialize};

/// Share of a year's calls in each month, January first; they add up to 1. Common practice, no source, as at
/// July 2026: November to February about 1.8 times the monthly mean (the trade says 1.6 to 2.0), a peak in the first
/// cold week of October, an even summer (trade notes, calibration of the boiler rate).
pub const MONTH_SHARES: [f64; 12] = [
    0.15, 0.15, 0.08, 0.036, 0.036, 0.036, 0.036, 0.036, 0.04, 0.10, 0.15, 0.15,
];
/// How the figures of [`MONTH_SHARES`] are known.
pub const MONTH_SHARES_STATUS: &str = "common practice, no source";
/// Own calls a kind needs before they weigh as much as [`MONTH_SHARES`] (judgement, not tested).
const WEIGHT: f64 = 24.0;

/// Days since 1970 in years of 365.25 days: the axis of every history.
pub(crate) fn axis(day: NaiveDate) -> f64 {
    let epoch = NaiveDate::default();
    (day - epoch).num_days() as f64 / 365.25
}

/// What is ahead of a heating season, 1 October to 31 March.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Season {
    /// First day: 1 October, or today inside the season.
    pub from: NaiveDate,
    /// Last day: 31 March.
    pub until: NaiveDate,
}

impl Season {
    /// The rest of the present season, or the next one.
    pub fn ahead_of(today: NaiveDate) -> Self {
        let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap_or(today);
        let year = today.year();
        match today.month() {
            1..=3 => Self {
                from: today,
                until: day(year, 3, 31),
            },
            10..=12 => Self {
                from: today,
                until: day(year + 1, 3, 31),
            },
            _ => Self {
                from: day(year, 10, 1),
                until: day(year + 1, 3, 31),
            },
        }
    }

    /// The season cut at its months, each weighing 12 times its share of calls.
    pub(crate) fn horizon(self, shares: &[f64; 12]) -> Horizon {
        stretch(
            self.from,
            self.until.succ_opt().unwrap_or(self.until),
            shares,
        )
    }
}

/// The days from one up to another, cut at their months, each weighing 12 times its share of calls.
pub(crate) fn stretch(from: NaiveDate, until: NaiveDate, shares: &[f64; 12]) -> Horizon {
    let mut pieces = Vec::new();
    let mut start = from;
    while let Some(next) = first_of_next_month(start).filter(|_| start < until) {
        let weight = 12.0 * shares[start.month0() as usize % 12];
        pieces.push((axis(start), axis(next.min(until)), weight.min(12.0)));
        start = next;
    }
    Horizon { pieces }
}

fn first_of_next_month(day: NaiveDate) -> Option<NaiveDate> {
    day.with_day(1)?.checked_add_months(chrono::Months::new(1))
}

/// A kind's own shares, smoothed: its failures by month, with 24 more spread as the trade has them.
pub(crate) fn month_shares(failures: impl Iterator<Item = NaiveDate>) -> [f64; 12] {
    let mut shares = MONTH_SHARES.map(|share| share * WEIGHT);
    for day in failures {
        shares[day.month0() as usize % 12] += 1.0;
    }
    let total: f64 = shares.iter().sum();
    shares.map(|share| share / total)
}

/// The Monday of a day's week: forecasts of unchanged facts move on once a week.
pub(crate) fn week(day: NaiveDate) -> NaiveDate {
    day.week(chrono::Weekday::Mon)
        .checked_first_day()
        .unwrap_or(day)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default()
    }

    #[test]
    fn the_season_is_the_rest_of_this_one_or_the_next() {
        for (today, from, until) in [
            (on(2026, 11, 25), on(2026, 11, 25), on(2027, 3, 31)),
            (on(2027, 3, 31), on(2027, 3, 31), on(2027, 3, 31)),
            (on(2027, 4, 1), on(2027, 10, 1), on(2028, 3, 31)),
            (on(2027, 10, 1), on(2027, 10, 1), on(2028, 3, 31)),
        ] {
            assert_eq!(Season::ahead_of(today), Season { from, until });
        }
    }

    #[test]
    fn its_pieces_meet_and_weigh_as_their_months() {
        let season = Season::ahead_of(on(2026, 11, 25));
        let pieces = season.horizon(&MONTH_SHARES).pieces;
        let months: Vec<f64> = pieces.iter().map(|p| p.2 / 12.0).collect();
        assert_eq!(months, [0.15, 0.15, 0.15, 0.15, 0.08]);
        assert!(pieces.windows(2).all(|w| w[0].1 == w[1].0));
        // 25 November to 31 March is 127 days.
        let days: f64 = pieces.iter().map(|p| (p.1 - p.0) * 365.25).sum();
        assert!((days - 127.0).abs() < 1e-6);
        let quarter = stretch(on(2026, 11, 25), on(2027, 2, 25), &MONTH_SHARES).pieces;
        assert_eq!(quarter.len(), 4);
        assert!((quarter[3].1 - axis(on(2027, 2, 25))).abs() < 1e-12);
        let whole: f64 = MONTH_SHARES.iter().sum();
        assert!((whole - 1.0).abs() < 1e-12);
        let smoothed = month_shares([on(2026, 7, 1); 24].into_iter());
        assert!((smoothed[6] - f64::midpoint(1.0, MONTH_SHARES[6])).abs() < 1e-12);
    }
}
