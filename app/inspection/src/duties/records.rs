//! How long a record must be kept by law, and which version of a rule was in force as known then.
//!
//! The legal times are floors: a unit's fault history is worth keeping for its life.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::calendar::{add_months, date_words};
use crate::coded::coded;

coded! {
    /// Why a record is kept until that day.
    KeepReason {
        /// Until two further checks have been made (law text read: SI 2018/139).
        UntilTwoFurtherChecks = "KEEP_UNTIL_TWO_FURTHER_CHECKS",
        /// The unit is gone: two years from its last check.
        RemovedUnit = "KEEP_2Y_AFTER_LAST_CHECK_OF_REMOVED_UNIT",
        /// Five years (published page: legionella code of practice).
        FiveYears = "KEEP_5Y",
        /// As long as it is the current one.
        WhileCurrent = "KEEP_WHILE_CURRENT",
        /// Two years after it was superseded.
        TwoYearsAfterCurrent = "KEEP_2Y_AFTER_CURRENT",
    }
}

/// The legal floor of keeping a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct KeepOutcome {
    /// Last day it must be kept; none while no date can be named yet.
    pub keep_until: Option<NaiveDate>,
    /// Why.
    pub reason: KeepReason,
}

impl KeepOutcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let why = match self.reason {
            KeepReason::UntilTwoFurtherChecks => "until two further checks have been made",
            KeepReason::RemovedUnit => "until two years after the last check of the removed unit",
            KeepReason::FiveYears => "for five years",
            KeepReason::WhileCurrent => "while it is current",
            KeepReason::TwoYearsAfterCurrent => "until two years after it was superseded",
        };
        match self.keep_until {
            Some(day) => format!("Keep {why}, that is to {}.", date_words(day)),
            None => format!("Keep {why}; no date can be named yet."),
        }
    }
}

/// A gas safety record. `last_check_on`: the check it records, and, once the unit was removed, the
/// unit's last check; `later_checks`: checks made after it.
pub fn keep_gas_record(
    last_check_on: NaiveDate,
    later_checks: &[NaiveDate],
    removed_on: Option<NaiveDate>,
) -> KeepOutcome {
    if removed_on.is_some() {
        return KeepOutcome {
            keep_until: Some(add_months(last_check_on, 24)),
            reason: KeepReason::RemovedUnit,
        };
    }
    let mut later: Vec<NaiveDate> = later_checks
        .iter()
        .copied()
        .filter(|&day| day > last_check_on)
        .collect();
    later.sort_unstable();
    KeepOutcome {
        keep_until: later.get(1).copied(),
        reason: KeepReason::UntilTwoFurtherChecks,
    }
}

/// A log of water temperatures made on `made_on`.
pub fn keep_water_log(made_on: NaiveDate) -> KeepOutcome {
    KeepOutcome {
        keep_until: Some(add_months(made_on, 60)),
        reason: KeepReason::FiveYears,
    }
}

/// A legionella risk assessment, superseded on that day or still current.
pub fn keep_legionella_assessment(superseded_on: Option<NaiveDate>) -> KeepOutcome {
    match superseded_on {
        None => KeepOutcome {
            keep_until: None,
            reason: KeepReason::WhileCurrent,
        },
        Some(day) => KeepOutcome {
            keep_until: Some(add_months(day, 24)),
            reason: KeepReason::TwoYearsAfterCurrent,
        },
    }
}

/// One version of a dated rule or setting.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RuleVersion<T> {
    /// Its name.
    pub id: String,
    /// First day it applies to.
    pub effective_from: NaiveDate,
    /// Day it was entered.
    pub recorded_on: NaiveDate,
    /// What it says.
    pub value: T,
}

coded! {
    /// Whether a version was found.
    RuleReason {
        /// One applied.
        Found = "RULE_FOUND",
        /// None was in force, as known then.
        NoneInForce = "NO_RULE_IN_FORCE",
    }
}

/// The version found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RuleFound<T> {
    /// Its name, if any.
    pub version: Option<String>,
    /// What it says, if any.
    pub value: Option<T>,
    /// Whether one was found.
    pub reason: RuleReason,
}

/// The version that applied on the day `on` of the event, as known on `known_on`: the latest
/// effective one, then the latest recorded.
pub fn rule_as_at<T: Clone>(
    versions: &[RuleVersion<T>],
    on: NaiveDate,
    known_on: NaiveDate,
) -> RuleFound<T> {
    let found = versions
        .iter()
        .filter(|v| v.recorded_on <= known_on && v.effective_from <= on)
        .max_by_key(|v| (v.effective_from, v.recorded_on));
    RuleFound {
        version: found.map(|v| v.id.clone()),
        value: found.map(|v| v.value.clone()),
        reason: if found.is_some() {
            RuleReason::Found
        } else {
            RuleReason::NoneInForce
        },
    }
}
