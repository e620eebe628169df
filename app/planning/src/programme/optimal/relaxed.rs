//! Prices of shared funds from the linear relaxation of all blocks at once.
use super::columns::units_of;
use super::estate::{Block, Estate};
use super::formulation::{Formulation, Room};
use super::shared::Prices;
use crate::solver::{Effort, Ending};

/// Units up to which the relaxation is solved.
const RELAXED_UNITS: usize = 1_200;

/// Shadow prices of the linear relaxation of all blocks; `None` where it is too large or runs out of time.
pub fn relaxed_prices(
    estate: &Estate<'_>,
    blocks: &[Block],
    funds: &[usize],
    seconds: f64,
) -> Option<Prices> {
    let units: usize = blocks.iter().map(|b| units_of(estate, b).len()).sum();
    if units > RELAXED_UNITS {
        return None;
    }
    let buildings: Vec<usize> = blocks.iter().flatten().copied().collect();
    let (own, other) = estate.funds_of(&buildings);
    let named = own.iter().chain(&other);
    let rooms: Vec<Room> = named.map(|f| Room::whole(estate, *f)).collect();
    let form = Formulation::new(estate, &buildings, &rooms, &|_, _| 0.0);
    let relaxed = form.model.relaxed();
    let solved = relaxed.solve(Effort::exact(seconds), None);
    if solved.ending != Ending::Optimal {
        return None;
    }
    let mut prices = Prices::zero(estate, funds);
    let price = |row: usize| (-solved.shadow_prices[row]).max(0.0);
    for (k, fund) in funds.iter().enumerate() {
        for (_, t, row) in form.balance_rows.iter().filter(|r| r.0 == *fund) {
            prices.balance[k][*t] = price(*row);
        }
        for (_, t, row) in form.cap_rows.iter().filter(|r| r.0 == *fund) {
            prices.caps[k][*t] = price(*row);
        }
    }
    Some(prices)
}
