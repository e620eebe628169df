//! The outlets of a building as the desk keeps them: what is on the round, and in which order one walks.
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::units::Which;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, OutletCard, OutletId, OutletPlace, SpaceId, UnitId, UsedAs};
use uuid::Uuid;

use super::{KEEPERS, WALKERS};
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// An outlet about to join the round, at its end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NewOutlet {
    /// Where.
    pub building: BuildingId,
    /// "Cleaner’s sink, ground floor"
    pub name: String,
    /// What it tells.
    pub place: OutletPlace,
    /// The space it is in.
    pub space: Option<SpaceId>,
    /// The store that serves it.
    pub unit: Option<UnitId>,
    /// Seldom used.
    pub little_used: bool,
}

/// Which way an outlet moves in the walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Step {
    /// Earlier.
    Up,
    /// Later.
    Down,
}

/// The outlets of a building with what a new one may name.
#[derive(Clone, Debug)]
pub struct OutletsView {
    /// The building.
    pub building: BuildingCard,
    /// On the round, in walking order.
    pub on_round: Vec<OutletCard>,
    /// Taken off.
    pub ended: Vec<OutletCard>,
    /// The spaces of the building.
    pub spaces: Vec<SpaceCard>,
    /// Stores in its plant rooms and on its roof that may serve an outlet.
    pub stores: Vec<UnitCard>,
}

/// The outlets of a building.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn outlets_view(
    world: &World,
    seat: &Seat,
    building: BuildingId,
) -> Result<OutletsView, Error> {
    seat.must_be(&WALKERS)?;
    world.acting(seat, |tx| {
        seat.must_reach(building)?;
        let card = tx.building(building)?;
        let spaces = tx.spaces(Some(building))?;
        let stores = stores_of(tx, building, &spaces)?;
        let (on_round, ended) = tx
            .outlets(Some(building))?
            .into_iter()
            .partition(|o| o.ended_on.is_none());
        Ok(OutletsView {
            building: card,
            on_round,
            ended,
            spaces,
            stores,
        })
    })
}

/// Stores that serve more than the flat they stand in.
fn stores_of(
    tx: &mut Tx<'_>,
    building: BuildingId,
    spaces: &[SpaceCard],
) -> Result<Vec<UnitCard>, Error> {
    let shared = |space: SpaceId| {
        spaces
            .iter()
            .any(|s| s.id == space && matches!(s.used_as, UsedAs::Plant | UsedAs::Roof))
    };
    Ok(tx
        .units(Which::Building(building))?
        .into_iter()
        .filter(|u| u.fate == Fate::InService && shared(u.space))
        .filter(|u| matches!(u.kind.as_str(), "TS" | "VC" | "UV" | "CT"))
        .collect())
}

/// Adds an outlet at the end of the walk.
///
/// # Errors
/// [`Error::Invalid`] at `name`, `space` or `unit`; [`Error::NotFound`] outside the seat's reach.
pub fn add_outlet(
    world: &World,
    seat: &Seat,
    form: NewOutlet,
    once: &str,
) -> Result<OutletId, Error> {
    seat.must_be(&KEEPERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            seat.must_reach(form.building)?;
            tx.building(form.building)?;
            let known = tx.outlets(Some(form.building))?;
            Error::unless_empty(wrongs(tx, &form, &known)?)?;
            let last = known.iter().map(|o| o.walk).max().unwrap_or(0);
            let id = tx.add_outlet(&OutletCard {
                id: OutletId(Uuid::nil()),
                building: form.building,
                name: form.name.trim().to_owned(),
                place: form.place,
                space: form.space,
                unit: form.unit,
                walk: last.saturating_add(1),
                little_used: form.little_used,
                ended_on: None,
            })?;
            tx.note(
                "outlet added",
                &format!("building {}", form.building),
                &json!({ "outlet": id, "name": form.name.trim(), "place": form.place.code() }),
            );
            Ok(id)
        })
    })
}

fn wrongs(
    tx: &mut Tx<'_>,
    form: &NewOutlet,
    known: &[OutletCard],
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    let name = form.name.trim();
    if name.is_empty() {
        wrongs.push(FieldError::at(
            "name",
            "Say which tap it is, so that somebody new finds it.",
        ));
    }
    let twice = known
        .iter()
        .any(|o| o.ended_on.is_none() && o.place == form.place && o.name == name);
    if twice {
        wrongs.push(FieldError::at("name", "It is on the round already."));
    }
    if let Some(space) = form.space
        && tx.space(space)?.building != form.building
    {
        wrongs.push(FieldError::at(
            "space",
            "That space is in another building.",
        ));
    }
    let at_store = matches!(
        form.place,
        OutletPlace::StoreOutflow | OutletPlace::StoreReturn
    );
    match form.unit {
        Some(unit) if tx.unit(unit)?.building != form.building => {
            wrongs.push(FieldError::at("unit", "That store is in another building."));
        }
        None if at_store => {
            wrongs.push(FieldError::at("unit", "Say which store it is at."));
        }
        _ => {}
    }
    Ok(wrongs)
}

/// The outlet, when the seat reaches it and it is still on the round.
fn held(tx: &mut Tx<'_>, seat: &Seat, id: OutletId) -> Result<OutletCard, Error> {
    let card = tx
        .outlets(None)?
        .into_iter()
        .find(|o| o.id == id)
        .ok_or(Error::NotFound("outlet"))?;
    seat.must_reach(card.building)?;
    if card.ended_on.is_some() {
        return Err(Error::Conflict(
            "It was taken off the round before you. Nothing was changed by you.".to_owned(),
        ));
    }
    Ok(card)
}

/// Takes an outlet off the round; its temperatures stay.
///
/// # Errors
/// [`Error::Conflict`] when it was taken off before.
pub fn end_outlet(
    world: &World,
    seat: &Seat,
    id: OutletId,
    once: &str,
) -> Result<BuildingId, Error> {
    seat.must_be(&KEEPERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &("end", id), |tx| {
            let card = held(tx, seat, id)?;
            let today = wall::day(tx.at());
            let building = card.building;
            tx.state_outlet(
                id,
                &OutletCard {
                    ended_on: Some(today),
                    ..card
                },
            )?;
            tx.note(
                "outlet taken off the round",
                &format!("building {building}"),
                &json!({ "outlet": id, "on": today }),
            );
            Ok(building)
        })
    })
}

/// Moves an outlet one place in the walk; at an end it stays.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn move_outlet(
    world: &World,
    seat: &Seat,
    (id, step): (OutletId, Step),
    once: &str,
) -> Result<BuildingId, Error> {
    seat.must_be(&KEEPERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, step), |tx| {
            let card = held(tx, seat, id)?;
            let walk: Vec<OutletCard> = tx
                .outlets(Some(card.building))?
                .into_iter()
                .filter(|o| o.ended_on.is_none())
                .collect();
            let at = walk.iter().position(|o| o.id == id);
            let beside = at.and_then(|at| match step {
                Step::Up => at.checked_sub(1),
                Step::Down => Some(at + 1),
            });
            if let Some(other) = beside.and_then(|at| walk.get(at)).cloned() {
                let (mine, theirs) = (card.walk, other.walk);
                let building = card.building;
                tx.state_outlet(
                    id,
                    &OutletCard {
                        walk: theirs,
                        ..card
                    },
                )?;
                tx.state_outlet(
                    other.id,
                    &OutletCard {
                        walk: mine,
                        ..other
                    },
                )?;
                tx.note(
                    "walk changed",
                    &format!("building {building}"),
                    &json!({ "outlet": id, "walk": theirs }),
                );
                return Ok(building);
            }
            Ok(card.building)
        })
    })
}
