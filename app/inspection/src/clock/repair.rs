//! The right to repair of council secure tenants (law text read: SI 1994/133). Periods are rows of
//! the rule book.
use chrono::NaiveDate;
use serde::Serialize;

use super::WorkingDays;
use crate::InspectionError;
use crate::calendar::{date_words, is_winter};
use crate::coded::coded;
use crate::rulebook::{RepairPeriod, RuleBook};

coded! {
    /// Which period applied.
    RepairReason {
        /// 1 November to 30 April.
        Winter = "R2R_WINTER",
        /// 1 May to 31 October.
        Summer = "R2R_SUMMER",
        /// The same all year.
        Fixed = "R2R_FIXED",
        /// No rules are held for that country.
        NoRuleSet = "NO_RULE_SET",
    }
}

/// The day by which a defect must be put right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct RepairClock {
    /// Working days allowed.
    pub working_days: Option<u32>,
    /// Due by.
    pub due: Option<NaiveDate>,
    /// Which period applied.
    pub reason: RepairReason,
}

impl RepairClock {
    /// The clock in one plain sentence.
    pub fn sentence(&self) -> String {
        match (self.due, self.working_days) {
            (Some(due), Some(n)) => format!(
                "Council secure tenants: to be put right by {}, {n} working {} after the report (law).",
                date_words(due),
                if n == 1 { "day" } else { "days" }
            ),
            _ => "No right-to-repair rules are held for this country.".to_owned(),
        }
    }
}

/// The period for `defect` reported on `reported_on`.
///
/// # Errors
/// A defect the rule book does not hold.
pub fn right_to_repair(
    book: &RuleBook,
    days: &WorkingDays,
    country: &str,
    defect: &str,
    reported_on: NaiveDate,
) -> Result<RepairClock, InspectionError> {
    if country != book.country() {
        let reason = RepairReason::NoRuleSet;
        return Ok(RepairClock {
            working_days: None,
            due: None,
            reason,
        });
    }
    let (n, reason) = match book.repair_period(defect)? {
        RepairPeriod::Fixed { days } => (days, RepairReason::Fixed),
        RepairPeriod::BySeason { winter, .. } if is_winter(reported_on) => {
            (winter, RepairReason::Winter)
        }
        RepairPeriod::BySeason { summer, .. } => (summer, RepairReason::Summer),
    };
    Ok(RepairClock {
        working_days: Some(n),
        due: Some(days.after(reported_on, n)),
        reason,
    })
}
