//! Brings a plan whose blocks are each good back inside the shared funds by the cheapest single moves.
//!
//! A move gives one unit (or one set done together) another year and option, or none. Moves that lower
//! what is missing are made in the order of what they cost for each pound they bring, block by block, a
//! block's best move computed afresh when its turn comes.
use std::collections::BinaryHeap;

use super::columns::outcome_holds;
use super::estate::{Block, Estate};
use super::model::Plan;
use super::outcome::{Outcome, outcome};
use super::shared::Ledger;

/// One move: the units with their new entries.
type Entries = Vec<(usize, Option<(usize, usize)>)>;

struct Offer {
    ratio: f64,
    block: usize,
    version: u32,
    entries: Entries,
}

impl PartialEq for Offer {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Offer {}

impl PartialOrd for Offer {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Offer {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        // The heap gives the largest: the smallest ratio, then the first block.
        other
            .ratio
            .total_cmp(&self.ratio)
            .then(other.block.cmp(&self.block))
    }
}

struct Repair<'a> {
    estate: &'a Estate<'a>,
    blocks: &'a [Block],
    ledger: Ledger,
    plan: Plan,
    outcomes: Vec<Outcome>,
}

/// The plan inside the shared `funds`, or `None` where single moves do not get there.
pub fn repair(estate: &Estate<'_>, blocks: &[Block], funds: &[usize], plan: &Plan) -> Option<Plan> {
    let outcomes: Vec<Outcome> = blocks.iter().map(|b| outcome(estate, b, plan)).collect();
    let mut ledger = Ledger::empty(estate, funds);
    for out in &outcomes {
        ledger.book(estate, &out.paid, 1);
    }
    let mut work = Repair {
        estate,
        blocks,
        ledger,
        plan: plan.clone(),
        outcomes,
    };
    let mut version = vec![0u32; blocks.len()];
    let mut heap: BinaryHeap<Offer> = BinaryHeap::new();
    let mut short = work.ledger.short(estate);
    if short == 0 {
        return Some(work.plan);
    }
    for block in 0..blocks.len() {
        heap.extend(work.best_move(block, short, 0));
    }
    let mut applied = 0u32;
    let mut fresh_at = vec![0u32; blocks.len()];
    while short > 0 {
        let offer = heap.pop()?;
        let block = offer.block;
        if offer.version != version[block] {
            continue;
        }
        // What is missing changes with every move: an old offer is looked at again before it is taken.
        if fresh_at[block] != applied {
            version[block] += 1;
            fresh_at[block] = applied;
            heap.extend(work.best_move(block, short, version[block]));
            continue;
        }
        work.apply(block, &offer.entries);
        applied += 1;
        short = work.ledger.short(estate);
        version[block] += 1;
        fresh_at[block] = applied;
        heap.extend(work.best_move(block, short, version[block]));
    }
    (short == 0).then_some(work.plan)
}

impl Repair<'_> {
    fn apply(&mut self, block: usize, entries: &Entries) {
        let old = &self.outcomes[block];
        self.ledger.book(self.estate, &old.paid, -1);
        for (u, entry) in entries {
            self.plan[*u] = *entry;
        }
        self.outcomes[block] = outcome(self.estate, &self.blocks[block], &self.plan);
        let new = &self.outcomes[block];
        self.ledger.book(self.estate, &new.paid, 1);
    }

    /// The move of a block that lowers what is missing at the least cost a pound.
    fn best_move(&mut self, block: usize, short: i64, version: u32) -> Option<Offer> {
        let mut best: Option<Offer> = None;
        let before = self.outcomes[block].clone();
        for entries in moves(self.estate, &self.blocks[block], &self.plan) {
            let undo: Entries = entries.iter().map(|(u, _)| (*u, self.plan[*u])).collect();
            self.apply(block, &entries);
            let gain = short - self.ledger.short(self.estate);
            let extra = self.outcomes[block].cost - before.cost;
            let ratio = extra as f64 / gain.max(1) as f64;
            let better = gain > 0 && best.as_ref().is_none_or(|b| ratio < b.ratio);
            if better
                && outcome_holds(self.estate, &self.blocks[block], &self.plan)
                && sets_hold(self.estate, &self.blocks[block], &self.plan)
            {
                best = Some(Offer {
                    ratio,
                    block,
                    version,
                    entries,
                });
            }
            self.apply(block, &undo);
        }
        best
    }
}

/// Every other entry of every unit that stands in the plan, sets done together as one.
fn moves(estate: &Estate<'_>, block: &[usize], plan: &Plan) -> Vec<Entries> {
    let problem = estate.problem;
    let mut out = Vec::new();
    let mut bound: Vec<usize> = Vec::new();
    for k in block.iter().flat_map(|b| &estate.together[*b]) {
        let set = &problem.together[*k];
        bound.extend(set);
        if set.iter().all(|u| plan[*u].is_some()) {
            if set.iter().all(|u| problem.units[*u].never.is_some()) {
                out.push(set.iter().map(|u| (*u, None)).collect());
            }
            for t in 0..problem.years {
                let moved: Option<Entries> = set
                    .iter()
                    .map(|u| {
                        let mut open = estate.choices[*u].iter().filter(|(_, year)| *year == t);
                        open.next().map(|choice| (*u, Some(*choice)))
                    })
                    .collect();
                out.extend(moved);
            }
        }
    }
    for u in block.iter().flat_map(|b| &estate.units[*b]) {
        if bound.contains(u) || plan[*u].is_none() {
            continue;
        }
        if problem.units[*u].never.is_some() {
            out.push(vec![(*u, None)]);
        }
        for choice in &estate.choices[*u] {
            if plan[*u] != Some(*choice) {
                out.push(vec![(*u, Some(*choice))]);
            }
        }
    }
    out
}

/// Whether the redundancy sets of a block hold.
pub fn sets_hold(estate: &Estate<'_>, block: &[usize], plan: &Plan) -> bool {
    block.iter().flat_map(|b| &estate.redundancy[*b]).all(|k| {
        let set = &estate.problem.redundancy[*k];
        (0..estate.problem.years).all(|t| {
            let out = set
                .units
                .iter()
                .filter(|u| plan[**u].is_some_and(|e| e.1 == t));
            out.count() <= set.at_once
        })
    })
}
