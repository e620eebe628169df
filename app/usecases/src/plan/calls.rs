//! Open jobs that have no day: the round finds each a time with the fewest moves of others, and proposes it. It is kept in the
//! round's report; a person books it.
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate, NaiveDateTime};
use inspection::calendar::{add_days, days_between};
use planning::RoundPlan;
use planning::rounds::{Placed, PlannedJob};
use serde::{Deserialize, Serialize};
use store::jobs::Job;
use store::rounds::RoundCard;
use terms::{Covers, EngineerId, FirmId, JobId, JobKind, JobState};

use super::demands::WorkAsks;
use super::known::{Known, NOTICE_DAYS};
use super::prepared::Prepared;
use super::words::why_not;
use crate::work::wall;

/// Days a fault is seen to within where no clock says when, or its clock can no longer be met. Our choice: common practice,
/// no source.
const WITHIN_DAYS: i64 = 7;
/// Days in which work that is no fault is done where no day is named. Our choice: common practice, no source.
const UNHURRIED_DAYS: i64 = 28;
/// A day's wait of a fault weighs so many attendances: above what any duty weighs. Our choice.
pub(super) const PRESSES: f64 = 2.0;
/// Of other work past its day, or without one: as much as the riskiest unit's service, below what presses. Our choice.
const SOON: f64 = 0.1;

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

/// What an open job is beside its card.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct CallAsks {
    /// What its work asks of the day.
    pub work: WorkAsks,
    /// The last day of the duties it is to meet.
    pub duties_last: Option<NaiveDate>,
    /// It follows a programme: it has its year, and heat goes off for it.
    pub of_plan: bool,
}

/// An open job for the planner.
#[derive(Clone, Debug)]
pub(super) struct Call {
    /// The job, with its own last day.
    pub job: PlannedJob,
    /// The day by which it is sought where its own last day cannot be kept.
    pub else_by: NaiveDate,
}

/// The job as the planner sees it: what is asked of the days of its space, and of the work it is to do, holds for it too. A
/// job whose own day can still come keeps it; one that is past its day has the next ones, and that it is past is said beside.
pub(super) fn planned_call(job: &Job, known: &Known, asks: CallAsks) -> Call {
    let begins = known.horizon.first();
    let clock = job.due_at.map(wall::day).or(asks.duties_last);
    // Of a programme nothing comes before its year.
    let year = clock.filter(|_| asks.of_plan);
    let year = year.and_then(|day| NaiveDate::from_ymd_opt(day.year(), 1, 1));
    let opens = year.map_or(begins, |day| day.max(begins));
    let fault = job.kind == JobKind::Repair;
    // What can wait is not done before somebody was told of it.
    let notice = add_days(known.today, NOTICE_DAYS);
    let told = !fault && clock.is_none_or(|day| days_between(notice, day) >= NOTICE_DAYS);
    let not_before = told.then_some(notice).max(known.held(job.space));
    let first = not_before.map_or(opens, |day| day.max(opens));
    let within = if fault { WITHIN_DAYS } else { UNHURRIED_DAYS };
    let soon = add_days(first, within - 1);
    let in_time = clock.filter(|day| *day >= first);
    let deadline = in_time.unwrap_or(soon);
    let work = WorkAsks {
        heat_off: asks.work.heat_off || asks.of_plan,
        ..asks.work
    };
    Call {
        job: PlannedJob {
            id: job.id,
            building: job.building,
            stair: known.stair(job.space),
            window_first: opens,
            deadline,
            not_before,
            minutes: u32::try_from(job.minutes).unwrap_or(0),
            needs: job
                .covers
                .split_whitespace()
                .filter_map(|code| code.parse::<Covers>().ok())
                .collect(),
            risk_weight: match (fault, in_time) {
                (true, _) => PRESSES,
                (false, Some(_)) => 0.0,
                (false, None) => SOON,
            },
            firm: job.firm,
            promise: None,
            demands: known.demands(job.space, (work, false), (first, deadline)),
        },
        else_by: deadline.max(soon),
    }
}

/// When its clock ran out, if it has by then.
pub fn past_its_time(job: &Job, by: NaiveDateTime) -> Option<NaiveDateTime> {
    let clock = wall::local(job.due_at?);
    (clock < by).then_some(clock)
}

/// What the standing round proposes for open jobs.
pub(super) fn calls_of(card: &RoundCard) -> Vec<CallPlace> {
    listed(card, "calls")
}

/// Who could come in the place of somebody who is away, by the standing round.
pub(super) fn stand_ins_of(card: &RoundCard) -> Vec<CallPlace> {
    listed(card, "stand_ins")
}

fn listed(card: &RoundCard, what: &str) -> Vec<CallPlace> {
    let calls = card.report.get(what).cloned().unwrap_or_default();
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
