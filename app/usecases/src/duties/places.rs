//! Duties that stand on no unit: a home's, a plant room's, the building's own. Where each may be opened is the trade's
//! dated data (`holds_on` in `DUTIES.csv`).
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::duties::DutyCard;
use store::units::Which;
use terms::place::{BuildingCard, SpaceCard};
use terms::trade::DutyRule;
use terms::{AccountId, BuildingId, DutyId, Fate, Role, SpaceId, UnitId, UsedAs};
use uuid::Uuid;

use super::by_hand::opened_by_desk;
use super::opened_by_hand;
use super::proof::{Proved, proved, writers};
use crate::founding::holds_on;
use crate::work::{names_in, wall};
use crate::{Error, Seat, World};

/// A building has these once, whichever of its units or places they stand on.
const ONCE_A_BUILDING: [&str; 5] = ["B1", "N1", "N2", "N4", "Q1"];

/// What a duty stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum DutyAt {
    /// The whole building.
    Building(BuildingId),
    /// A home or a plant room.
    Space(SpaceId),
    /// A unit.
    Unit(UnitId),
}

impl DutyAt {
    /// What this duty stands on.
    pub fn of(card: &DutyCard) -> Self {
        match (card.unit, card.space) {
            (Some(unit), _) => Self::Unit(unit),
            (None, Some(space)) => Self::Space(space),
            (None, None) => Self::Building(card.building),
        }
    }
}

/// As the audit names it: "unit …", "space …", "building …".
impl std::fmt::Display for DutyAt {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Building(id) => write!(f, "building {id}"),
            Self::Space(id) => write!(f, "space {id}"),
            Self::Unit(id) => write!(f, "unit {id}"),
        }
    }
}

/// The duties of one place.
#[derive(Clone, Debug)]
pub struct PlaceDuties {
    /// The building.
    pub building: BuildingCard,
    /// The home or plant room; none when it is the building.
    pub space: Option<SpaceCard>,
    /// Its duties with their record, those that hold first.
    pub duties: Vec<Proved>,
    /// What may be opened here and does not run yet.
    pub may_open: Vec<DutyRule>,
    /// Where a job for one of them is done: the place itself, else the plant room, a common part, or the first home.
    pub work_in: Option<SpaceId>,
    /// Who wrote.
    pub names: BTreeMap<AccountId, String>,
}

/// A duty about to be opened on a place.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OpenAt {
    /// Where: never a unit.
    pub at: DutyAt,
    /// By which rule.
    pub rule: String,
    /// By when it is due, when that is known.
    pub deadline: Option<NaiveDate>,
}

/// The building and space of a place, when the seat reaches it.
fn place(
    tx: &mut Tx<'_>,
    seat: &Seat,
    at: DutyAt,
) -> Result<(BuildingCard, Option<SpaceCard>), Error> {
    let (building, space) = match at {
        DutyAt::Building(id) => (id, None),
        DutyAt::Space(id) => {
            let space = tx.space(id)?;
            (space.building, Some(space))
        }
        DutyAt::Unit(_) => return Err(Error::NotFound("place")),
    };
    seat.must_reach(building)?;
    Ok((tx.building(building)?, space))
}

/// The word of the data for a place; none where no duty stands.
fn word_of(space: Option<&SpaceCard>) -> Option<&'static str> {
    match space.map(|s| s.used_as) {
        None => Some("building"),
        Some(UsedAs::Flat) => Some("home"),
        Some(UsedAs::Plant) => Some("plant"),
        Some(UsedAs::Riser | UsedAs::Roof | UsedAs::Common | UsedAs::Stair) => None,
    }
}

/// What runs already where this rule would be opened, in words; none when nothing does.
fn runs(
    tx: &mut Tx<'_>,
    (building, space): (&BuildingCard, Option<&SpaceCard>),
    rule: &DutyRule,
) -> Result<Option<String>, Error> {
    let open = |card: &DutyCard| card.rule == rule.code && card.ended_on.is_none();
    let once = ONCE_A_BUILDING.contains(&rule.code.as_str());
    let here = tx
        .duties_of_places(building.id)?
        .into_iter()
        .any(|card| open(&card) && (once || card.space == space.map(|s| s.id)));
    if here {
        return Ok(Some("This duty runs here already.".to_owned()));
    }
    // A home's duty may stand on one of its units, as the building's may.
    let on_units = match space {
        Some(space) if space.used_as == UsedAs::Flat => {
            let mut units = tx.units(Which::Space(space.id))?;
            units.retain(|u| u.space == space.id);
            units
        }
        None if once => tx.units(Which::Building(building.id))?,
        _ => Vec::new(),
    };
    let ids: Vec<UnitId> = on_units
        .iter()
        .filter(|u| u.fate == Fate::InService)
        .map(|u| u.id)
        .collect();
    let on = tx.duties_of_units(&ids)?.into_iter().find(open);
    let unit = on.and_then(|card| on_units.iter().find(|u| Some(u.id) == card.unit));
    Ok(unit.map(|unit| {
        format!(
            "This duty runs here already, on {}: once is enough.",
            unit.number
        )
    }))
}

/// The rules the desk may open on a place.
fn may_open(
    tx: &mut Tx<'_>,
    (building, space): (&BuildingCard, Option<&SpaceCard>),
) -> Result<Vec<DutyRule>, Error> {
    let Some(word) = word_of(space) else {
        return Ok(Vec::new());
    };
    let held = holds_on()?;
    let mut may = Vec::new();
    for rule in tx.duty_rules()? {
        let here = held
            .get(&rule.code)
            .is_some_and(|words| words.iter().any(|w| w == word));
        if here && opened_by_hand(&rule) && runs(tx, (building, space), &rule)?.is_none() {
            may.push(rule);
        }
    }
    Ok(may)
}

/// The duties of a place with their record, and what may be opened there.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach, and for a unit.
pub fn place_duties(world: &World, seat: &Seat, at: DutyAt) -> Result<PlaceDuties, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let today = wall::day(world.now());
    let names = names_in(world, seat.estate())?;
    let mut found = world.acting(seat, |tx| {
        let (building, space) = place(tx, seat, at)?;
        let mut cards = tx.duties_of_places(building.id)?;
        cards.retain(|card| DutyAt::of(card) == at);
        let duties = proved(tx, &names, (cards, &BTreeMap::new()), today)?;
        let may_open = may_open(tx, (&building, space.as_ref()))?;
        let work_in = match &space {
            Some(space) => Some(space.id),
            None => work_in(tx.spaces(Some(building.id))?),
        };
        Ok::<_, Error>(PlaceDuties {
            building,
            space,
            duties,
            may_open,
            work_in,
            names: BTreeMap::new(),
        })
    })?;
    found.names = writers(world, &found.duties)?;
    Ok(found)
}

fn work_in(spaces: Vec<SpaceCard>) -> Option<SpaceId> {
    let of = |used_as| spaces.iter().find(|s| s.used_as == used_as);
    of(UsedAs::Plant)
        .or_else(|| of(UsedAs::Common))
        .or_else(|| spaces.first())
        .map(|s| s.id)
}

/// Opens a duty on a home, a plant room or a building.
///
/// # Errors
/// [`Error::Invalid`] at `rule` or `deadline`; [`Error::Conflict`] when it runs there already.
pub fn open_at(world: &World, seat: &Seat, form: &OpenAt, once: &str) -> Result<DutyId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            let (building, space) = place(tx, seat, form.at)?;
            let word = word_of(space.as_ref());
            let held = holds_on()?;
            let rule = tx
                .duty_rules()?
                .into_iter()
                .filter(opened_by_hand)
                .find(|rule| rule.code == form.rule)
                .filter(|rule| {
                    let words = held.get(&rule.code);
                    word.is_some_and(|word| words.is_some_and(|w| w.iter().any(|w| w == word)))
                })
                .ok_or_else(|| Error::field("rule", "Choose which duty holds here."))?;
            if let Some(words) = runs(tx, (&building, space.as_ref()), &rule)? {
                return Err(Error::Conflict(format!("{words} Nothing was changed.")));
            }
            let card = DutyCard {
                id: DutyId(Uuid::nil()),
                rule: rule.code.clone(),
                unit: None,
                space: space.as_ref().map(|s| s.id),
                building: building.id,
                ended_on: None,
            };
            opened_by_desk(tx, &card, (&rule, form.deadline))
        })
    })
}

/// Ends a duty of a place that does not hold there any more; its record stays.
///
/// # Errors
/// [`Error::Invalid`] without a reason; [`Error::NotFound`] for one of a unit, which ends with its unit.
pub fn close_at(
    world: &World,
    seat: &Seat,
    (duty, reason): (DutyId, &str),
    once: &str,
) -> Result<DutyAt, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &("close", duty, reason), |tx| {
            let card = tx.duty(duty)?;
            seat.must_reach(card.building)?;
            if card.unit.is_some() || card.ended_on.is_some() {
                return Err(Error::NotFound("duty"));
            }
            if reason.trim().is_empty() {
                return Err(Error::field("reason", "Say why it does not hold any more."));
            }
            tx.end_duty(duty, wall::day(tx.at()))?;
            let at = DutyAt::of(&card);
            tx.note(
                "duty ended",
                &at.to_string(),
                &json!({ "duty": duty, "rule": card.rule, "reason": reason.trim() }),
            );
            Ok(at)
        })
    })
}
