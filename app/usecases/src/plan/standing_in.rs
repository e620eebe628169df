//! Promised visits of somebody who is away: whether another could come at the promised time. It is proposed; whoever rings the
//! resident books it.
use planning::RoundPlan;
use planning::rounds::{Demands, PlannedEngineer, PlannedJob};
use store::jobs::Job;
use terms::{Covers, JobId, JobState};
use uuid::Uuid;

use super::calls::{CallPlace, CallStand, PRESSES};
use super::former::{Horizon, booked};
use super::known::Known;
use super::words::why_not;

/// A promised visit for which somebody else is sought.
#[derive(Clone, Debug)]
pub(super) struct StandIn {
    /// The booked job.
    pub of: JobId,
    /// The same work at the same time, for whoever can.
    pub job: PlannedJob,
}

/// The booked jobs ahead whose engineer is away on their day; work for two is left to a person.
pub(super) fn stand_ins(
    open: &[Job],
    (engineers, known): (&[PlannedEngineer], &Known),
    horizon: Horizon,
) -> Vec<StandIn> {
    let mut found = Vec::new();
    for job in open.iter().filter(|job| job.state == JobState::Booked) {
        let Some((promise, minutes)) = booked(job) else {
            continue;
        };
        let is_away =
            |who: &PlannedEngineer| who.id == promise.engineer && who.away.contains(&promise.day);
        if !engineers.iter().any(is_away) || !horizon.is_ahead(promise.day, promise.start_minute) {
            continue;
        }
        // The firm that promised sends another of its people, where it has one that day.
        let mates = engineers
            .iter()
            .any(|who| who.firm == promise.firm && !who.away.contains(&promise.day));
        found.push(StandIn {
            of: job.id,
            job: PlannedJob {
                id: JobId(Uuid::from_u128(!job.id.0.as_u128())),
                building: job.building,
                stair: known.stair(job.space),
                window_first: promise.day,
                deadline: promise.day,
                not_before: None,
                minutes,
                needs: job
                    .covers
                    .split_whitespace()
                    .filter_map(|code| code.parse::<Covers>().ok())
                    .collect(),
                risk_weight: PRESSES,
                firm: mates.then_some(promise.firm),
                promise: None,
                demands: Demands {
                    space: Some(job.space),
                    slots: vec![(promise.start_minute, promise.start_minute + minutes)],
                    ..Demands::default()
                },
            },
        });
    }
    found
}

/// Who could come, by a plan.
pub(super) fn found_stand_ins(stand_ins: &[StandIn], plan: &RoundPlan) -> Vec<CallPlace> {
    let found = stand_ins.iter().map(|one| {
        let placed = plan.placed.iter().find(|p| p.job == one.job.id);
        let without = plan.unplaced.iter().find(|u| u.job == one.job.id);
        CallPlace {
            job: one.of,
            place: placed.map(|p| CallStand {
                day: p.day,
                start: p.start_minute,
                engineer: p.engineer,
                firm: p.firm,
                second: None,
            }),
            why: without.map(|u| why_not(&u.why, u.first_room)),
        }
    });
    found.collect()
}
