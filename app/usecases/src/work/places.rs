//! Finding a flat while its resident is on the telephone: by flat, building, unit number, or the resident's name.
use store::Tx;
use store::jobs::{Job, Which as WhichJobs};
use store::units::Which;
use terms::place::SpaceCard;
use terms::{Country, Fate, Role, SpaceId, UnitId};

use super::clock::{GasScript, gas_script};
use crate::{Error, Seat, World};

/// A unit that stands in a place.
#[derive(Clone, Debug)]
pub struct PlaceUnit {
    /// Its id.
    pub id: UnitId,
    /// Its lasting number.
    pub number: String,
    /// "combi gas boiler"
    pub kind_name: String,
}

/// A space a caller may mean.
#[derive(Clone, Debug)]
pub struct Place {
    /// The space.
    pub space: SpaceCard,
    /// The building's country.
    pub country: Country,
    /// Its units in service.
    pub units: Vec<PlaceUnit>,
    /// The resident's name and telephone, for the desk.
    pub resident: Option<(String, String)>,
    /// Somebody there needs heat the same day.
    pub same_day: bool,
    /// Jobs not finished.
    pub open: Vec<Job>,
    /// What to say first when they smell gas.
    pub script: GasScript,
}

/// The most places answered.
const MOST: usize = 12;

/// The spaces that fit what was typed. Residents' names are looked up for the agent only.
pub fn find_places(world: &World, seat: &Seat, text: &str) -> Result<Vec<SpaceCard>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    world.acting(seat, |tx| {
        let mut ids: Vec<SpaceId> = Vec::new();
        for (kind, id) in tx.find(text, 200)? {
            match kind.as_str() {
                "space" => ids.push(SpaceId(id)),
                "unit" => ids.push(tx.unit(UnitId(id))?.space),
                _ => {}
            }
        }
        if text.trim().chars().count() >= 2 && matches!(seat.role(), Role::Agent | Role::Supervisor)
        {
            ids.extend(tx.spaces_of_resident(text, MOST as i64)?);
        }
        ids.sort();
        ids.dedup();
        let mut found = Vec::new();
        for id in ids {
            let space = tx.space(id)?;
            if seat.grant().reaches(space.building) {
                found.push(space);
            }
        }
        let wanted = store::search::words_of(text);
        found.sort_by_key(|s| {
            let own = store::search::words_of(&s.name);
            let whole = wanted.iter().filter(|w| own.contains(w)).count();
            (
                std::cmp::Reverse(whole),
                s.building_name.clone(),
                s.ordinal,
                s.place,
            )
        });
        found.truncate(MOST);
        Ok(found)
    })
}

/// What the desk sees of one place while a call is taken.
pub fn place_of(world: &World, seat: &Seat, space: SpaceId) -> Result<Place, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    world.acting(seat, |tx| {
        let card = tx.space(space)?;
        seat.must_reach(card.building)?;
        let country = tx.building(card.building)?.country;
        let same_day = tx.needs_of(&[space])?.iter().any(|n| n.same_day);
        let open = tx
            .jobs(&WhichJobs::Space(space))?
            .into_iter()
            .filter(|j| !j.state.is_closed())
            .collect();
        Ok(Place {
            units: units_in(tx, space)?,
            resident: tx.resident(space)?,
            same_day,
            open,
            script: gas_script(tx, country)?,
            country,
            space: card,
        })
    })
}

pub(super) fn units_in(tx: &mut Tx<'_>, space: SpaceId) -> Result<Vec<PlaceUnit>, Error> {
    let kinds = tx.kinds()?;
    Ok(tx
        .units(Which::Space(space))?
        .into_iter()
        .filter(|u| u.fate == Fate::InService && u.space == space)
        .map(|u| PlaceUnit {
            kind_name: kinds
                .iter()
                .find(|k| k.code == u.kind)
                .map_or_else(|| u.kind.clone(), |k| k.name.clone()),
            id: u.id,
            number: u.number,
        })
        .collect())
}
