//! Planning again after a change with the fewest moves: ruin and recreate on points instead of pence.
//!
//! points = drop·(jobs left out) + move·(jobs at another day or start) + swap·(jobs at the same day and
//! start with another engineer). What was done before day `now` stays; nothing new goes there. A visit
//! that stays is pinned to its minute, one that moves may start when it likes. Of plans with equal points
//! the one that costs less is taken. Source: `reference/planning/README.md` §3.
use super::diary::Diary;
use super::forced::forced_points;
use super::mend::Mend;
use super::model::{Disruption, Visit};
use super::tables::Tables;
use crate::Allowance;
use crate::dice::Dice;

/// Trials without a better plan after which the search ends.
const PATIENCE: u32 = 30_000;
/// Trials after which the search goes back to the best plan and tries another way.
const BACK_TO_BEST: u32 = 1_500;
/// Temperature of the annealing, in moves: making room for a job may take several before it pays.
const WARMTH: f64 = 1.0;

/// When and by whom a job was to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Was {
    /// Day.
    pub day: usize,
    /// Minute.
    pub start: i32,
    /// One engineer, or two, ascending.
    pub engineers: Vec<usize>,
}

/// The new plan and what is proven about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mended {
    /// The whole new plan.
    pub visits: Vec<Visit>,
    /// Its points.
    pub points: i64,
    /// No plan has fewer points.
    pub at_least: i64,
    /// Trials made.
    pub trials: u32,
}

/// Mends the plan.
pub fn replan(case: &Disruption, seed: u64, allowance: &dyn Allowance) -> Mended {
    let tables = Tables::of(&case.instance);
    let now = usize::try_from(case.now).unwrap_or(0);
    let mut mend = Mend {
        diary: Diary::empty(&tables),
        was: was(&case.before, case.instance.jobs.len()),
        costs: case.costs.clone(),
        now,
    };
    mend.keep(&case.before);
    let at_least = forced_points(&tables, &mend.was, &case.costs, now);
    let mut dice = Dice::new(seed);
    mend.recreate(&mut dice);
    let mut points = mend.points();
    let mut best = (points, mend.diary.cost, mend.diary.clone());
    let (mut trials, mut stale) = (0, 0);
    let warmth = WARMTH * case.costs.shift as f64;
    while best.0 > at_least && stale < PATIENCE && !allowance.spent() {
        trials += 1;
        stale += 1;
        if stale % BACK_TO_BEST == 0 {
            mend.diary = best.2.clone();
            points = best.0;
        }
        mend.diary.begin();
        mend.ruin(&mut dice);
        mend.recreate(&mut dice);
        let fresh = mend.points();
        if (fresh - points) as f64 > -warmth * dice.unit().max(1e-300).ln() {
            mend.diary.take_back();
            continue;
        }
        points = fresh;
        if (points, mend.diary.cost) < (best.0, best.1) {
            if points < best.0 {
                stale = 0;
            }
            best = (points, mend.diary.cost, mend.diary.clone());
        }
    }
    Mended {
        visits: best.2.visits(),
        points: best.0,
        at_least,
        trials,
    }
}

fn was(before: &[Visit], jobs: usize) -> Vec<Option<Was>> {
    let mut out: Vec<Option<Was>> = vec![None; jobs];
    for visit in before {
        for job in visit.jobs.iter().filter(|j| **j < jobs) {
            let was = out[*job].get_or_insert(Was {
                day: visit.day as usize,
                start: visit.start,
                engineers: Vec::new(),
            });
            was.engineers.push(visit.engineer);
            was.engineers.sort_unstable();
        }
    }
    out
}
