//! What one engineer's day more would buy: found by solving again with it, in the firm's week that
//! is fullest.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use terms::{FirmId, JobId};

use super::planner::{OptimalRounds, RoundProof};
use crate::rounds::{
    ExtraDay, Placed, PlannedEngineer, RoundInput, RoundPlan, WeekLoad, firm_weeks, fullest,
    stops_of, week_of,
};

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

/// The firm's week that is fullest, if it is full, as a day more in it: of whoever of the firm has least left of their own
/// week.
pub fn fullest_week(input: &RoundInput, plan: &RoundPlan) -> Option<ExtraDay> {
    let stops = stops_of(input, plan);
    let given = |firm: FirmId, week: NaiveDate| -> i64 {
        let card = input.firms.iter().find(|f| f.id == firm);
        let extra = input.extra.iter();
        let extra = extra.filter(|e| e.firm == firm && e.week == week);
        let stated = card.map_or(0, |f| f.minutes_a_week);
        i64::from(stated) + extra.map(|e| i64::from(e.minutes)).sum::<i64>()
    };
    let way = input.hours.way_inside;
    let week = fullest(&firm_weeks(&stops, way, &given)).filter(WeekLoad::is_full)?;
    let mine = input.engineers.iter().filter(|e| e.firm == week.firm);
    let share = |who: &&PlannedEngineer| {
        let here = stops.iter().filter(|s| week_of(s.day) == week.week);
        let own = here.filter(|s| s.engineer == who.id || s.second == Some(who.id));
        let minutes: u32 = own.map(|s| s.minutes + way).sum();
        (minutes * 100 / who.minutes_a_week.max(1), who.id)
    };
    let who = mine.max_by_key(share)?;
    Some(ExtraDay {
        engineer: who.id,
        firm: week.firm,
        week: week.week,
        minutes: input.longest_day(),
    })
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
