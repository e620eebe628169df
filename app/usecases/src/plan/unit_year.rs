//! One unit of a programme: why it has its year, and what another year would cost, found by solving again.
use planning::programme::ProgrammeUnit;
use planning::programme::optimal::{OptimalProgramme, Proven, Settings};
use planning::{Programme, ProgrammeInput};
use terms::{BuildingId, Pence, UnitId};
use uuid::Uuid;

use super::asking::Asked;
use super::binding::what_binds;
use super::binds::Binds;
use super::figures::years_of;
use super::making::allowance;
use super::programme::{BuildingProgramme, PlanCard, READERS, kept_plan, programme};
use super::shared_kept::of_plan;
use super::shared_year::{SharedPlan, WithOthers, pinned};
use crate::{Error, Seat, World};

/// Seconds for one year that is tried.
const SECONDS: f64 = 1.5;

/// Units that would have another year: (unit, year before, year then); no year = kept beyond the programme.
pub type Moves = Vec<(UnitId, Option<i32>, Option<i32>)>;

/// What moving the unit to a year would do.
#[derive(Clone, Debug)]
pub struct MovedTo {
    /// The year; `None` = beyond the programme.
    pub year: Option<i32>,
    /// What the best plan with it there costs more, pence.
    pub costs: Pence,
    /// No plan with it there costs less than so much more, pence.
    pub at_least: Pence,
    /// Others that would have another year.
    pub others: Moves,
    /// The plan with it there; it does not stand where the limits clash. Of a shared purse the other buildings keep theirs.
    pub proven: Proven,
    /// What becomes of the others of a shared purse; `None` where the purse is the building's own.
    pub beside: Option<WithOthers>,
}

/// The unit in its programme.
#[derive(Clone, Debug)]
pub struct UnitInProgramme {
    /// The programme.
    pub found: BuildingProgramme,
    /// The unit.
    pub unit: UnitId,
    /// Its course of cost.
    pub course: ProgrammeUnit,
    /// Its year in the plan; `None` = kept beyond it.
    pub year: Option<i32>,
    /// Years that were tried.
    pub tried: Vec<MovedTo>,
    /// What keeps it from the year it would have by itself; empty where it has that year; `None` where the time did not
    /// settle it.
    pub binds: Option<Vec<Binds>>,
    /// The year that was asked for.
    pub asked: Option<i32>,
    /// Other buildings that pay from the same purse; `None` where it is the building's own.
    pub others: Option<u32>,
}

/// Why a unit has its year, with the year before and after tried, and the one asked for.
///
/// # Errors
/// [`Error::NotFound`] for a unit the plan does not know; [`Error::Conflict`] while there is no plan;
/// [`Error::Invalid`] at `year` for one outside the programme.
pub fn unit_year(
    world: &World,
    seat: &Seat,
    (building, unit): (BuildingId, UnitId),
    asked: Option<i32>,
) -> Result<UnitInProgramme, Error> {
    seat.must_be(&READERS)?;
    answered(programme(world, seat, Some(building))?, None, (unit, asked))
}

/// The same of a kept plan: the adopted one, one since made anew, a what-if, a building's part of a programme of several. Of
/// such a part the other buildings are kept to their plan, and where a page has time for it all are planned anew besides.
///
/// # Errors
/// As [`unit_year`]; [`Error::Conflict`] too for a plan that was not sought at least cost, and for a part of a programme of
/// several buildings that is not on record any more.
pub fn kept_unit_year(
    world: &World,
    seat: &Seat,
    (plan, unit): (Uuid, UnitId),
    asked: Option<i32>,
) -> Result<UnitInProgramme, Error> {
    seat.must_be(&READERS)?;
    let found = kept_plan(world, seat, plan)?;
    let Some(card) = found.plan.as_ref().filter(|_| found.may_ask) else {
        return Err(Error::Conflict(
            "What another year would cost is worked out only for a plan of least cost, with a purse of its own or a shared one \
             that is still on record."
                .to_owned(),
        ));
    };
    if card.is_asked_alone() {
        return answered(found, None, (unit, asked));
    }
    let shared = world.acting(seat, |tx| {
        let kept = tx.plan(plan)?;
        let made = of_plan(tx, &kept)?.ok_or(Error::NotFound("programme"))?;
        SharedPlan::of(tx, seat, (made, card))
    })?;
    answered(found, Some(&shared), (unit, asked))
}

fn answered(
    found: BuildingProgramme,
    shared: Option<&SharedPlan>,
    (unit, asked): (UnitId, Option<i32>),
) -> Result<UnitInProgramme, Error> {
    let Some(plan) = &found.plan else {
        return Err(Error::Conflict(
            "No plan is made of this building yet, so no unit has a year.".to_owned(),
        ));
    };
    let input = &plan.asked.input;
    let course = input
        .units
        .iter()
        .find(|u| u.unit == unit)
        .filter(|_| found.units.contains_key(&unit))
        .ok_or(Error::NotFound("unit"))?
        .clone();
    let years = years_of(&plan.made.proven.programme);
    let year = years.get(&unit).copied();
    let (first, last) = (
        input.first_year,
        input.first_year + input.years.len() as i32 - 1,
    );
    if asked.is_some_and(|y| !(first..=last).contains(&y)) {
        let sentence = format!("A year from {first} to {last}, please.");
        return Err(Error::field("year", sentence));
    }
    let mut wanted: Vec<i32> = match (asked, year) {
        (Some(asked), _) => vec![asked],
        (None, Some(year)) => vec![year - 1, year + 1],
        (None, None) => {
            let place = first_asked(input, &course);
            vec![place.map_or(last, |place| first + place as i32)]
        }
    };
    wanted.retain(|y| (first..=last).contains(y) && Some(*y) != year);
    let stands = plan.made.proven.stands();
    let tried = wanted
        .into_iter()
        .filter(|_| stands)
        .map(|y| moved((plan, shared), unit, y - first))
        .collect();
    let place = year.map(|y| y - first).and_then(|t| u32::try_from(t).ok());
    let inside = course
        .best_year
        .filter(|t| (*t as usize) < input.years.len());
    let binds = if stands && place != inside {
        what_binds(plan, shared.map(|s| s.left(plan)), (unit, inside))
    } else {
        Some(Vec::new())
    };
    Ok(UnitInProgramme {
        found,
        unit,
        course,
        year,
        tried,
        binds,
        asked,
        others: shared.map(SharedPlan::others),
    })
}

fn moved((plan, shared): (&PlanCard, Option<&SharedPlan>), unit: UnitId, place: i32) -> MovedTo {
    let place = u32::try_from(place).unwrap_or(0);
    let (proven, beside) = match shared {
        Some(shared) => {
            let (proven, beside) = shared.moved(plan, (unit, place), SECONDS);
            (proven, Some(beside))
        }
        None => (alone(&plan.asked, (unit, place), SECONDS), None),
    };
    let input = &plan.asked.input;
    let stands = &plan.made.proven;
    MovedTo {
        year: Some(input.first_year + place as i32),
        costs: Pence(proven.cost.0 - stands.cost.0),
        at_least: Pence(proven.bound.0 - stands.cost.0),
        others: others_of(input, unit, (&stands.programme, &proven.programme)),
        proven,
        beside,
    }
}

/// The place of the year that is tried first of a unit without one: that in which it would cost least by itself. `None` where
/// that lies beyond the programme.
pub(super) fn first_asked(input: &ProgrammeInput, unit: &ProgrammeUnit) -> Option<u32> {
    let inside = |place: &u32| (*place as usize) < input.years.len();
    unit.best_year.filter(inside)
}

/// Units but the one that is moved that have another year in the second programme.
pub(super) fn others_of(
    input: &ProgrammeInput,
    unit: UnitId,
    (before, then): (&Programme, &Programme),
) -> Moves {
    let (before, then) = (years_of(before), years_of(then));
    let mut others: Moves = input
        .units
        .iter()
        .map(|u| {
            let years = (before.get(&u.unit).copied(), then.get(&u.unit).copied());
            (u.unit, years.0, years.1)
        })
        .filter(|(id, was, is)| *id != unit && was != is)
        .collect();
    others.sort_by_key(|(id, was, is)| (*is, *was, *id));
    others
}

/// The best plan of a building with a purse of its own with the unit in a year.
pub(super) fn alone(asked: &Asked, (unit, place): (UnitId, u32), seconds: f64) -> Proven {
    let limits = pinned(asked, (unit, place));
    let left = allowance(seconds);
    OptimalProgramme {
        limits: &limits,
        settings: Settings::default(),
        allowance: &left,
    }
    .prove(&asked.input)
}
