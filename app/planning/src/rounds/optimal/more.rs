//! What one engineer's day more would buy: found by solving again with it, in the week that is fullest.
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate, TimeDelta};
use serde::{Deserialize, Serialize};
use terms::{EngineerId, JobId};

use super::planner::{OptimalRounds, RoundProof};
use crate::rounds::{ExtraDay, Placed, PlannedJob, RoundInput, RoundPlan};

/// Of an engineer's week, what counts as full: nothing of use fits in the rest. Our choice.
const FULL_PERCENT: u32 = 90;

/// What a day more would buy.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoreTime {
    /// The day.
    pub day: ExtraDay,
    /// What the round would cost less, pence; 0 = nothing.
    pub saves: i64,
    /// Visits that would find a day and have none now.
    pub placed_more: u32,
    /// Visits that would stand on an earlier day.
    pub sooner: u32,
}

/// The week in which an engineer's hours are fullest, if any is full, as a day more in it.
pub fn fullest_week(input: &RoundInput, plan: &RoundPlan) -> Option<ExtraDay> {
    let jobs: BTreeMap<JobId, &PlannedJob> = input.jobs.iter().map(|j| (j.id, j)).collect();
    let mut sums: BTreeMap<(NaiveDate, EngineerId), u32> = BTreeMap::new();
    let way = input.hours.way_inside;
    for visit in &plan.placed {
        let minutes = jobs.get(&visit.job).map_or(0, |job| job.minutes + way);
        for who in [Some(visit.engineer), visit.second].into_iter().flatten() {
            let back = TimeDelta::days(i64::from(visit.day.weekday().num_days_from_monday()));
            *sums.entry((visit.day - back, who)).or_default() += minutes;
        }
    }
    let full = sums.into_iter().filter_map(|((week, who), minutes)| {
        let card = input.engineers.iter().find(|e| e.id == who)?;
        let firm = input.firms.iter().find(|f| f.id == card.firm)?;
        let given = card.minutes_a_week.min(firm.minutes_a_week).max(1);
        let percent = minutes * 100 / given;
        let day = ExtraDay {
            engineer: who,
            firm: firm.id,
            week,
            minutes: input.longest_day(),
        };
        (percent >= FULL_PERCENT).then_some((percent, std::cmp::Reverse(week), day))
    });
    full.max_by_key(|(percent, week, day)| (*percent, *week, day.engineer))
        .map(|(.., day)| day)
}

impl OptimalRounds<'_> {
    /// What a day more in the fullest week would buy, against a round of ours with its proof; `None` where no week is
    /// full.
    pub fn more_time(
        &self,
        input: &RoundInput,
        (plan, proof): (&RoundPlan, &RoundProof),
    ) -> Option<MoreTime> {
        let day = fullest_week(input, plan)?;
        let mut richer = input.clone();
        richer.extra.push(day);
        let (with, proven) = self.prove(&richer, &mut |_| ());
        let cost = proven?.ours.cost;
        let before: BTreeMap<JobId, &Placed> = plan.placed.iter().map(|p| (p.job, p)).collect();
        let sooner = with.placed.iter().filter(|p| {
            let was = before.get(&p.job);
            was.is_some_and(|was| p.day < was.day)
        });
        let fewer = plan.unplaced.len().saturating_sub(with.unplaced.len());
        // The day may stand unused: then the round of now is as good.
        let saves = (proof.ours.cost - cost).max(0);
        Some(MoreTime {
            day,
            saves,
            placed_more: if saves > 0 { fewer as u32 } else { 0 },
            sooner: if saves > 0 { sooner.count() as u32 } else { 0 },
        })
    }
}
