//! Making a plan: at once where the building is small, else by a task that can be left and come back to.
use std::time::Instant;

use planning::programme::optimal::{OptimalProgramme, PlainWay, Proven, Settings, Verdict};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::place::BuildingCard;
use terms::{BuildingId, Role};
use uuid::Uuid;

use super::asking::{Asked, Gathered, WhatIf, gather};
use super::figures::{Figures, figures};
use super::gives_way::{GivesWay, gives_way};
use super::more_money::{MoreMoney, more_money};
use crate::work::wall;
use crate::{Error, Seat, World};

/// Units up to which a plan is made while the page waits, unless the estate says otherwise.
pub(super) const AT_ONCE: usize = 400;
/// Seconds a page may wait for a plan, and a task may take for one.
pub(super) const SECONDS: (f64, f64) = (3.0, 120.0);
/// The longest name of a what-if.
pub(super) const LONGEST_NAME: usize = 60;
/// The task that makes plans too large for a page.
pub const TASK: &str = "make_plans";

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
    /// What would give way for units that are left out, as far as the time settled it.
    #[serde(default)]
    pub gives_way: Vec<GivesWay>,
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
    let beside = match way {
        None => beside(gathered, &optimal),
        Some(_) => Vec::new(),
    };
    told(3, "what £1,000 more would buy is sought")?;
    let binds = way.is_none() && proven.stands() && !asked.unlimited;
    let more = binds.then(|| more_money(asked, &proven, seconds * 0.3));
    let left = seconds - begun.elapsed().as_secs_f64();
    let gives_way = if way.is_none() && proven.stands() {
        gives_way(asked, &proven, left)
    } else {
        Vec::new()
    };
    Ok(Made {
        figures: figures(gathered, &proven.programme, proven.cost),
        optimised: way.is_none(),
        beside,
        more,
        gives_way,
        seconds: begun.elapsed().as_secs_f64(),
        proven,
    })
}

/// The plain ways beside a plan of least cost.
fn beside(gathered: &Gathered, optimal: &OptimalProgramme<'_>) -> Vec<Beside> {
    let ways = [
        PlainWay::OldestFirst,
        PlainWay::OnFailure,
        PlainWay::Nothing,
    ]
    .into_iter();
    let beside = ways.map(|way| {
        let plain = optimal.plain_way(&gathered.asked.input, way);
        Beside {
            way,
            figures: figures(gathered, &plain.programme, plain.cost),
            undone: plain.undone.len() as u32,
        }
    });
    beside.collect()
}
