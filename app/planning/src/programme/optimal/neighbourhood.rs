//! Improves a plan by solving a few blocks at a time exactly, with what the others leave of the funds; as many such
//! neighbourhoods beside each other as there are threads.
use super::Settings;
use super::columns::{outcome_holds, units_of};
use super::estate::{Block, Estate};
use super::formulation::{Formulation, Room};
use super::model::Plan;
use super::outcome::outcome;
use super::parallel::each;
use super::price_and_branch::shared_funds;
use super::shared::Ledger;
use crate::Allowance;
use crate::dice::Dice;
use crate::solver::{Effort, Ending};

/// Units in the first neighbourhoods; grows where nothing is found and they are solved to the end.
const UNITS: usize = 110;
/// Most seconds for one.
const SECONDS: f64 = 6.0;
/// Neighbourhoods without a better plan after which the search ends.
const PATIENCE: u32 = 60;

/// Improves `plan` until the allowance is spent, nothing is found any more, or its cost is at most
/// `floor` (pence). Returns the neighbourhoods tried.
pub fn improve(
    estate: &Estate<'_>,
    blocks: &[Block],
    settings: Settings,
    floor: i64,
    allowance: &dyn Allowance,
    plan: &mut Plan,
) -> u32 {
    let mut dice = Dice::new(settings.seed);
    let mut ledger = Ledger::empty(estate, &shared_funds(estate, blocks));
    let mut cost = 0;
    for block in blocks {
        let out = outcome(estate, block, plan);
        ledger.book(estate, &out.paid, 1);
        cost += out.cost;
    }
    let (mut size, mut stale, mut tried) = (UNITS, 0, 0);
    let mut order: Vec<usize> = Vec::new();
    while !allowance.spent() && stale < PATIENCE && cost > floor {
        if order.len() < 2 {
            order = (0..blocks.len()).collect();
            dice.shuffle(&mut order);
        }
        let mut picks: Vec<Vec<usize>> = Vec::new();
        while picks.len() < settings.threads.max(1) && !order.is_empty() {
            picks.push(pick(estate, blocks, &mut order, size));
        }
        let seconds = allowance.seconds_left().min(SECONDS);
        let (before, room) = (&*plan, &ledger);
        let trials: Vec<Trial> = each(settings.threads, picks.len(), |i| {
            solve_again(estate, room, &picks[i], seconds, before)
        });
        for (picked, trial) in picks.iter().zip(trials) {
            tried += 1;
            let gain = take(estate, &mut ledger, picked, &trial.entries, plan);
            cost -= gain;
            if gain > 0 {
                stale = 0;
            } else {
                stale += 1;
                if trial.to_the_end {
                    size += size / 10;
                } else {
                    size = (size - size / 8).max(UNITS / 2);
                }
            }
        }
    }
    tried
}

/// Buildings of the next blocks in `order` with so many units.
fn pick(estate: &Estate<'_>, blocks: &[Block], order: &mut Vec<usize>, size: usize) -> Vec<usize> {
    let mut picked: Vec<usize> = Vec::new();
    let mut units = 0;
    while let Some(block) = order.pop() {
        units += units_of(estate, &blocks[block]).len();
        picked.extend(&blocks[block]);
        if units >= size {
            break;
        }
    }
    picked
}

/// What solving some buildings again came to.
struct Trial {
    /// Entries of their units; empty without a plan.
    entries: Vec<(usize, Option<(usize, usize)>)>,
    /// Whether it was solved to the end.
    to_the_end: bool,
}

/// Solves these buildings again with what the others leave of the funds.
fn solve_again(
    estate: &Estate<'_>,
    ledger: &Ledger,
    buildings: &[usize],
    seconds: f64,
    plan: &Plan,
) -> Trial {
    let mut others = ledger.clone();
    others.book(estate, &outcome(estate, buildings, plan).paid, -1);
    let (own, other) = estate.funds_of(buildings);
    let rooms: Vec<Room> = own
        .iter()
        .map(|f| Room::whole(estate, *f))
        .chain(other.iter().map(|f| others.room(estate, *f)))
        .collect();
    let form = Formulation::new(estate, buildings, &rooms, &|_, _| 0.0);
    let start = form.start(estate, plan);
    let solved = form
        .model
        .solve(Effort::within(1e-6, seconds), Some(&start));
    let mut trial = Trial {
        entries: Vec::new(),
        to_the_end: solved.ending == Ending::Optimal,
    };
    if !solved.values.is_empty() {
        let mut fresh = plan.clone();
        form.read(&solved, &mut fresh);
        let units = buildings.iter().flat_map(|b| &estate.units[*b]);
        trial.entries = units.map(|u| (*u, fresh[*u])).collect();
    }
    trial
}

/// Takes the entries over if they cost less and every rule holds, those of the shared funds too: what was solved
/// beside it may have spent the same pounds. Pence gained.
fn take(
    estate: &Estate<'_>,
    ledger: &mut Ledger,
    buildings: &[usize],
    entries: &[(usize, Option<(usize, usize)>)],
    plan: &mut Plan,
) -> i64 {
    let before = outcome(estate, buildings, plan);
    let undo: Vec<_> = entries.iter().map(|(u, _)| (*u, plan[*u])).collect();
    for (u, entry) in entries {
        plan[*u] = *entry;
    }
    let after = outcome(estate, buildings, plan);
    ledger.book(estate, &before.paid, -1);
    ledger.book(estate, &after.paid, 1);
    let better = after.cost < before.cost;
    if better && outcome_holds(estate, buildings, plan) && ledger.short(estate) == 0 {
        return before.cost - after.cost;
    }
    ledger.book(estate, &after.paid, -1);
    ledger.book(estate, &before.paid, 1);
    for (u, entry) in undo {
        plan[u] = entry;
    }
    0
}
