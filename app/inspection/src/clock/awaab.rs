//! Hazards in social rented homes in England: the clocks in force for reports from 27 October 2025
//! (published summaries read; the hazards list grows in 2026 and 2027).
use chrono::NaiveDate;
use serde::Serialize;

use super::{Deadline, LocalTime, WorkingDays};
use crate::calendar::{add_days, date_words};
use crate::coded::coded;

coded! {
    /// How serious the hazard is.
    AwaabKind {
        /// Emergency: 24 real hours, any hazard.
        Emergency = "emergency",
        /// Significant: working days.
        Significant = "significant",
    }
}

coded! {
    /// Which rule applied.
    AwaabReason {
        /// The emergency clock.
        Emergency = "AWAAB_EMERGENCY",
        /// The significant-hazard clocks.
        Significant = "AWAAB_SIGNIFICANT",
        /// Reported before the rules came into force.
        NotInForce = "AWAAB_NOT_IN_FORCE",
        /// The hazard is not yet in the list.
        HazardNotYet = "AWAAB_HAZARD_NOT_YET",
    }
}

impl AwaabKind {
    /// The rule's own words for it, from the published summaries read.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Emergency => {
                "an emergency hazard: an imminent and significant risk of harm to whoever lives there"
            }
            Self::Significant => {
                "a significant hazard: a significant risk of harm to whoever lives there"
            }
        }
    }
}

/// The dates that apply; unused ones are none.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AwaabClock {
    /// Whether the rules apply.
    pub applies: bool,
    /// Emergency: made safe by.
    pub make_safe_by: Option<Deadline>,
    /// Investigated by.
    pub investigate_by: Option<Deadline>,
    /// Written summary by.
    pub summary_by: Option<NaiveDate>,
    /// Safety work by.
    pub safety_work_by: Option<NaiveDate>,
    /// Further work begun by.
    pub further_work_begin_by: Option<NaiveDate>,
    /// Further work physically started at the latest by.
    pub further_work_start_latest: Option<NaiveDate>,
    /// Which rule.
    pub reason: AwaabReason,
}

impl AwaabClock {
    fn not_applying(reason: AwaabReason) -> Self {
        Self {
            applies: false,
            make_safe_by: None,
            investigate_by: None,
            summary_by: None,
            safety_work_by: None,
            further_work_begin_by: None,
            further_work_start_latest: None,
            reason,
        }
    }

    /// The clock in one plain sentence.
    pub fn sentence(&self) -> String {
        match (self.reason, self.investigate_by) {
            (AwaabReason::Emergency, Some(by)) => {
                format!(
                    "Emergency hazard: investigate and make safe by {}.",
                    by.words()
                )
            }
            (AwaabReason::Significant, Some(by)) => format!(
                "Significant hazard: investigate by {}, written summary by {}, safety work by {}.",
                by.words(),
                self.summary_by.map(date_words).unwrap_or_default(),
                self.safety_work_by.map(date_words).unwrap_or_default()
            ),
            (AwaabReason::HazardNotYet, _) => {
                "This hazard is not yet in the list the hazard clocks cover.".to_owned()
            }
            _ => "Reported before the hazard clocks came into force.".to_owned(),
        }
    }
}

/// The clocks of a hazard the landlord became aware of at `aware_local`. Working-day steps count
/// from the end of the investigation, or from its deadline while that is not known.
pub fn awaab(
    days: &WorkingDays,
    kind: AwaabKind,
    hazard: &str,
    aware_local: LocalTime,
    investigation_ended_on: Option<NaiveDate>,
) -> AwaabClock {
    let in_force = NaiveDate::from_ymd_opt(2025, 10, 27).unwrap_or(NaiveDate::MAX);
    if aware_local.day() < in_force {
        return AwaabClock::not_applying(AwaabReason::NotInForce);
    }
    if kind == AwaabKind::Emergency {
        let by = Some(Deadline::At(aware_local.plus_minutes(24 * 60)));
        let mut clock = AwaabClock::not_applying(AwaabReason::Emergency);
        clock.applies = true;
        clock.make_safe_by = by;
        clock.investigate_by = by;
        return clock;
    }
    if hazard != "damp_and_mould" {
        return AwaabClock::not_applying(AwaabReason::HazardNotYet);
    }
    let investigate_by = days.after(aware_local.day(), 10);
    let ended = investigation_ended_on.unwrap_or(investigate_by);
    AwaabClock {
        applies: true,
        make_safe_by: None,
        investigate_by: Some(Deadline::On(investigate_by)),
        summary_by: Some(days.after(ended, 3)),
        safety_work_by: Some(days.after(ended, 5)),
        further_work_begin_by: Some(days.after(ended, 5)),
        further_work_start_latest: Some(add_days(ended, 84)),
        reason: AwaabReason::Significant,
    }
}
