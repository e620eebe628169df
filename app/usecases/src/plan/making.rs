//! Making a plan: at once where the building is small, else by a task that can be left and come back to.
use std::time::Instant;

use planning::programme::optimal::{OptimalProgramme, PlainWay, Proven, Settings, Verdict};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::place::BuildingCard;
use terms::{BuildingId, Pence, Role, UnitId};
use uuid::Uuid;

use super::asking::{Asked, Gathered, WhatIf, gather};
use super::figures::{Figures, figures, years_of};
use crate::work::wall;
use crate::{Error, Seat, World};

/// Units up to which a plan is made while the page waits, unless the estate says otherwise.
pub(super) const AT_ONCE: usize = 400;
/// Seconds a page may wait for a plan, and a task may take for one.
pub(super) const SECONDS: (f64, f64) = (3.0, 120.0);
/// What is tried to see what more money would buy.
const THOUSAND: i64 = 1_000 * 100;
/// The longest name of a what-if.
pub(super) const LONGEST_NAME: usize = 60;
/// The task that makes plans too large for a page.
pub const TASK: &str = "make_plans";

/// What more money would buy, found by solving again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MoreMoney {
    /// What was put into the purse before the first year.
    pub pence: Pence,
    /// What the plan would cost less.
    pub saves: Pence,
    /// Units that would have an earlier year, or one at all: (unit, year before, year then).
    pub sooner: Vec<(UnitId, Option<i32>, i32)>,
}

/// A plain way beside the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Beside {
    /// Which.
    pub way: PlainWay,
    /// What it comes to.
    pub figures: Figures,
    /// Units that ought to have a year and have none this way.
    pub undone: u32,
}

/// A plan as it was made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Made {
    /// The plan and what is proven about it.
    pub proven: Proven,
    /// Whether the optimiser made it; a plain way has no bound of its own.
    pub optimised: bool,
    /// What it comes to.
    pub figures: Figures,
    /// The plain ways on the same building.
    pub beside: Vec<Beside>,
    /// What £1,000 more would buy; `None` where money binds nothing.
    pub more: Option<MoreMoney>,
    /// Seconds it took.
    pub seconds: f64,
}

/// What making a plan came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Making {
    /// It is made.
    Made(Uuid),
    /// It is large: a task makes it.
    Waits,
}

/// What is wanted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlanWish {
    /// The building.
    pub building: BuildingId,
    /// What is asked otherwise than stated.
    pub what_if: WhatIf,
    /// A what-if's name; `None` for the plan as stated.
    pub name: Option<String>,
}

fn reached(tx: &mut Tx<'_>, seat: &Seat, building: BuildingId) -> Result<BuildingCard, Error> {
    seat.must_reach(building)?;
    Ok(tx.building(building)?)
}

fn check(wish: &PlanWish) -> Result<(), Error> {
    if let Some(name) = &wish.name {
        let length = name.trim().chars().count();
        if length == 0 {
            return Err(Error::field(
                "name",
                "Give it a name, so it can be found again.",
            ));
        }
        if length > LONGEST_NAME {
            let sentence = format!("At most {LONGEST_NAME} letters, please.");
            return Err(Error::field("name", sentence));
        }
    }
    let fits = match wish.what_if {
        WhatIf::Money { pence } => pence.abs() <= 100_000_000 * 100,
        WhatIf::Rate { percent } => (0.1..=15.0).contains(&percent),
        WhatIf::Prices { percent } => (-50.0..=200.0).contains(&percent),
        _ => true,
    };
    if fits {
        Ok(())
    } else {
        let sentence = "A yearly rate from 0.1 to 15 per cent, a price change from −50 to 200 per cent, or an amount \
                        up to £100,000,000, please.";
        Err(Error::field("amount", sentence))
    }
}

/// Makes a plan of a building and keeps it: the former one of the same name stays readable.
///
/// # Errors
/// [`Error::Invalid`] at `name` or `amount`.
pub fn make_plan(world: &World, seat: &Seat, wish: PlanWish, once: &str) -> Result<Making, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    check(&wish)?;
    let today = wall::day(world.now());
    let (gathered, at_once) = world.acting(seat, |tx| {
        let card = reached(tx, seat, wish.building)?;
        let at_once = match tx.setting("plan_at_once_units")? {
            Some(text) => text.parse().unwrap_or(AT_ONCE),
            None => AT_ONCE,
        };
        Ok((gather(tx, &card, wish.what_if, today)?, at_once))
    })?;
    if gathered.units.len() > at_once {
        return world.acting(seat, |tx| {
            tx.once(once, &wish, |tx| {
                let name = wish.name.as_deref().unwrap_or("as stated");
                let key = format!("{TASK} {} {name}", wish.building);
                tx.queue(TASK, json!({ "wish": wish }), Some(&key))?;
                Ok(Making::Waits)
            })
        });
    }
    let made = make(&gathered, wish.what_if, SECONDS.0, &mut |_, _| Ok(()))?;
    keep(world, seat, &wish, &gathered.asked, &made, once)
}

/// Makes a plan in a task; `told` hears the step and how many there are, in words, and may fail when the lease
/// is lost.
pub fn make_plan_slowly(
    world: &World,
    seat: &Seat,
    wish: &PlanWish,
    told: &mut dyn FnMut(u32, &str) -> Result<(), Error>,
) -> Result<String, Error> {
    let today = wall::day(world.now());
    let (gathered, name) = world.acting(seat, |tx| {
        let card = reached(tx, seat, wish.building)?;
        Ok((gather(tx, &card, wish.what_if, today)?, card.name))
    })?;
    let mut named =
        |step: u32, words: &str| told(step, &format!("{name}: step {step} of {STEPS}, {words}"));
    let made = make(&gathered, wish.what_if, SECONDS.1, &mut named)?;
    let once = format!("{TASK} {}", Uuid::new_v4());
    keep(world, seat, wish, &gathered.asked, &made, &once)?;
    Ok(format!("the plan of {name} is made"))
}

/// Steps of making a plan.
pub const STEPS: u32 = 3;

/// The program's nightly look: the plan as stated of every building of the estate that has one is made anew.
/// Answers how many.
pub fn make_plans_anew(
    world: &World,
    seat: &Seat,
    told: &mut dyn FnMut(u32, &str) -> Result<(), Error>,
) -> Result<usize, Error> {
    let buildings: Vec<BuildingId> = world.acting(seat, |tx| {
        let mut with = Vec::new();
        for card in tx.buildings()? {
            let plans = tx.plans(card.id)?;
            if plans.iter().any(|p| p.name.is_none()) {
                with.push(card.id);
            }
        }
        Ok(with)
    })?;
    for building in &buildings {
        let wish = PlanWish {
            building: *building,
            what_if: WhatIf::AsStated,
            name: None,
        };
        make_plan_slowly(world, seat, &wish, told)?;
    }
    Ok(buildings.len())
}

fn keep(
    world: &World,
    seat: &Seat,
    wish: &PlanWish,
    asked: &Asked,
    made: &Made,
    once: &str,
) -> Result<Making, Error> {
    let written = |e: serde_json::Error| Error::Internal(format!("a plan cannot be written: {e}"));
    let ask = serde_json::to_value(wish.what_if).map_err(written)?;
    let asked = serde_json::to_value(asked).map_err(written)?;
    let answer = serde_json::to_value(made).map_err(written)?;
    world.acting(seat, |tx| {
        tx.once(once, wish, |tx| {
            reached(tx, seat, wish.building)?;
            let name = wish.name.as_deref().map(str::trim);
            let id = tx.keep_plan(wish.building, name, (&ask, &asked, &answer))?;
            tx.note(
                "plan made",
                &format!("building {}", wish.building),
                &json!({
                    "plan": id, "ask": ask, "name": name, "verdict": made.proven.verdict,
                    "cost": made.proven.cost, "at_least": made.proven.bound,
                }),
            );
            Ok(Making::Made(id))
        })
    })
}

/// A clock that runs out.
pub(super) fn allowance(seconds: f64) -> impl Fn() -> f64 + Sync {
    let begun = Instant::now();
    move || seconds - begun.elapsed().as_secs_f64()
}

fn make(
    gathered: &Gathered,
    what_if: WhatIf,
    seconds: f64,
    told: &mut dyn FnMut(u32, &str) -> Result<(), Error>,
) -> Result<Made, Error> {
    let begun = Instant::now();
    let asked = &gathered.asked;
    told(1, "the plan at least cost is sought")?;
    let left = allowance(seconds * 0.6);
    let optimal = OptimalProgramme {
        limits: &asked.limits,
        settings: Settings::default(),
        allowance: &left,
    };
    let way = match what_if {
        WhatIf::Nothing => Some(PlainWay::Nothing),
        WhatIf::OnFailure => Some(PlainWay::OnFailure),
        WhatIf::OldestFirst => Some(PlainWay::OldestFirst),
        _ => None,
    };
    let proven = match way {
        None => optimal.prove(&asked.input),
        Some(way) => {
            let plain = optimal.plain_way(&asked.input, way);
            Proven {
                programme: plain.programme,
                verdict: Verdict::WithinGap,
                cost: plain.cost,
                bound: plain.cost,
                unbound: plain.cost,
                clash: Vec::new(),
                fewest: false,
            }
        }
    };
    told(2, "the plain ways are reckoned beside it")?;
    let beside = if way.is_none() {
        [PlainWay::OldestFirst, PlainWay::OnFailure]
            .into_iter()
            .map(|way| {
                let plain = optimal.plain_way(&asked.input, way);
                Beside {
                    way,
                    figures: figures(gathered, &plain.programme, plain.cost),
                    undone: plain.undone.len() as u32,
                }
            })
            .collect()
    } else {
        Vec::new()
    };
    told(3, "what £1,000 more would buy is sought")?;
    let binds = way.is_none() && proven.stands() && !asked.unlimited;
    let more = binds.then(|| more_money(asked, &proven, seconds * 0.3));
    Ok(Made {
        figures: figures(gathered, &proven.programme, proven.cost),
        optimised: way.is_none(),
        beside,
        more,
        seconds: begun.elapsed().as_secs_f64(),
        proven,
    })
}

fn more_money(asked: &Asked, proven: &Proven, seconds: f64) -> MoreMoney {
    let mut richer = asked.input.clone();
    richer.opening.0 += THOUSAND;
    let left = allowance(seconds);
    let again = OptimalProgramme {
        limits: &asked.limits,
        settings: Settings::default(),
        allowance: &left,
    }
    .prove(&richer);
    bought(proven, &again)
}

/// What the plan made with the money buys. The plan as it stands keeps the richer purse too: a search that ran out of time,
/// with no plan or none that costs less, bought nothing.
fn bought(proven: &Proven, again: &Proven) -> MoreMoney {
    if !again.stands() || again.cost >= proven.cost {
        return MoreMoney {
            pence: Pence(THOUSAND),
            saves: Pence(0),
            sooner: Vec::new(),
        };
    }
    let before = years_of(&proven.programme);
    let sooner = years_of(&again.programme)
        .into_iter()
        .filter_map(|(unit, year)| {
            let was = before.get(&unit).copied();
            was.is_none_or(|was| year < was)
                .then_some((unit, was, year))
        })
        .collect();
    MoreMoney {
        pence: Pence(THOUSAND),
        saves: Pence(proven.cost.0 - again.cost.0),
        sooner,
    }
}

#[cfg(test)]
mod tests {
    use planning::Programme;
    use planning::programme::{ProgrammeVerdict, Replacement, YearLine};
    use terms::ExpectedPounds;

    use super::*;

    /// A plan of so many pence whose one unit is replaced in a year.
    fn plan(verdict: Verdict, cost: i64, year: i32) -> Proven {
        let replaced = Replacement {
            unit: UnitId(Uuid::from_u128(1)),
            option: "like for like".to_owned(),
            cash: Pence(100),
            years_late: 0,
            delay_costs: None,
        };
        let line = YearLine {
            year,
            opening: Pence(0),
            comes_in: Pence(0),
            set_aside: Pence(0),
            replacements: vec![replaced],
            spent: Pence(100),
            set_up: Pence(0),
            carried: Vec::new(),
            reserve: Pence(0),
        };
        Proven {
            programme: Programme {
                years: vec![line],
                left_out: Vec::new(),
                spent: Pence(100),
                delays_cost: ExpectedPounds(0.0),
                delays_cost_at_least: ExpectedPounds(0.0),
                under_floor: Vec::new(),
                verdict: ProgrammeVerdict::EveryBestYear,
            },
            verdict,
            cost: Pence(cost),
            bound: Pence(cost),
            unbound: Pence(cost),
            clash: Vec::new(),
            fewest: false,
        }
    }

    #[test]
    fn more_money_buys_nothing_where_the_second_search_found_nothing_better() {
        let stands = plan(Verdict::Optimal, 5_000, 2028);
        let better = bought(&stands, &plan(Verdict::Optimal, 4_000, 2027));
        assert_eq!(better.saves, Pence(1_000));
        assert_eq!(better.sooner.len(), 1);
        // As dear, dearer, and no plan at all, whose figure is what nothing would cost.
        for again in [
            plan(Verdict::Optimal, 5_000, 2027),
            plan(Verdict::WithinGap, 6_000, 2027),
            plan(Verdict::NothingFound, 1_000, 2027),
        ] {
            let nothing = bought(&stands, &again);
            assert_eq!((nothing.saves, nothing.sooner.len()), (Pence(0), 0));
        }
    }
}
