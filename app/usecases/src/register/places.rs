//! Spaces: entered, corrected, who lives there, what they need, how to get in.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::residents::WayIn;
use store::tenures::TenureRow;
use store::units::{Stay, Which};
use terms::place::{Need, SpaceCard};
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{BuildingId, LevelId, Role, SpaceId, UsedAs};
use uuid::Uuid;

use super::needed::{Needed, needed_of};
use super::site::laid_over;
use super::{READERS, WRITERS, draw};
use crate::forecast::{PEOPLE_FACT, renew_unit};
use crate::{Error, FieldError, Seat, World};

/// A space about to be entered.
#[derive(Clone, Debug, Serialize)]
pub struct NewSpace {
    /// The building.
    pub building: BuildingId,
    /// The storey; 0 is the ground.
    pub ordinal: i32,
    /// "Flat 14"
    pub name: String,
    /// Its use.
    pub used_as: UsedAs,
    /// The stair that reaches it.
    pub stair: Option<String>,
}

/// What can be corrected of a space.
#[derive(Clone, Debug, Serialize)]
pub struct SpaceForm {
    /// "Flat 14"
    pub name: String,
    /// Tenancy or lease under seven years; `None` when unknown.
    pub let_short: Option<bool>,
    /// The stair that reaches it.
    pub stair: Option<String>,
    /// What options need to know, merged over what stands: a key with null is forgotten.
    pub site: serde_json::Map<String, serde_json::Value>,
}

/// Who lives in a space.
#[derive(Clone, Debug, Serialize)]
pub struct ResidentForm {
    /// As they wish to be called.
    pub name: String,
    /// Their telephone.
    pub phone: String,
    /// Since when.
    pub from_on: NaiveDate,
}

/// A need of whoever lives there.
#[derive(Clone, Debug, Serialize)]
pub struct NeedForm {
    /// What the visitor must do, never a diagnosis.
    pub words: String,
    /// Shortens the clock.
    pub same_day: bool,
    /// Since when.
    pub from_on: NaiveDate,
}

/// A space with all its units over time.
#[derive(Clone, Debug)]
pub struct SpaceView {
    /// The space.
    pub space: SpaceCard,
    /// Its units, those in service first.
    pub units: Vec<UnitCard>,
    /// Their stays here, oldest first.
    pub stays: Vec<Stay>,
    /// How many of a kind it needs, of those that stand there.
    pub needed: Vec<Needed>,
    /// The kinds, for names.
    pub kinds: Vec<Kind>,
    /// Who lives there; only for the agent.
    pub resident: Option<(String, String)>,
    /// What they need; only for the agent and the out-of-hours desk.
    pub needs: Vec<Need>,
    /// How to get in, without the code.
    pub way_in: Option<WayIn>,
    /// Who held it from which day on, the oldest first; what nobody stated is not known.
    pub tenures: Vec<TenureRow>,
}

/// Enters a space at the right end of a storey.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field.
pub fn add_space(world: &World, seat: &Seat, form: NewSpace, once: &str) -> Result<SpaceId, Error> {
    seat.must_be(&WRITERS)?;
    seat.must_reach(form.building)?;
    let mut wrongs = Vec::new();
    if form.name.trim().is_empty() {
        wrongs.push(FieldError::at("name", "A space needs a name."));
    }
    if !(-3..=60).contains(&form.ordinal) {
        wrongs.push(FieldError::at("ordinal", "Storeys run from −3 to 60."));
    }
    Error::unless_empty(wrongs)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let building = tx.building(form.building)?;
            let there = tx.spaces(Some(form.building))?;
            let name = form.name.trim();
            if there.iter().any(|s| s.name.eq_ignore_ascii_case(name)) {
                return Err(Error::field(
                    "name",
                    format!("There is already a {name} in {}.", building.name),
                ));
            }
            let level = tx.add_level(form.building, form.ordinal, &draw::label(form.ordinal))?;
            let place = there
                .iter()
                .filter(|s| s.ordinal == form.ordinal)
                .map(|s| s.place + 1)
                .max()
                .unwrap_or(0);
            let card = new_card(&form, &building.name, level, place);
            let id = tx.add_space(&card, None)?;
            let body = json!({"name": name, "storey": form.ordinal});
            tx.note("space entered", &format!("space {id}"), &body);
            Ok(id)
        })
    })
}

fn new_card(form: &NewSpace, building_name: &str, level: LevelId, place: i32) -> SpaceCard {
    SpaceCard {
        id: SpaceId(Uuid::nil()),
        building: form.building,
        building_name: building_name.to_owned(),
        level,
        ordinal: form.ordinal,
        place,
        name: form.name.trim().to_owned(),
        used_as: form.used_as,
        stair: form.stair.clone(),
        let_short: None,
        site: json!({}),
    }
}

/// States anew what is known of a space.
///
/// # Errors
/// [`Error::Invalid`] when the name is empty; [`Error::NotFound`] for another estate's space.
pub fn correct_space(
    world: &World,
    seat: &Seat,
    space: SpaceId,
    form: SpaceForm,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    if form.name.trim().is_empty() {
        return Err(Error::field("name", "A space needs a name."));
    }
    world.acting(seat, |tx| {
        tx.once(once, &(space, &form), |tx| {
            let mut card = tx.space(space)?;
            seat.must_reach(card.building)?;
            form.name.trim().clone_into(&mut card.name);
            card.let_short = form.let_short;
            card.stair.clone_from(&form.stair);
            let people = card.site.get(PEOPLE_FACT).cloned();
            card.site = serde_json::Value::Object(laid_over(&card.site, &form.site));
            tx.state_space(space, &card, None)?;
            let other_home = card.site.get(PEOPLE_FACT) != people.as_ref();
            // Whether a duty is ours can turn on the letting.
            for unit in tx.units(Which::Space(space))? {
                if unit.fate == terms::Fate::InService && unit.space == space {
                    crate::duties::ensure_for_unit(tx, &unit)?;
                    if other_home {
                        renew_unit(tx, unit.id)?;
                    }
                }
            }
            let body = json!({"let_short": card.let_short, "site": card.site});
            tx.note("space corrected", &format!("space {space}"), &body);
            Ok(())
        })
    })
}

/// Enters who lives in a space. The audit notes that it was done, not who it is.
pub fn add_resident(
    world: &World,
    seat: &Seat,
    space: SpaceId,
    form: ResidentForm,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    if form.name.trim().is_empty() {
        return Err(Error::field("resident", "Say how they wish to be called."));
    }
    // The key's own record must not keep the name: only that a form with this key was taken.
    world.acting(seat, |tx| {
        tx.once(once, &("resident", space, form.from_on), |tx| {
            let card = tx.space(space)?;
            seat.must_reach(card.building)?;
            tx.add_resident(space, form.name.trim(), form.phone.trim(), form.from_on)?;
            tx.note("resident entered", &format!("space {space}"), &json!({}));
            Ok(())
        })
    })
}

/// Enters a need.
pub fn add_need(
    world: &World,
    seat: &Seat,
    space: SpaceId,
    form: NeedForm,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    if form.words.trim().is_empty() {
        return Err(Error::field(
            "need",
            "Say what the visitor must do: “needs heat the same day”.",
        ));
    }
    world.acting(seat, |tx| {
        tx.once(once, &("need", space, form.from_on), |tx| {
            let card = tx.space(space)?;
            seat.must_reach(card.building)?;
            tx.add_need(&Need {
                space,
                words: form.words.trim().to_owned(),
                same_day: form.same_day,
                from_on: form.from_on,
            })?;
            tx.note("need entered", &format!("space {space}"), &json!({}));
            Ok(())
        })
    })
}

/// States how to reach a space and what to shut off there.
pub fn state_way_in(
    world: &World,
    seat: &Seat,
    space: SpaceId,
    way: WayIn,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &("way in", space), |tx| {
            let card = tx.space(space)?;
            seat.must_reach(card.building)?;
            // An empty code leaves the one that stands.
            let kept = tx.way_in(space)?.unwrap_or_default();
            let way = WayIn {
                code: if way.code.trim().is_empty() {
                    kept.code
                } else {
                    way.code.trim().to_owned()
                },
                ..way
            };
            tx.state_way_in(space, &way)?;
            tx.note("way in stated", &format!("space {space}"), &json!({}));
            Ok(())
        })
    })
}

/// A space with its units over time. Residents and needs only for those who act on them; the door code never.
pub fn space_view(world: &World, seat: &Seat, space: SpaceId) -> Result<SpaceView, Error> {
    seat.must_be(&READERS)?;
    world.acting(seat, |tx| {
        let card = tx.space(space)?;
        seat.must_reach(card.building)?;
        let mut units = tx.units(Which::Space(space))?;
        units.sort_by_key(|u| (u.fate != terms::Fate::InService, u.number.clone()));
        let acts = seat.role() == Role::Agent;
        let (kinds, said) = (tx.kinds()?, tx.space_needed_over_time(space)?);
        Ok(SpaceView {
            needed: needed_of(tx, &card, (&units, &kinds), &said)?,
            kinds,
            units,
            stays: tx.stays_in(space)?,
            resident: if acts { tx.resident(space)? } else { None },
            needs: if acts || seat.role() == Role::OutOfHours {
                tx.needs_of(&[space])?
            } else {
                Vec::new()
            },
            way_in: tx.way_in(space)?.map(|way| WayIn {
                code: String::new(),
                ..way
            }),
            tenures: tx.tenures_of(&[space])?,
            space: card,
        })
    })
}
