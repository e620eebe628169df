//! What the directors set aside for each block, and the first plan made from it: all invented.
use chrono::{Datelike, NaiveDate};
use terms::{BuildingId, Pence};
use usecases::plan::{BudgetForm, PlanWish, WhatIf, make_plan, programme, state_budget};
use usecases::{Error, Seat, World};

/// Pounds a year beyond what is likely to fail, in the purse before the first year, and the floor of the reserve: slab, tower,
/// mill.
///
/// The directors state what is likely to fail, on average over five years and again over the five after, and so much more a year
/// for replacements: units grow older, so the second figure is the higher one. That way a plan stands in each whatever the
/// forecasts say: the reserve opens above its floor and what is set aside alone never takes it lower. The slab's and the tower's must
/// bind, or the pages of the programme have nothing to weigh: a plan free of them costs less, and £1,000 more saves something. The
/// mill's suffices: few of its units are worth replacing. `tests/all/plan_demo.rs` holds to all three.
const PURSES: [(i64, i64, i64); 3] = [
    (700, 2_100, 2_000),
    (900, 6_000, 5_000),
    (10_000, 9_000, 3_000),
];
/// Years for which the directors state one figure.
const TOGETHER: usize = 5;
/// They state whole hundreds of pounds.
const WHOLE: i64 = 10_000;

/// States the money of the blocks, in the order they were drawn, and makes their plans.
pub fn fill(
    world: &World,
    seat: &Seat,
    buildings: &[BuildingId],
    today: NaiveDate,
) -> Result<(), Error> {
    for (building, (beyond, opening, floor)) in buildings.iter().zip(PURSES) {
        let input = programme(world, seat, Some(*building))?.input;
        for (n, years) in input.years.chunks(TOGETHER).enumerate() {
            let likely: i64 = years.iter().map(|year| year.set_aside.0).sum();
            let mean = likely / years.len() as i64;
            let from = input.first_year + (n * TOGETHER) as i32;
            let form = BudgetForm {
                building: *building,
                // The first figure holds already.
                year: if n == 0 { today.year() } else { from },
                pence: Pence((mean / WHOLE + 1) * WHOLE + beyond * 100),
                opening: Some(Pence(opening * 100)),
                floor: Some(Pence(floor * 100)),
            };
            state_budget(
                world,
                seat,
                form,
                &format!("demo: purse {building} from {from}"),
            )?;
        }
        let wish = PlanWish {
            building: *building,
            what_if: WhatIf::AsStated,
            name: None,
        };
        make_plan(world, seat, wish, &format!("demo: plan {building}"))?;
    }
    Ok(())
}
