//! W3, calendar round: fixed nominal dates with a tolerance. Common practice, no source.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::InspectionError;
use crate::calendar::{add_days, add_months, date_words, days_between};
use crate::coded::coded;

coded! {
    /// What the interval of a round is counted in.
    Every {
        /// Days.
        Days = "days",
        /// Weeks.
        Weeks = "weeks",
        /// Months, always counted from the anchor (31 Jan, 28 Feb, 31 Mar).
        Months = "months",
    }
}

coded! {
    /// How a visit stood to its round.
    W3Result {
        /// Inside the tolerance.
        OnTime = "on_time",
        /// After it, or rounds were missed before.
        Late = "late",
        /// Before the tolerance: the round stays open.
        EarlyOpen = "early_open",
    }
}

coded! {
    /// Why.
    W3Reason {
        /// Inside the tolerance.
        OnTime = "W3_ON_TIME",
        /// After it, or rounds missed.
        Late = "W3_LATE",
        /// Too early to close the round.
        EarlyOpen = "W3_EARLY_OPEN",
    }
}

/// A fixed round: its first nominal date and its interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Round {
    /// Nominal date of round 0.
    pub anchor: NaiveDate,
    /// How many units between two rounds; at least 1.
    pub every: u32,
    /// The unit.
    pub unit: Every,
}

impl Round {
    /// The nominal date of round `j`.
    pub fn nominal(&self, j: u32) -> NaiveDate {
        let steps = i64::from(self.every) * i64::from(j);
        match self.unit {
            Every::Days => add_days(self.anchor, steps),
            Every::Weeks => add_days(self.anchor, steps.saturating_mul(7)),
            Every::Months => add_months(self.anchor, i32::try_from(steps).unwrap_or(i32::MAX)),
        }
    }

    /// Days either side of the nominal date: a quarter of the interval, whole days down, at most
    /// 14 for months.
    pub fn tolerance_days(&self, j: u32) -> i64 {
        let interval = days_between(self.nominal(j), self.nominal(j.saturating_add(1)));
        let quarter = interval.max(0) / 4;
        if self.unit == Every::Months {
            quarter.min(14)
        } else {
            quarter
        }
    }

    /// The earliest day that closes round `j`.
    pub fn earliest(&self, j: u32) -> NaiveDate {
        add_days(self.nominal(j), -self.tolerance_days(j))
    }

    /// The last day of round `j` that is not late.
    pub fn latest(&self, j: u32) -> NaiveDate {
        add_days(self.nominal(j), self.tolerance_days(j))
    }

    /// The last round from `open` on whose earliest day has come on `done`.
    fn reached(&self, open: u32, done: NaiveDate) -> u32 {
        let mut j = open;
        while j < u32::MAX && self.earliest(j + 1) <= done && self.nominal(j + 1) > self.nominal(j)
        {
            j += 1;
        }
        j
    }
}

/// What a visit does to a round.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct W3Outcome {
    /// The day of the visit.
    pub done: NaiveDate,
    /// The round the visit belongs to.
    pub round: u32,
    /// Its nominal date.
    pub nominal: NaiveDate,
    /// Its tolerance, days either side.
    pub tolerance_days: i64,
    /// Its earliest day.
    pub earliest: NaiveDate,
    /// Its last day.
    pub latest: NaiveDate,
    /// Rounds passed over before it.
    pub missed: u32,
    /// How the visit stood to it.
    pub result: W3Result,
    /// The nominal date due next.
    pub next_nominal: NaiveDate,
    /// Why.
    pub reason: W3Reason,
}

impl W3Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let done = date_words(self.done);
        let nominal = date_words(self.nominal);
        let next = date_words(self.next_nominal);
        match self.result {
            W3Result::OnTime => {
                format!("Done on {done} for the round of {nominal}; the next is {next}.")
            }
            W3Result::EarlyOpen => format!(
                "Done on {done}, before {}: too early to close the round of {nominal}, which stays open.",
                date_words(self.earliest)
            ),
            W3Result::Late if self.missed > 0 => format!(
                "Done on {done} for the round of {nominal}, with {} missed before it; the next is {next}.",
                if self.missed == 1 {
                    "1 round".to_owned()
                } else {
                    format!("{} rounds", self.missed)
                }
            ),
            W3Result::Late => format!(
                "Done on {done}, after {}, the last day for the round of {nominal}: late. The next is {next}.",
                date_words(self.latest)
            ),
        }
    }
}

/// Applies a visit on `done` to a round whose oldest open one is `open_round`.
///
/// # Errors
/// An interval of 0.
pub fn w3(round: &Round, open_round: u32, done: NaiveDate) -> Result<W3Outcome, InspectionError> {
    if round.every == 0 {
        return Err(InspectionError::impossible(
            "every",
            "a round needs an interval of at least 1",
        ));
    }
    let early = done < round.earliest(open_round);
    let j = if early {
        open_round
    } else {
        round.reached(open_round, done)
    };
    let missed = j - open_round;
    let latest = round.latest(j);
    let (result, reason, next) = if early {
        (W3Result::EarlyOpen, W3Reason::EarlyOpen, round.nominal(j))
    } else if missed > 0 || done > latest {
        (
            W3Result::Late,
            W3Reason::Late,
            round.nominal(j.saturating_add(1)),
        )
    } else {
        (
            W3Result::OnTime,
            W3Reason::OnTime,
            round.nominal(j.saturating_add(1)),
        )
    };
    Ok(W3Outcome {
        done,
        round: j,
        nominal: round.nominal(j),
        tolerance_days: round.tolerance_days(j),
        earliest: round.earliest(j),
        latest,
        missed,
        result,
        next_nominal: next,
        reason,
    })
}
