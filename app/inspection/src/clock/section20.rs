//! Consultation of leaseholders on works (section 20): when each notice ends and what is too early.
//!
//! Thirty days **beginning with** the day of service; service is the day received, not printed or
//! posted (published page: SI 2003/1987 reg 2 and an Upper Tribunal case of 2013).
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::WorkingDays;
use crate::calendar::{add_days, days_between};
use crate::coded::coded;

coded! {
    /// What is wrong with the run of notices.
    Flag {
        /// The notice of intention states an end that is too soon.
        IntentionShort = "INTENTION_SHORT",
        /// Estimates were served before the first notice ended.
        EstimatesTooEarly = "ESTIMATES_TOO_EARLY",
        /// The estimates notice states an end that is too soon.
        EstimatesShort = "ESTIMATES_SHORT",
        /// The contract was made before the second notice ended.
        ContractTooEarly = "CONTRACT_TOO_EARLY",
    }
}

impl Flag {
    /// The flag in one plain sentence.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::IntentionShort => "The notice of intention names a last day that is too soon.",
            Self::EstimatesTooEarly => {
                "The estimates were served before the notice of intention had ended."
            }
            Self::EstimatesShort => "The estimates notice names a last day that is too soon.",
            Self::ContractTooEarly => {
                "The contract was made before the estimates notice had ended."
            }
        }
    }
}

/// One notice: received, or posted and deemed to arrive, and the last day it states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Notice {
    /// Day of receipt, if known.
    pub received_on: Option<NaiveDate>,
    /// Day of posting.
    pub posted_on: Option<NaiveDate>,
    /// Working days in the post, a setting (2).
    pub post_working_days: u32,
    /// The last day for observations that the notice states.
    pub stated_end: Option<NaiveDate>,
}

/// The notices and the contract.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Section20Query {
    /// Notice of intention.
    pub intention: Option<Notice>,
    /// Statement of estimates.
    pub estimates: Option<Notice>,
    /// Day of the contract.
    pub contract_on: Option<NaiveDate>,
    /// The lowest or a nominated contractor was chosen: no reasons are owed.
    pub lowest_or_nominated: bool,
}

/// The dates of one consultation; unused ones are none.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Consultation {
    /// Day of service of the first notice.
    pub intention_served: Option<NaiveDate>,
    /// Its last day.
    pub intention_ends: Option<NaiveDate>,
    /// First day for estimates.
    pub estimates_earliest: Option<NaiveDate>,
    /// Days the stated end is too soon.
    pub intention_short_by_days: i64,
    /// Day of service of the second notice.
    pub estimates_served: Option<NaiveDate>,
    /// Its last day.
    pub estimates_ends: Option<NaiveDate>,
    /// First day for the contract.
    pub contract_earliest: Option<NaiveDate>,
    /// Days the stated end is too soon.
    pub estimates_short_by_days: i64,
    /// Reasons owed by.
    pub reasons_by: Option<NaiveDate>,
    /// What is wrong, in the order of the steps.
    pub flags: Vec<Flag>,
}

/// Served, last day, days short.
fn run(days: &WorkingDays, notice: Option<Notice>) -> (Option<NaiveDate>, Option<NaiveDate>, i64) {
    let Some(notice) = notice else {
        return (None, None, 0);
    };
    let served = notice.received_on.or_else(|| {
        notice
            .posted_on
            .map(|on| days.after(on, notice.post_working_days))
    });
    let ends = served.map(|on| add_days(on, 29));
    let short = match (ends, notice.stated_end) {
        (Some(end), Some(stated)) => days_between(stated, end).max(0),
        _ => 0,
    };
    (served, ends, short)
}

/// The dates and what is wrong with them.
pub fn section20(days: &WorkingDays, query: &Section20Query) -> Consultation {
    let (intention_served, intention_ends, intention_short) = run(days, query.intention);
    let (estimates_served, estimates_ends, estimates_short) = run(days, query.estimates);
    let not_after = |day: Option<NaiveDate>, end: Option<NaiveDate>| matches!((day, end), (Some(day), Some(end)) if day <= end);
    let flags = [
        (intention_short > 0, Flag::IntentionShort),
        (
            not_after(estimates_served, intention_ends),
            Flag::EstimatesTooEarly,
        ),
        (estimates_short > 0, Flag::EstimatesShort),
        (
            not_after(query.contract_on, estimates_ends),
            Flag::ContractTooEarly,
        ),
    ];
    Consultation {
        intention_served,
        intention_ends,
        estimates_earliest: intention_ends.map(|end| add_days(end, 1)),
        intention_short_by_days: intention_short,
        estimates_served,
        estimates_ends,
        contract_earliest: estimates_ends.map(|end| add_days(end, 1)),
        estimates_short_by_days: estimates_short,
        reasons_by: query
            .contract_on
            .filter(|_| !query.lowest_or_nominated)
            .map(|on| add_days(on, 21)),
        flags: flags.iter().filter(|f| f.0).map(|f| f.1).collect(),
    }
}
