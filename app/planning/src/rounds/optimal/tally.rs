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

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use chrono::NaiveDate;
    use proptest::prelude::*;

    use super::super::audit::audit;
    use super::super::model::{Costs, Engineer, Job, Site};
    use super::*;

    const DAYS: i32 = 10;

    fn job(building: usize, (minutes, crew): (i32, bool), earliest: i32, costs: (i64, i64)) -> Job {
        Job {
            building,
            space: building,
            minutes,
            crew: if crew { 2 } else { 1 },
            qualifications: Vec::new(),
            earliest,
            latest: DAYS - 1,
            slots: None,
            weekdays: None,
            fixed: None,
            heat_off: false,
            daylight: false,
            delay: costs.0,
            unplaced: costs.1,
        }
    }

    fn engineer() -> Engineer {
        Engineer {
            base: 3,
            areas: vec![0],
            qualifications: Vec::new(),
            week: vec![Some([480, 1000]); 7],
            off: Vec::new(),
            short: Vec::new(),
        }
    }

    /// Jobs of three buildings with the place each has, if it has one: engineer and day.
    fn any_round() -> impl Strategy<Value = (Problem, Vec<Visit>)> {
        let one = (
            (0usize..3, 5i32..120, prop::bool::weighted(0.2), 0i32..DAYS),
            (0i64..2_000, 1_000i64..9_000),
            prop::option::weighted(0.8, (0usize..3, 0i32..DAYS)),
        );
        let ways = prop::collection::vec(1i32..60, 6);
        let prices = (1i64..90, 0i64..2_000, 0i64..50, 0i64..300);
        (prop::collection::vec(one, 1..12), ways, prices).prop_map(|(jobs, ways, prices)| {
            let mut visits: Vec<Visit> = Vec::new();
            // Jobs of one building on one engineer's day are one visit; every visit starts at a time of its own.
            let mut alone: BTreeMap<(usize, i32, usize), usize> = BTreeMap::new();
            for (j, ((building, _, crew, earliest), _, place)) in jobs.iter().enumerate() {
                let Some((engineer, day)) = place else {
                    continue;
                };
                let day = (*day).max(*earliest);
                let at = (*engineer, day, *building);
                if let Some(known) = alone.get(&at).filter(|_| !crew) {
                    visits[*known].jobs.push(j);
                    continue;
                }
                let visit = |engineer: usize| Visit {
                    engineer,
                    day,
                    start: 480 + 40 * j as i32,
                    jobs: vec![j],
                };
                if *crew {
                    visits.push(visit((engineer + 1) % 3));
                } else {
                    alone.insert(at, visits.len());
                }
                visits.push(visit(*engineer));
            }
            let way = |a: usize, b: usize| match (a.min(b), a.max(b)) {
                (a, b) if a == b => 0,
                (0, b) => ways[b - 1],
                (1, b) => ways[b + 1],
                _ => ways[5],
            };
            let jobs = jobs
                .iter()
                .map(|((building, minutes, crew, earliest), costs, _)| {
                    job(*building, (*minutes, *crew), *earliest, *costs)
                });
            let problem = Problem {
                days: DAYS,
                weekday0: 0,
                bank_holidays: Vec::new(),
                heating_season: Vec::new(),
                daylight: vec![[0, 1440]; DAYS as usize],
                setup: 10,
                costs: Costs {
                    travel: prices.0,
                    visit: prices.1,
                    over_week: prices.2,
                },
                week_level: vec![prices.3; 2],
                travel: (0..4)
                    .map(|a| (0..4).map(|b| way(a, b)).collect())
                    .collect(),
                buildings: (0..3).map(|place| Site { place, area: 0 }).collect(),
                engineers: vec![engineer(), engineer(), engineer()],
                jobs: jobs.collect(),
                week_caps: Vec::new(),
            };
            (problem, visits)
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

        /// The planner's own sum is the audit's, whatever the visits: cost, road, days and what is left out.
        #[test]
        fn the_sum_is_the_audits((problem, visits) in any_round()) {
            let key = Key {
                day0: NaiveDate::default(),
                engineers: Vec::new(),
                jobs: (0..problem.jobs.len()).map(|j| vec![j]).collect(),
                spaces: Vec::new(),
            };
            let ours = tally(&problem, &key, &visits);
            let (parts, _) = audit(&problem, &visits);
            prop_assert_eq!(ours.cost, parts.objective());
            prop_assert_eq!(ours.road * problem.costs.travel, parts.travel);
            prop_assert_eq!(ours.unplaced as usize, parts.left_out);
            let days: BTreeSet<(usize, i32)> = visits.iter().map(|v| (v.engineer, v.day)).collect();
            prop_assert_eq!(ours.days as usize, days.len());
        }
    }
}
