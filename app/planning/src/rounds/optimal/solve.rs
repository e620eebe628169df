//! Solves a whole problem: ruin and recreate for the plan, prices for the bound, exact where it is small.
use serde::{Deserialize, Serialize};

use super::anneal::{Search, anneal};
use super::diary::Diary;
use super::exact::exact;
use super::least::least;
use super::model::{Problem, Visit};
use super::prices::priced;
use super::recreate::recreate;
use super::tables::Tables;
use super::why::{LeftOut, why};
use crate::dice::Dice;
use crate::{Allowance, Part};

/// Iterations when nobody limits the time: so many, and so many a job.
const ITERATIONS: (u64, u64) = (20_000, 400);
/// Steps of the bound.
const STEPS: u32 = 2_000;
/// Jobs up to which the exact master is tried.
const SMALL: usize = 70;

/// How to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Seed of every choice.
    pub seed: u64,
    /// Most iterations of the search; `None` = as many as the allowance gives.
    pub iterations: Option<u64>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            iterations: None,
        }
    }
}

/// How the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// No plan costs less.
    Optimal,
    /// A plan with a proven gap.
    WithinGap,
}

/// The plan and what is proven about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// The visits.
    pub visits: Vec<Visit>,
    /// What they cost, pence.
    pub cost: i64,
    /// No plan costs less, pence.
    pub bound: i64,
    /// The plain bound LB0, pence.
    pub least: f64,
    /// Part of LB0 for visits and for jobs nobody can do: what no planner can do anything about, pence.
    pub unavoidable: f64,
    /// Jobs without a day, with the reason.
    pub left_out: Vec<(usize, LeftOut)>,
    /// How the search ended.
    pub verdict: Verdict,
    /// Iterations made.
    pub iterations: u64,
}

impl Answer {
    /// (cost − bound) / cost.
    pub fn gap(&self) -> f64 {
        (self.cost - self.bound) as f64 / (self.cost as f64).max(1.0)
    }

    /// (cost − bound) / (cost − unavoidable).
    pub fn avoidable_gap(&self) -> f64 {
        let part = (self.cost as f64 - self.unavoidable).max(1.0);
        (self.cost - self.bound) as f64 / part
    }
}

/// Whole pence above a proven bound: objectives are whole pence.
fn whole_pence(bound: f64) -> i64 {
    (bound - 1e-3).ceil() as i64
}

/// Solves the problem. `told` hears of progress now and then: share of the search gone, best cost.
pub fn solve(
    problem: &Problem,
    settings: Settings,
    allowance: &dyn Allowance,
    told: &mut dyn FnMut(f64, i64),
) -> Answer {
    let tables = Tables::of(problem);
    let least = least(&tables);
    let mut bound = least.value;
    let mut diary = Diary::empty(&tables);
    recreate(&mut diary, &mut Dice::new(settings.seed));
    let jobs = problem.jobs.len() as u64;
    // Small cases are settled by the master: a short search gives it something to beat.
    // It knows nothing of hours given a week, so it is left aside where there are such.
    let small = problem.jobs.len() <= SMALL && problem.week_caps.is_empty();
    let usual = if allowance.seconds_left().is_finite() && !small {
        u64::MAX
    } else {
        ITERATIONS.0 + ITERATIONS.1 * jobs
    };
    let share = if small { 0.15 } else { 0.8 };
    let search = Search {
        seed: settings.seed,
        iterations: settings.iterations.unwrap_or(usual),
        ..Search::default()
    };
    let time = Part::share(allowance, share);
    let iterations = anneal(&mut diary, &search, whole_pence(bound), &time, told);
    if whole_pence(bound) < diary.cost {
        let time = Part::share(allowance, if small { 0.1 } else { 1.0 });
        bound = priced(&tables, &least, diary.cost, STEPS, &time).value;
    }
    if small && whole_pence(bound) < diary.cost {
        bound = bound.max(exact(&mut diary, allowance));
    }
    let left_out = diary.absent.iter().map(|j| (*j, why(&tables, *j)));
    let bound = whole_pence(bound).min(diary.cost);
    Answer {
        visits: diary.visits(),
        cost: diary.cost,
        bound,
        least: least.value,
        unavoidable: least.visits_part,
        left_out: left_out.collect(),
        verdict: if bound >= diary.cost {
            Verdict::Optimal
        } else {
            Verdict::WithinGap
        },
        iterations,
    }
}
