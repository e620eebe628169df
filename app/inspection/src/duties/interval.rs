//! W2, not-later-than: the interval runs from the last completion; early work resets the date.
use chrono::NaiveDate;
use serde::Serialize;

use crate::calendar::{add_days, add_months, date_words, day_count, days_between};
use crate::coded::coded;

/// The time between two dates of a duty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gap {
    /// Whole days: seven for every week.
    Days(u32),
    /// Whole months, clamped to the month's end.
    Months(u32),
}

impl Gap {
    /// The day this long after `day`.
    pub fn after(self, day: NaiveDate) -> NaiveDate {
        match self {
            Self::Days(n) => add_days(day, i64::from(n)),
            Self::Months(n) => add_months(day, i32::try_from(n).unwrap_or(i32::MAX)),
        }
    }

    /// The day this long before `day`.
    pub fn before(self, day: NaiveDate) -> NaiveDate {
        match self {
            Self::Days(n) => add_days(day, -i64::from(n)),
            Self::Months(n) => add_months(day, -i32::try_from(n).unwrap_or(i32::MAX)),
        }
    }
}

coded! {
    /// How the completion stood to its deadline.
    W2Result {
        /// No earlier completion.
        First = "first",
        /// On or before the deadline.
        Done = "done",
        /// After it.
        Late = "late",
    }
}

coded! {
    /// Why the next deadline is what it is.
    W2Reason {
        /// Counted from the completion.
        FromCompletion = "W2_FROM_COMPLETION",
        /// Completed late; counted from the completion.
        Late = "W2_LATE",
    }
}

/// What a completion does to a deadline counted from completions.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct W2Outcome {
    /// The deadline before, if any.
    pub deadline: Option<NaiveDate>,
    /// The day of completion.
    pub done: NaiveDate,
    /// How it stood to the deadline.
    pub result: W2Result,
    /// Days after the deadline, 0 if none.
    pub days_late: i64,
    /// `done` plus the interval.
    pub next_deadline: NaiveDate,
    /// Why.
    pub reason: W2Reason,
}

impl W2Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let done = date_words(self.done);
        let next = date_words(self.next_deadline);
        match (self.result, self.deadline) {
            (W2Result::Late, Some(deadline)) => format!(
                "Done on {done}, {} after {}: late. The next is due by {next}, counted from the day it was done.",
                day_count(self.days_late),
                date_words(deadline)
            ),
            _ => format!("Done on {done}; the next is due by {next}, counted from that day."),
        }
    }
}

/// Applies a completion on `done`. `shorter_interval_months` is what the report itself demands;
/// the smaller of the two counts.
pub fn w2(
    deadline: Option<NaiveDate>,
    done: NaiveDate,
    interval_months: u32,
    shorter_interval_months: Option<u32>,
) -> W2Outcome {
    let months = shorter_interval_months.map_or(interval_months, |s| s.min(interval_months));
    w2_gap(deadline, done, Gap::Months(months))
}

/// The same for any interval.
pub fn w2_gap(deadline: Option<NaiveDate>, done: NaiveDate, gap: Gap) -> W2Outcome {
    let late = deadline.map_or(0, |d| days_between(d, done).max(0));
    let (result, reason) = match deadline {
        None => (W2Result::First, W2Reason::FromCompletion),
        Some(_) if late > 0 => (W2Result::Late, W2Reason::Late),
        Some(_) => (W2Result::Done, W2Reason::FromCompletion),
    };
    W2Outcome {
        deadline,
        done,
        result,
        days_late: late,
        next_deadline: gap.after(done),
        reason,
    }
}
