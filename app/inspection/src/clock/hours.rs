//! A clock in real hours, with the pauses that stop it and those that stop nothing.
use serde::{Deserialize, Serialize};

use super::{LocalTime, UtcTime};
use crate::InspectionError;
use crate::absent::null_as_default;
use crate::coded::coded;

coded! {
    /// Where the hours come from.
    Basis {
        /// Law: nothing stops the clock.
        Law = "law",
        /// Contract: some pauses stop it.
        Contract = "contract",
    }
}

coded! {
    /// How the clock stands.
    ClockState {
        /// Finished at or before the deadline.
        Met = "met",
        /// Finished after it.
        FinishedLate = "finished_late",
        /// Not finished, deadline not passed.
        Running = "running",
        /// Not finished, deadline passed.
        Late = "late",
    }
}

/// Pauses that stop a contract's clock; others (no access, awaiting a part …) are recorded only.
const STOPPING: [&str; 2] = ["resident_asked_later", "supplier_network_off"];

/// A stretch of time with a reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pause {
    /// From.
    pub from: LocalTime,
    /// To.
    pub to: LocalTime,
    /// Why.
    pub reason: String,
}

/// What the clock is asked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoursQuery {
    /// When the landlord became aware.
    pub start_local: LocalTime,
    /// Real hours allowed.
    pub hours: f64,
    /// Law or contract.
    pub basis: Basis,
    /// Pauses, in any order; overlaps count once.
    #[serde(default, deserialize_with = "null_as_default")]
    pub pauses: Vec<Pause>,
    /// When it was made safe or done.
    #[serde(default)]
    pub finished_local: Option<LocalTime>,
    /// The present moment, while not finished.
    #[serde(default)]
    pub now_local: Option<LocalTime>,
}

/// How the clock stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct HoursClock {
    /// The deadline on the wall.
    pub deadline_local: LocalTime,
    /// The deadline as an instant.
    pub deadline_utc: UtcTime,
    /// Minutes the clock stood still before the deadline.
    pub paused_minutes: i64,
    /// How it stands; none without a finish or a present moment.
    pub state: Option<ClockState>,
    /// Minutes left, negative when past.
    pub minutes_to_deadline: Option<i64>,
}

impl HoursClock {
    /// The clock in one plain sentence.
    pub fn sentence(&self) -> String {
        let by = self.deadline_local.words();
        let span = self.minutes_to_deadline.unwrap_or(0).abs();
        let span = format!("{} h {} min", span / 60, span % 60);
        match self.state {
            None => format!("Due by {by}."),
            Some(ClockState::Met) => format!("Done in time; it was due by {by}."),
            Some(ClockState::FinishedLate) => format!("Done {span} after {by}: late."),
            Some(ClockState::Running) => format!("Due by {by}, in {span}."),
            Some(ClockState::Late) => format!("Late since {by}, by {span}."),
        }
    }
}

/// Runs the clock.
///
/// # Errors
/// Hours that are negative, not finite or beyond ten years.
pub fn hours(query: &HoursQuery) -> Result<HoursClock, InspectionError> {
    if !(0.0..=87_600.0).contains(&query.hours) {
        return Err(InspectionError::impossible(
            "hours",
            "must lie between 0 and ten years",
        ));
    }
    let start = query.start_local.to_utc();
    let allowed = (query.hours * 60.0).round() as i64;
    let mut paused = 0;
    for (from, to) in stopping_pauses(query, start) {
        if from >= start.plus_minutes(allowed + paused) {
            break;
        }
        paused += from.minutes_to(to);
    }
    let deadline = start.plus_minutes(allowed + paused);
    let judged = match (query.finished_local, query.now_local) {
        (Some(at), _) => Some((at, ClockState::Met, ClockState::FinishedLate)),
        (None, Some(at)) => Some((at, ClockState::Running, ClockState::Late)),
        (None, None) => None,
    };
    let state = judged.map(|(at, good, late)| if at.to_utc() <= deadline { good } else { late });
    Ok(HoursClock {
        deadline_local: deadline.to_local(),
        deadline_utc: deadline,
        paused_minutes: paused,
        state,
        minutes_to_deadline: judged.map(|(at, ..)| at.to_utc().minutes_to(deadline)),
    })
}

/// The pauses that stop this clock: cut at the start, sorted, overlaps joined.
fn stopping_pauses(query: &HoursQuery, start: UtcTime) -> Vec<(UtcTime, UtcTime)> {
    let mut spans: Vec<(UtcTime, UtcTime)> = query
        .pauses
        .iter()
        .filter(|p| query.basis == Basis::Contract && STOPPING.contains(&p.reason.as_str()))
        .map(|p| (p.from.to_utc().max(start), p.to.to_utc()))
        .filter(|(from, to)| from < to)
        .collect();
    spans.sort_unstable();
    let mut joined: Vec<(UtcTime, UtcTime)> = Vec::with_capacity(spans.len());
    for (from, to) in spans {
        match joined.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}
