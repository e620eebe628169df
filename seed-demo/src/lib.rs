//! Fills an empty database with an invented estate, through the use cases. What is true of it: `TRUTH.md`.
mod blocks;
mod fleet;
mod past;
mod people;
mod present;
mod purses;
pub mod simulate;
mod water;

use std::sync::Arc;

use chrono::{DateTime, Days, TimeDelta, Utc};
use terms::FixedClock;
use usecases::register::{draw_building, state_roof};
use usecases::{Error, World};

pub use people::{AGENT, CONTRACTOR, LANDLORD, OFFICE, SITE, SignIn};

/// The estate's name.
pub const ESTATE: &str = "Teasel Green";
/// The one seed of the demo's dice.
const SEED: u64 = 7;

/// What was made.
#[derive(Clone, Copy, Debug)]
pub struct Summary {
    /// Units in service.
    pub units: usize,
    /// Buildings.
    pub buildings: usize,
}

/// Makes the demo estate as of the world's present instant, unless there is an estate already.
///
/// # Errors
/// Whatever a use case refuses; nothing of the estate is usable then.
pub fn fill(world: &World) -> Result<Option<Summary>, Error> {
    fill_for(world, &SignIn::known())
}

/// The same, with the people signing in as said.
///
/// # Errors
/// Whatever a use case refuses; nothing of the estate is usable then.
pub fn fill_for(world: &World, sign_in: &SignIn) -> Result<Option<Summary>, Error> {
    if !usecases::founding::open_estates(world)?.is_empty() {
        return Ok(None);
    }
    let now = world.now();
    let clock = Arc::new(FixedClock::at(now));
    let then = World {
        pool: world.pool.clone(),
        clock: clock.clone(),
    };
    make(&then, &clock, now, sign_in).map(Some)
}

fn make(
    world: &World,
    clock: &Arc<FixedClock>,
    now: DateTime<Utc>,
    sign_in: &SignIn,
) -> Result<Summary, Error> {
    let today = now.date_naive();
    let shipped = usecases::founding::shipped()?;
    let mut dice = simulate::Dice::new(SEED);
    clock.set(now - TimeDelta::days(400));
    let seat = usecases::founding::found_estate(world, ESTATE, true)?;
    let mut buildings = Vec::new();
    let mut plans = Vec::new();
    for form in [blocks::slab(), blocks::tower(), blocks::mill()] {
        let code = form.code.clone();
        let id = draw_building(world, &seat, form, &format!("draw {code}"))?;
        if code == "MM" {
            state_roof(world, &seat, (id, "sheds"), "the mill's sheds")?;
        }
        let spaces = world.acting(&seat, |tx| Ok(tx.spaces(Some(id))?))?;
        plans.extend(fleet::plans(&mut dice, &code, &spaces, today));
        buildings.push(id);
    }
    let people = people::enter(world, &seat, sign_in, (&buildings, today))?;
    let telling = past::Telling::new((world.clone(), Arc::clone(clock)), &seat, &shipped, today);
    let units = telling.tell(&mut dice, plans, |then| {
        usecases::forecast::refit(then, &seat)?;
        // The book of that day: what was said then is met a year later with what happened.
        usecases::forecast::keep_record(then, &seat).map(drop)
    })?;
    water::keep((world, clock), &seat, &people, (&buildings, &units), now)?;
    clock.set(now - Days::new(1));
    present::set_the_scene((world, clock), &seat, &people, &units, now)?;
    clock.set(now);
    usecases::forecast::refit(world, &seat)?;
    usecases::forecast::keep_record(world, &seat)?;
    usecases::stands_out::look_for_groups(world, &seat)?;
    usecases::plan::place_visits(world, &seat, "demo: first round")?;
    let drill = usecases::drill::view(world, &seat, None)?.ask;
    usecases::drill::run(world, &seat, drill, "demo: cold-night drill")?;
    purses::fill(world, &seat, &buildings, today)?;
    Ok(Summary {
        units: units.len(),
        buildings: buildings.len(),
    })
}
