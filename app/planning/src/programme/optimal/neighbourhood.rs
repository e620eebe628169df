//! Improves a plan by solving a few blocks at a time exactly, with what the others leave of the funds.
use super::Settings;
use super::columns::{outcome_holds, units_of};
use super::estate::{Block, Estate};
use super::formulation::{Formulation, Room};
use super::model::Plan;
use super::outcome::outcome;
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
    funds: &[usize],
    settings: Settings,
    floor: i64,
    allowance: &dyn Allowance,
    plan: &mut Plan,
) -> u32 {
    let mut dice = Dice::new(settings.seed);
    let mut ledger = Ledger::empty(estate, funds);
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
        let mut picked: Vec<usize> = Vec::new();
        let mut units = 0;
        while let Some(block) = order.pop() {
            units += units_of(estate, &blocks[block]).len();
            picked.extend(&blocks[block]);
            if units >= size {
                break;
            }
        }
        tried += 1;
        let seconds = allowance.seconds_left().min(SECONDS);
        let (gain, solved) = try_one(estate, &mut ledger, &picked, seconds, plan);
        cost -= gain;
        if gain > 0 {
            stale = 0;
        } else {
            stale += 1;
            if solved {
                size += size / 10;
            } else {
                size = (size - size / 8).max(UNITS / 2);
            }
        }
    }
    tried
}

/// Solves these buildings again; pence gained, and whether it was solved to the end.
fn try_one(
    estate: &Estate<'_>,
    ledger: &mut Ledger,
    buildings: &[usize],
    seconds: f64,
    plan: &mut Plan,
) -> (i64, bool) {
    let before = outcome(estate, buildings, plan);
    ledger.book(estate, &before.paid, -1);
    let (own, other) = estate.funds_of(buildings);
    let rooms: Vec<Room> = own
        .iter()
        .map(|f| Room::whole(estate, *f))
        .chain(other.iter().map(|f| ledger.room(estate, *f)))
        .collect();
    let form = Formulation::new(estate, buildings, &rooms, &|_, _| 0.0);
    let start = form.start(estate, plan);
    let solved = form
        .model
        .solve(Effort::within(1e-6, seconds), Some(&start));
    let mut fresh = plan.clone();
    let mut gain = 0;
    if !solved.values.is_empty() {
        form.read(&solved, &mut fresh);
        let after = outcome(estate, buildings, &fresh);
        ledger.book(estate, &after.paid, 1);
        let better = after.cost < before.cost;
        if better && outcome_holds(estate, buildings, &fresh) && ledger.short(estate) == 0 {
            *plan = fresh;
            gain = before.cost - after.cost;
        } else {
            ledger.book(estate, &after.paid, -1);
        }
    }
    if gain == 0 {
        ledger.book(estate, &before.paid, 1);
    }
    (gain, solved.ending == Ending::Optimal)
}
