//! Solves a whole problem: part by part, each by the method its size asks for.
use serde::{Deserialize, Serialize};

use super::Settings;
use super::estate::{Block, Estate};
use super::model::{Plan, Problem};
use super::neighbourhood::improve;
use super::outcome::outcome;
use super::price_and_branch::price_and_branch;
use super::whole::solve_whole;
use crate::solver::{Effort, Ending};
use crate::{Allowance, Part};

/// Units up to which a part is one model from the start.
const WHOLE: usize = 130;
/// Units up to which one model is tried after price-and-branch.
const WHOLE_AFTER: usize = 420;

/// How the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// No plan costs less.
    Optimal,
    /// A plan with a proven gap; the allowance or the patience ended.
    WithinGap,
    /// No plan keeps every limit: ask for the clash.
    Infeasible,
    /// No plan was found in time; there may be one.
    NothingFound,
}

/// A plan and what is proven about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// The plan; `None` without one.
    pub plan: Option<Plan>,
    /// Its cost, pence.
    pub cost: i64,
    /// No plan costs less, pence.
    pub bound: i64,
    /// No planner can do anything about this part of it, pence.
    pub unavoidable: i64,
    /// How the search ended.
    pub verdict: Verdict,
}

impl Answer {
    /// (cost − bound) / cost.
    pub fn gap(&self) -> f64 {
        (self.cost - self.bound) as f64 / (self.cost as f64).abs().max(1.0)
    }

    /// (cost − bound) / (cost − unavoidable): the gap of the part a planner can do something about.
    pub fn avoidable_gap(&self) -> f64 {
        let part = (self.cost - self.unavoidable).max(1);
        (self.cost - self.bound) as f64 / part as f64
    }
}

/// One part's result.
struct PartAnswer {
    bound: f64,
    found: bool,
    infeasible: bool,
    plan: Plan,
}

/// Solves the problem.
pub fn solve(problem: &Problem, settings: Settings, allowance: &dyn Allowance) -> Answer {
    let estate = Estate::of(problem);
    let blocks = estate.blocks();
    let mut plan: Plan = vec![None; problem.units.len()];
    let (mut bound, mut found, mut infeasible) = (0i64, true, false);
    let parts = estate.components();
    let size = |part: &Block| part.iter().map(|b| estate.units[*b].len()).sum::<usize>();
    let mut left: usize = parts.iter().map(size).sum();
    for part in &parts {
        let units = size(part);
        // Parts get time by their size, and what earlier ones did not use; a small one, which mostly ends early, may take
        // twice that. A large one takes all it gets, so that twice would leave nothing to the last of three.
        let more = if units <= WHOLE_AFTER { 2.0 } else { 1.0 };
        let share = (more * units as f64 / left.max(1) as f64).min(1.0);
        let time = Part::share(allowance, share);
        left -= units;
        let inside = |block: &&Block| part.binary_search(&block[0]).is_ok();
        let mine: Vec<Block> = blocks.iter().filter(inside).cloned().collect();
        let answer = solve_part(&estate, part, mine, settings, &time);
        infeasible |= answer.infeasible;
        found &= answer.found;
        if answer.found {
            for u in part.iter().flat_map(|b| &estate.units[*b]) {
                plan[*u] = answer.plan[*u];
            }
        }
        // Every cost is whole pence and the solver's tolerance is far below half a penny.
        let pence = (answer.bound * 100.0 - 0.5).ceil();
        bound = bound.saturating_add(if pence.is_finite() { pence as i64 } else { 0 });
    }
    let everything: Vec<usize> = (0..problem.buildings.len()).collect();
    let cost = outcome(&estate, &everything, &plan).cost;
    let unavoidable = problem.unavoidable();
    let verdict = match (infeasible, found) {
        (true, _) => Verdict::Infeasible,
        (_, false) => Verdict::NothingFound,
        _ if cost <= bound => Verdict::Optimal,
        _ => Verdict::WithinGap,
    };
    let there = matches!(verdict, Verdict::Optimal | Verdict::WithinGap);
    Answer {
        plan: there.then_some(plan),
        cost: if there { cost } else { 0 },
        bound: if there { bound.min(cost) } else { bound },
        unavoidable,
        verdict,
    }
}

fn solve_part(
    estate: &Estate<'_>,
    part: &[usize],
    blocks: Vec<Block>,
    settings: Settings,
    allowance: &dyn Allowance,
) -> PartAnswer {
    let units: usize = part.iter().map(|b| estate.units[*b].len()).sum();
    let mut answer = PartAnswer {
        bound: f64::NEG_INFINITY,
        found: false,
        infeasible: false,
        plan: vec![None; estate.problem.units.len()],
    };
    if units <= WHOLE || blocks.len() == 1 {
        in_one(estate, part, allowance, &mut answer);
        return answer;
    }
    let first = if units <= WHOLE_AFTER { 0.3 } else { 0.65 };
    let shared = price_and_branch(
        estate,
        blocks.clone(),
        settings,
        &Part::share(allowance, first),
    );
    answer.bound = shared.bound;
    answer.infeasible = shared.infeasible;
    if let Some(plan) = shared.plan {
        answer.plan = plan;
        answer.found = true;
        let share = if units <= WHOLE_AFTER { 0.2 } else { 1.0 };
        let floor = (shared.bound * 100.0).ceil() as i64;
        improve(
            estate,
            &blocks,
            settings,
            floor,
            &Part::share(allowance, share),
            &mut answer.plan,
        );
    }
    let unfinished = !answer.infeasible && (units <= WHOLE_AFTER || !answer.found);
    if unfinished && !allowance.spent() {
        in_one(estate, part, allowance, &mut answer);
    }
    answer
}

/// One model for the part, from the plan found so far if there is one.
fn in_one(estate: &Estate<'_>, part: &[usize], allowance: &dyn Allowance, answer: &mut PartAnswer) {
    let mut plan = answer.plan.clone();
    let effort = Effort::exact(allowance.seconds_left());
    let whole = solve_whole(estate, part, effort, answer.found, &mut plan);
    answer.bound = answer.bound.max(whole.bound);
    answer.infeasible |= whole.ending == Ending::Infeasible;
    let cost = |plan: &Plan| outcome(estate, part, plan).cost;
    if whole.found && (!answer.found || cost(&plan) < cost(&answer.plan)) {
        answer.plan = plan;
        answer.found = true;
    }
}
