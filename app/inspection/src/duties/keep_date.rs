//! W1, keep-the-date: a check done in the last two months before the deadline keeps its day.
//!
//! Law text read: Gas Safety (Installation and Use) Regulations 1998, regulation 36A (inserted by
//! SI 2018/139): "within the period of 2 months ending with the deadline date".
use chrono::NaiveDate;
use serde::Serialize;

use crate::calendar::{add_days, add_months, date_words, day_count, days_between};
use crate::coded::coded;

coded! {
    /// What a check did to its deadline.
    W1Result {
        /// No earlier check.
        First = "first",
        /// Inside the window: the deadline's day is kept.
        Kept = "kept",
        /// Before the window: the date moves forward.
        ResetEarly = "reset_early",
        /// After the deadline: a breach.
        Late = "late",
        /// The check items were not completed: no check happened.
        NotACheck = "not_a_check",
    }
}

coded! {
    /// Why the next deadline is what it is.
    W1Reason {
        /// No earlier check.
        First = "W1_FIRST",
        /// Inside the window.
        Kept = "W1_KEPT",
        /// Before the window.
        Early = "W1_EARLY",
        /// After the deadline.
        Late = "W1_LATE",
        /// Check items missing.
        NotACheck = "W1_NOT_A_CHECK",
    }
}

/// What a check on one day does to a deadline.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct W1Outcome {
    /// The deadline before the check; none if there was no earlier check.
    pub deadline: Option<NaiveDate>,
    /// The day of the check.
    pub done: NaiveDate,
    /// First day that keeps the date.
    pub window_first: Option<NaiveDate>,
    /// Last day that keeps the date: the deadline.
    pub window_last: Option<NaiveDate>,
    /// What the check did.
    pub result: W1Result,
    /// The day the check counts as done; both days are kept on the record.
    pub treated_as: Option<NaiveDate>,
    /// The next deadline; none only when no check happened and none was due.
    pub next_deadline: Option<NaiveDate>,
    /// Days after the deadline, 0 if none.
    pub days_late: i64,
    /// Why.
    pub reason: W1Reason,
}

impl W1Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let done = date_words(self.done);
        let deadline = self.deadline.map(date_words).unwrap_or_default();
        let next = self.next_deadline.map(date_words).unwrap_or_default();
        match self.reason {
            W1Reason::First => {
                format!("First check, done on {done}; the next is due by {next}.")
            }
            W1Reason::Kept => format!(
                "Done on {done}, inside the two months before {deadline}, so the next is due by {next}."
            ),
            W1Reason::Early => format!(
                "Done on {done}, before {}, when the two months ending on {deadline} begin, so the date moves: the next is due by {next}.",
                self.window_first.map(date_words).unwrap_or_default()
            ),
            W1Reason::Late => format!(
                "Done on {done}, {} after {deadline}: late, and logged as a breach. The next is due by {next}.",
                day_count(self.days_late)
            ),
            W1Reason::NotACheck => match self.deadline {
                Some(_) => format!(
                    "The visit on {done} did not complete the check items, so no check happened: still due by {deadline}."
                ),
                None => format!(
                    "The visit on {done} did not complete the check items, so no check happened."
                ),
            },
        }
    }
}

/// The window that keeps the date: from two months before `deadline`, plus a day, to `deadline`.
pub fn window_w1(deadline: NaiveDate) -> (NaiveDate, NaiveDate) {
    (add_days(add_months(deadline, -2), 1), deadline)
}

/// Applies a check on `done` to `deadline`. `check_complete` is false when a visit left check
/// items undone: a service is then not a check, even past the deadline.
pub fn w1(deadline: Option<NaiveDate>, done: NaiveDate, check_complete: bool) -> W1Outcome {
    let window = deadline.map(window_w1);
    let mut outcome = W1Outcome {
        deadline,
        done,
        window_first: window.map(|w| w.0),
        window_last: window.map(|w| w.1),
        result: W1Result::NotACheck,
        treated_as: None,
        next_deadline: deadline,
        days_late: 0,
        reason: W1Reason::NotACheck,
    };
    if !check_complete {
        return outcome;
    }
    let (result, reason, treated_as) = match window {
        None => (W1Result::First, W1Reason::First, done),
        Some((first, _)) if done < first => (W1Result::ResetEarly, W1Reason::Early, done),
        Some((_, last)) if done <= last => (W1Result::Kept, W1Reason::Kept, last),
        Some((_, last)) => {
            outcome.days_late = days_between(last, done);
            (W1Result::Late, W1Reason::Late, done)
        }
    };
    outcome.result = result;
    outcome.reason = reason;
    outcome.treated_as = Some(treated_as);
    outcome.next_deadline = Some(add_months(treated_as, 12));
    outcome
}

/// A run of checks, each applied to the deadline left by the one before.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Chain {
    /// What each check did.
    pub results: Vec<W1Result>,
    /// The deadline after each check.
    pub deadlines: Vec<NaiveDate>,
    /// How many were late.
    pub breaches: usize,
    /// The last deadline left.
    pub final_deadline: Option<NaiveDate>,
    /// Longest span from a check to the deadline it leaves, days.
    pub longest_days_check_to_deadline: i64,
    /// Longest span between two checks, days; 0 if fewer than two.
    pub longest_days_between_checks: i64,
}

/// Applies complete checks one after another.
pub fn w1_chain(first_deadline: Option<NaiveDate>, checks: &[NaiveDate]) -> Chain {
    let mut deadline = first_deadline;
    let mut outcomes = Vec::with_capacity(checks.len());
    for &done in checks {
        let outcome = w1(deadline, done, true);
        deadline = outcome.next_deadline;
        outcomes.push(outcome);
    }
    let spans = outcomes
        .iter()
        .filter_map(|o| o.next_deadline.map(|next| days_between(o.done, next)));
    Chain {
        results: outcomes.iter().map(|o| o.result).collect(),
        deadlines: outcomes.iter().filter_map(|o| o.next_deadline).collect(),
        breaches: outcomes
            .iter()
            .filter(|o| o.result == W1Result::Late)
            .count(),
        final_deadline: deadline,
        longest_days_check_to_deadline: spans.max().unwrap_or(0),
        longest_days_between_checks: checks
            .windows(2)
            .map(|pair| days_between(pair[0], pair[1]))
            .max()
            .unwrap_or(0),
    }
}

coded! {
    /// Whether a new unit's first check may move to the flat's date.
    G3Reason {
        /// The flat has no date, or one that is not later.
        NotNeeded = "G3_NOT_NEEDED",
        /// The one move was used before.
        AlreadyUsed = "G3_ALREADY_USED",
        /// Moved to the flat's date.
        Aligned = "G3_ALIGNED",
        /// The flat's date is more than two months later.
        TooFar = "G3_TOO_FAR",
    }
}

/// The first check of a newly fitted gas unit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct G3Outcome {
    /// Twelve months after fitting.
    pub own_deadline: NaiveDate,
    /// The latest day the one move may reach.
    pub latest_aligned: NaiveDate,
    /// The day the first check is due by.
    pub first_check_by: NaiveDate,
    /// Whether the date was moved.
    pub aligned: bool,
    /// Why.
    pub reason: G3Reason,
    /// What the check did, if done.
    pub result: Option<W1Result>,
    /// The deadline after the check, if done.
    pub next_deadline: Option<NaiveDate>,
}

impl G3Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let by = date_words(self.first_check_by);
        let latest = date_words(self.latest_aligned);
        match self.reason {
            G3Reason::Aligned => {
                format!("First check by {by}, moved once to line up with the flat's date.")
            }
            G3Reason::NotNeeded => format!("First check by {by}, twelve months after fitting."),
            G3Reason::AlreadyUsed => format!(
                "First check by {by}: the one move to line up with the flat's date has been used."
            ),
            G3Reason::TooFar => format!(
                "First check by {by}: the flat's date lies after {latest}, too far for the one move."
            ),
        }
    }
}

/// First check of a unit fitted on `installed_on`: within 12 months, and once up to two months
/// more to line up with the flat's other appliances (`flat_deadline`).
pub fn g3(
    installed_on: NaiveDate,
    flat_deadline: Option<NaiveDate>,
    already_used: bool,
    done: Option<NaiveDate>,
) -> G3Outcome {
    let own_deadline = add_months(installed_on, 12);
    // At month ends the two readings of "two months more" differ; the earlier one is lawful by both.
    let latest_aligned = add_months(own_deadline, 2).min(add_months(installed_on, 14));
    let (reason, first_check_by) = match flat_deadline {
        Some(flat) if flat > own_deadline => {
            if already_used {
                (G3Reason::AlreadyUsed, own_deadline)
            } else if flat <= latest_aligned {
                (G3Reason::Aligned, flat)
            } else {
                (G3Reason::TooFar, own_deadline)
            }
        }
        _ => (G3Reason::NotNeeded, own_deadline),
    };
    let after = done.map(|day| w1(Some(first_check_by), day, true));
    G3Outcome {
        own_deadline,
        latest_aligned,
        first_check_by,
        aligned: reason == G3Reason::Aligned,
        reason,
        result: after.as_ref().map(|o| o.result),
        next_deadline: after.and_then(|o| o.next_deadline),
    }
}
