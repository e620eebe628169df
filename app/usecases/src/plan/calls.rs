//! Open jobs that have no day: the round finds each a time with the fewest moves of others, and proposes it. It is kept in the
//! round's report; a person books it.
use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime};
use inspection::calendar::add_days;
use planning::RoundPlan;
use planning::rounds::{Placed, PlannedJob};
use serde::{Deserialize, Serialize};
use store::jobs::Job;
use store::rounds::RoundCard;
use terms::{Covers, EngineerId, FirmId, JobId, JobState};

use super::demands::WorkAsks;
use super::known::Known;
use super::prepared::Prepared;
use super::words::why_not;
use crate::work::wall;

/// Days a job without a day is placed within where its clock leaves fewer, or has none. Our choice: common practice, no
/// source.
const WITHIN_DAYS: i64 = 7;
/// A day's wait of such a job weighs so many attendances: above what any duty weighs. Our choice.
const PRESSES: f64 = 2.0;

/// Where the round proposes an open job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CallPlace {
    /// The job.
    pub job: JobId,
    /// The place; `None` while it found none.
    pub place: Option<CallStand>,
    /// Why it found none.
    pub why: Option<String>,
}

/// A day, a time, an engineer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CallStand {
    /// The day.
    pub day: NaiveDate,
    /// Minutes from midnight.
    pub start: u32,
    /// Who could come.
    pub engineer: EngineerId,
    /// Of which firm.
    pub firm: FirmId,
    /// Who comes with them to work for two.
    #[serde(default)]
    pub second: Option<EngineerId>,
}

/// Whether an open job waits for a day the round can find.
pub(super) fn waits(job: &Job) -> bool {
    let open = matches!(
        job.state,
        JobState::ToPlace | JobState::Offered | JobState::Taken | JobState::NoAccess
    );
    open && job.closed_at.is_none() && job.booked.is_none()
}

/// The job as the planner sees it: what is asked of the days of its space, and of the work it is to do, holds for it too.
pub(super) fn planned_call(job: &Job, known: &Known, work: WorkAsks) -> PlannedJob {
    let tomorrow = add_days(known.today, 1);
    let held = known.held(job.space);
    let first = held.map_or(tomorrow, |day| day.max(tomorrow));
    // A clock that has run out, or runs out before anybody may come, leaves the next days; that it is past is said beside.
    let within = add_days(first, WITHIN_DAYS - 1);
    let clock = job.due_at.map(wall::day);
    let deadline = clock.map_or(within, |day| day.max(within));
    PlannedJob {
        id: job.id,
        building: job.building,
        stair: known.stair(job.space),
        window_first: tomorrow,
        deadline,
        not_before: held,
        minutes: u32::try_from(job.minutes).unwrap_or(0),
        needs: job
            .covers
            .split_whitespace()
            .filter_map(|code| code.parse::<Covers>().ok())
            .collect(),
        risk_weight: PRESSES,
        firm: job.firm,
        promise: None,
        demands: known.demands(job.space, (work, false), (first, deadline)),
    }
}

/// When its clock ran out, if it has by then.
pub fn past_its_time(job: &Job, by: NaiveDateTime) -> Option<NaiveDateTime> {
    let clock = wall::local(job.due_at?);
    (clock < by).then_some(clock)
}

/// What the standing round proposes for open jobs.
pub(super) fn calls_of(card: &RoundCard) -> Vec<CallPlace> {
    let calls = card.report.get("calls").cloned().unwrap_or_default();
    serde_json::from_value(calls).unwrap_or_default()
}

/// The same as the planner's visits.
pub(super) fn placed_calls(calls: &[CallPlace]) -> impl Iterator<Item = Placed> + '_ {
    calls.iter().filter_map(|call| {
        let stand = call.place?;
        Some(Placed {
            day: stand.day,
            engineer: stand.engineer,
            start_minute: stand.start,
            firm: stand.firm,
            job: call.job,
            second: stand.second,
        })
    })
}

/// Where a plan puts them.
pub(super) fn found_calls(prepared: &Prepared, plan: &RoundPlan) -> Vec<CallPlace> {
    let placed: BTreeMap<JobId, &Placed> = plan.placed.iter().map(|p| (p.job, p)).collect();
    let unplaced: BTreeMap<JobId, String> = plan
        .unplaced
        .iter()
        .map(|u| (u.job, why_not(&u.why, u.first_room)))
        .collect();
    prepared
        .calls
        .iter()
        .map(|job| CallPlace {
            job: job.id,
            place: placed.get(&job.id).map(|p| CallStand {
                day: p.day,
                start: p.start_minute,
                engineer: p.engineer,
                firm: p.firm,
                second: p.second,
            }),
            why: unplaced.get(&job.id).cloned(),
        })
        .collect()
}
