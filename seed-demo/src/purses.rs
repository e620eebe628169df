//! What the directors set aside for each block, and the first plan made from it: all invented.
use chrono::{Datelike, NaiveDate};
use terms::{BuildingId, Pence};
use usecases::plan::{BudgetForm, PlanWish, WhatIf, make_plan, state_budget};
use usecases::{Error, Seat, World};

/// Pounds a year, in the purse, and the floor of the reserve: slab, tower, mill.
///
/// A plan must stand in each. The slab's and the tower's must bind, or the pages of the programme have nothing to weigh: a
/// plan free of them costs less, and £1,000 more saves something. The mill's suffices whatever comes in: few of its units
/// are worth replacing, and what the purse opens with pays for them. `tests/all/plan_demo.rs` holds to all three; the slab's and
/// the tower's sums lie little above the least with which a plan stands.
const PURSES: [(i64, i64, i64); 3] = [
    (5_500, 2_100, 2_000),
    (11_500, 6_000, 5_000),
    (16_000, 9_000, 3_000),
];

/// States the money of the blocks, in the order they were drawn, and makes their plans.
pub fn fill(
    world: &World,
    seat: &Seat,
    buildings: &[BuildingId],
    today: NaiveDate,
) -> Result<(), Error> {
    for (building, (comes_in, opening, floor)) in buildings.iter().zip(PURSES) {
        let form = BudgetForm {
            building: *building,
            year: today.year(),
            pence: Pence(comes_in * 100),
            opening: Some(Pence(opening * 100)),
            floor: Some(Pence(floor * 100)),
        };
        state_budget(world, seat, form, &format!("demo: purse {building}"))?;
        let wish = PlanWish {
            building: *building,
            what_if: WhatIf::AsStated,
            name: None,
        };
        make_plan(world, seat, wish, &format!("demo: plan {building}"))?;
    }
    Ok(())
}
