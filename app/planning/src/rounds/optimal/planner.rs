//! The optimiser behind the rounds' seam: seeded, stopped at any time with its bound, and judged beside
//! services in date order.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use terms::JobId;

use super::asked::{Prices, problem_of};
use super::least::least;
use super::model::{Disruption, MoveCosts};
use super::plain::due_order;
use super::prices::priced;
use super::replan::replan;
use super::solve::{Settings, Verdict, solve};
use super::tables::Tables;
use super::tally::{Tally, tally};
use crate::Allowance;
use crate::rounds::plain::Work;
use crate::rounds::replan::{moves, still_holds};
use crate::rounds::{Placed, PlainRounds, Replan, RoundInput, RoundPlan, RoundPlanner};

/// Points of a re-plan: a visit lost, moved, or by somebody else at its time.
const MOVES: MoveCosts = MoveCosts {
    drop: 10_000,
    shift: 10,
    swap: 1,
};

/// Most iterations of the search: so many, and so many a job. A small round is settled in a blink; a large one
/// ends with its allowance.
const ITERATIONS: (u64, u64) = (20_000, 2_000);
/// Steps of the bound when a standing round is judged.
const STEPS: u32 = 200;

/// What is proven about a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundProof {
    /// The round.
    pub ours: Tally,
    /// The same visits, each on the first day by deadline that has room.
    pub date_order: Tally,
    /// No round for these visits costs less, pence.
    pub at_least: i64,
    /// Part of it for doors and for visits nobody can make: no planner can do anything about it, pence.
    pub unavoidable: i64,
    /// Nothing better exists.
    pub best: bool,
}

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Share of it gone, 0 to 1.
    pub gone: f64,
    /// Of the cost of the best round so far, the share that a better one could save at most.
    pub gap: f64,
}

/// The optimiser.
#[derive(Clone, Copy)]
pub struct OptimalRounds<'a> {
    /// How long.
    pub allowance: &'a dyn Allowance,
    /// Seed of every choice.
    pub seed: u64,
}

impl OptimalRounds<'_> {
    /// A round from nothing but promises, with what is proven about it. `told` hears how far the search is.
    pub fn prove(
        &self,
        input: &RoundInput,
        told: &mut dyn FnMut(Progress),
    ) -> (RoundPlan, Option<RoundProof>) {
        let (problem, key) = problem_of(input, &Prices::default());
        if problem.jobs.is_empty() || problem.engineers.is_empty() {
            return (PlainRounds.plan(input), None);
        }
        let settings = Settings {
            seed: self.seed,
            iterations: Some(ITERATIONS.0 + ITERATIONS.1 * problem.jobs.len() as u64),
        };
        // The plain bound is at hand from the first; the better one is sought when the round is.
        let bound = least(&Tables::of(&problem)).value;
        let answer = solve(&problem, settings, self.allowance, &mut |gone, cost| {
            let gap = (cost as f64 - bound).max(0.0) / (cost as f64).max(1.0);
            told(Progress { gone, gap });
        });
        let plan = settled(input, &key.placed(input, &answer.visits, &[]));
        let ours = tally(&problem, &key, &key.visits(input, &plan.placed));
        let proof = RoundProof {
            ours,
            date_order: tally(&problem, &key, &due_order(&problem)),
            at_least: answer.bound.min(ours.cost),
            unavoidable: answer.unavoidable.floor() as i64,
            best: answer.verdict == Verdict::Optimal && ours.cost <= answer.bound,
        };
        (plan, Some(proof))
    }

    /// What is proven about a round that stands, within the allowance.
    pub fn judge(&self, input: &RoundInput, plan: &RoundPlan) -> Option<RoundProof> {
        let (problem, key) = problem_of(input, &Prices::default());
        if problem.jobs.is_empty() || problem.engineers.is_empty() {
            return None;
        }
        let ours = tally(&problem, &key, &key.visits(input, &plan.placed));
        let tables = Tables::of(&problem);
        let least = least(&tables);
        let bound = priced(&tables, &least, ours.cost, STEPS, self.allowance).value;
        let at_least = ((bound - 1e-3).ceil() as i64).min(ours.cost);
        Some(RoundProof {
            ours,
            date_order: tally(&problem, &key, &due_order(&problem)),
            at_least,
            unavoidable: least.visits_part.floor() as i64,
            best: at_least >= ours.cost,
        })
    }

    /// The round of before with the fewest moves; `true` when no round moves less.
    pub fn mend(&self, input: &RoundInput, before: &RoundPlan) -> (Replan, bool) {
        let (instance, key) = problem_of(input, &Prices::default());
        if instance.jobs.is_empty() || instance.engineers.is_empty() {
            let found = PlainRounds.replan(input, before);
            let fewest = found.moved.is_empty();
            return (found, fewest);
        }
        let case = Disruption {
            now: key.day(input.from),
            costs: MOVES,
            before: key.visits(input, &before.placed),
            instance,
        };
        let mended = replan(&case, self.seed, self.allowance);
        let visits = key.placed(input, &mended.visits, &before.placed);
        let there: BTreeSet<Placed> = visits.iter().copied().collect();
        let wanted: BTreeSet<JobId> = input.jobs.iter().map(|job| job.id).collect();
        let gone = |was: &&Placed| wanted.contains(&was.job) && !there.contains(was);
        let searched = before.placed.iter().filter(gone).count();
        let found = moves(input, before, settled(input, &visits));
        let fewest = mended.points <= mended.at_least && found.moved.len() <= searched;
        // Where room is short the search may change one visit for another and gain nothing: then what can stay stays.
        let kept = PlainRounds.replan(input, before);
        if kept.moved.len() <= found.moved.len()
            && kept.plan.unplaced.len() <= found.plan.unplaced.len()
        {
            let still = kept.moved.is_empty();
            return (kept, fewest || still);
        }
        (found, fewest)
    }
}

impl RoundPlanner for OptimalRounds<'_> {
    fn plan(&self, input: &RoundInput) -> RoundPlan {
        self.prove(input, &mut |_| ()).0
    }

    fn replan(&self, input: &RoundInput, before: &RoundPlan) -> Replan {
        self.mend(input, before).0
    }
}

/// The optimiser's visits written into the diary that knows every rule; what does not fit there, and what
/// was left out, is tried once more, and has its reason if it stays out.
fn settled(input: &RoundInput, visits: &[Placed]) -> RoundPlan {
    let mut work = Work::of(input);
    work.keep_promises();
    let places: BTreeMap<JobId, usize> = input
        .jobs
        .iter()
        .enumerate()
        .map(|(place, job)| (job.id, place))
        .collect();
    for placed in visits {
        if let Some(job) = places.get(&placed.job)
            && let Some(slot) = still_holds(&work, *job, placed)
        {
            work.settle(slot, *job);
        }
    }
    work.place_the_rest();
    work.finish()
}
