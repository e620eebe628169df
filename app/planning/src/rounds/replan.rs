//! Planning again after the world changed: what still holds stays.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use terms::JobId;

use super::diary::Slot;
use super::plain::Work;
use super::{Placed, RoundInput, RoundPlan};

/// A visit that moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moved {
    /// The job.
    pub job: JobId,
    /// Where it was.
    pub from: Placed,
    /// Where it is now; `None` = it found no day.
    pub to: Option<Placed>,
}

/// The plan after a change.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Replan {
    /// The whole new plan.
    pub plan: RoundPlan,
    /// Visits that are no longer as they were, by job; jobs that are gone are not counted.
    pub moved: Vec<Moved>,
    /// Visits exactly as they were.
    pub stayed: u32,
}

/// Keeps promised visits, then every visit of before that still obeys the rules, then places the rest.
pub(super) fn replan(input: &RoundInput, before: &RoundPlan) -> Replan {
    let mut work = Work::of(input);
    work.keep_promises();
    let place: BTreeMap<JobId, usize> = input
        .jobs
        .iter()
        .enumerate()
        .map(|(i, job)| (job.id, i))
        .collect();
    for visit in &before.placed {
        let Some(&job) = place.get(&visit.job) else {
            continue;
        };
        if let Some(slot) = still_holds(&work, job, visit) {
            work.settle(slot, job);
        }
    }
    work.place_the_rest();
    moves(input, before, work.finish())
}

/// What the new plan moved.
pub(super) fn moves(input: &RoundInput, before: &RoundPlan, plan: RoundPlan) -> Replan {
    let wanted: BTreeSet<JobId> = input.jobs.iter().map(|job| job.id).collect();
    let now: BTreeMap<JobId, Placed> = plan.placed.iter().map(|v| (v.job, *v)).collect();
    let mut moved = Vec::new();
    let mut stayed = 0;
    for visit in &before.placed {
        if !wanted.contains(&visit.job) {
            continue;
        }
        let to = now.get(&visit.job).copied();
        if to == Some(*visit) {
            stayed += 1;
        } else {
            moved.push(Moved {
                job: visit.job,
                from: *visit,
                to,
            });
        }
    }
    moved.sort_by_key(|m| m.job);
    Replan {
        plan,
        moved,
        stayed,
    }
}

/// The visit's slot, if it is not written in yet and keeps every rule where it stands.
pub(super) fn still_holds(work: &Work<'_>, job: usize, visit: &Placed) -> Option<Slot> {
    let diary = &work.diary;
    let (input, what) = (diary.input, &diary.input.jobs[job]);
    let engineer = diary.engineer(visit.engineer)?;
    let who = &input.engineers[engineer];
    let inside =
        (what.first_day().max(input.from)..=what.deadline.min(input.until)).contains(&visit.day);
    let free = diary.slots[job].is_none() && who.firm == visit.firm;
    if !inside || !free || !diary.may_come(who, what) {
        return None;
    }
    let second = match visit.second {
        None => None,
        Some(id) => Some(diary.engineer(id)?),
    };
    let slot = Slot {
        engineer,
        day: visit.day,
        start: visit.start_minute,
        second,
    };
    diary.holds(slot, job).then_some(slot)
}
