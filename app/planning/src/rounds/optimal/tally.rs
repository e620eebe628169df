//! What visits come to, by the objective of the model: the planner's own sum. The audit makes another.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::key::Key;
use super::model::{Problem, Visit};

/// What a round comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// All of it, pence at the prices of the round.
    pub cost: i64,
    /// Minutes on the road.
    pub road: i64,
    /// Engineers' days.
    pub days: u32,
    /// Visits without a day.
    pub unplaced: u32,
}

/// Sums visits up.
pub(super) fn tally(problem: &Problem, key: &Key, visits: &[Visit]) -> Tally {
    let mut days: BTreeMap<(usize, i32), Vec<&Visit>> = BTreeMap::new();
    let mut weeks = vec![0i64; problem.week_level.len()];
    let mut done: BTreeSet<usize> = BTreeSet::new();
    let mut cost = problem.costs.visit * visits.len() as i64;
    for visit in visits {
        days.entry((visit.engineer, visit.day))
            .or_default()
            .push(visit);
        let minutes: i32 = visit.jobs.iter().map(|j| problem.jobs[*j].minutes).sum();
        if let Some(week) = weeks.get_mut((visit.day / 7) as usize) {
            *week += i64::from(problem.setup + minutes);
        }
        for job in visit.jobs.iter().filter(|job| done.insert(**job)) {
            let card = &problem.jobs[*job];
            cost += card.delay * i64::from(visit.day - card.earliest);
        }
    }
    let mut road = 0;
    for ((engineer, _), visits) in &mut days {
        visits.sort_by_key(|visit| visit.start);
        let base = problem.engineers[*engineer].base;
        let mut at = base;
        for visit in &*visits {
            let place = problem.buildings[problem.jobs[visit.jobs[0]].building].place;
            road += i64::from(problem.travel[at][place]);
            at = place;
        }
        road += i64::from(problem.travel[at][base]);
    }
    let over = weeks.iter().zip(&problem.week_level);
    cost += problem.costs.over_week * over.map(|(week, level)| (week - level).max(0)).sum::<i64>();
    let left = problem.jobs.iter().enumerate();
    cost += left
        .filter(|(j, _)| !done.contains(j))
        .map(|(_, job)| job.unplaced)
        .sum::<i64>();
    Tally {
        cost: cost + problem.costs.travel * road,
        road,
        days: days.len() as u32,
        unplaced: key.without(visits) as u32,
    }
}
