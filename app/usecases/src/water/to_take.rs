//! The buildings whose round somebody takes, and those that have none yet.
use chrono::NaiveDate;
use inspection::calendar::add_months;
use terms::place::BuildingCard;

use super::{KEEPERS, WALKERS, monthly};
use crate::duties::dates::{Window, window};
use crate::work::wall;
use crate::{Error, Seat, World};

/// A building whose round somebody takes.
#[derive(Clone, Debug)]
pub struct RoundBuilding {
    /// The building.
    pub building: BuildingCard,
    /// Outlets on the round.
    pub outlets: usize,
    /// The day of the last round.
    pub last: Option<NaiveDate>,
    /// The days in which the next round counts; `None` without any duty or date.
    pub next: Option<Window>,
    /// Readings out of their limit about which nobody has said what is done.
    pub open: usize,
}

/// The buildings whose round this seat may take, those first whose last day is nearest.
pub fn rounds_to_take(world: &World, seat: &Seat) -> Result<Vec<RoundBuilding>, Error> {
    seat.must_be(&WALKERS)?;
    world.acting(seat, |tx| {
        let today = wall::day(tx.at());
        let with_rounds = monthly::buildings_with_rounds(tx)?;
        let outlets = tx.outlets(None)?;
        let open = super::out_of_limit::open_by_building(tx, today)?;
        let latest = tx.latest_completions(false)?;
        let mut found = Vec::new();
        for building in tx.buildings()? {
            if !with_rounds.contains(&building.id) || !seat.grant().reaches(building.id) {
                continue;
            }
            let rounds = tx.temperature_rounds(Some(building.id), add_months(today, -24))?;
            let next = monthly::duties_of(tx, building.id)?
                .into_iter()
                .filter_map(|(duty, rule)| {
                    let deadline = latest.get(&duty.id)?.next_deadline?;
                    Some(window(&rule, deadline))
                })
                .min_by_key(|w| w.last);
            found.push(RoundBuilding {
                outlets: outlets
                    .iter()
                    .filter(|o| o.building == building.id && o.ended_on.is_none())
                    .count(),
                last: rounds.first().map(|r| r.taken_on),
                next,
                open: open.get(&building.id).copied().unwrap_or(0),
                building,
            });
        }
        found.sort_by_key(|b| (b.next.map(|w| w.last), b.building.name.clone()));
        Ok(found)
    })
}

/// The buildings in reach that have no outlet on a round yet, by name.
pub fn buildings_without(world: &World, seat: &Seat) -> Result<Vec<BuildingCard>, Error> {
    seat.must_be(&KEEPERS)?;
    world.acting(seat, |tx| {
        let with_rounds = monthly::buildings_with_rounds(tx)?;
        let mut found = tx.buildings()?;
        found.retain(|b| !with_rounds.contains(&b.id) && seat.grant().reaches(b.id));
        Ok(found)
    })
}
