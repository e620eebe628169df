//! In whose name records and letters go out, and where the buildings stand, as the agent states it.
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::{BuildingId, Role};

use crate::{Error, FieldError, Seat, World};

const NAME: &str = "letterhead.name";
const ADDRESS: &str = "letterhead.address";
const TELEPHONE: &str = "letterhead.telephone";

/// Name and address of landlord or agent, as the record of a gas safety check asks for them; each may be empty.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Letterhead {
    /// The firm's name.
    pub name: String,
    /// One line, parts parted by commas.
    pub address: String,
    /// To be rung by residents.
    pub telephone: String,
}

/// As stated; empty where nobody stated it.
pub(crate) fn letterhead_in(tx: &mut Tx<'_>) -> Result<Letterhead, Error> {
    Ok(Letterhead {
        name: tx.setting(NAME)?.unwrap_or_default(),
        address: tx.setting(ADDRESS)?.unwrap_or_default(),
        telephone: tx.setting(TELEPHONE)?.unwrap_or_default(),
    })
}

/// The letterhead as stated.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk.
pub fn letterhead(world: &World, seat: &Seat) -> Result<Letterhead, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, letterhead_in)
}

/// States the letterhead; papers that were issued or sent keep the one they went out under.
///
/// # Errors
/// [`Error::Invalid`] at `name` and `address` when they are empty or too long for a line.
pub fn state_letterhead(
    world: &World,
    seat: &Seat,
    form: &Letterhead,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    Error::unless_empty(wrongs(form))?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            for (key, value) in [
                (NAME, &form.name),
                (ADDRESS, &form.address),
                (TELEPHONE, &form.telephone),
            ] {
                tx.set(key, value.trim())?;
            }
            tx.note("letterhead stated", "letterhead", &json!(form));
            Ok(())
        })
    })
}

/// The buildings within reach with their addresses, by name.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk.
pub fn addresses(world: &World, seat: &Seat) -> Result<Vec<(BuildingId, String, String)>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        Ok(tx
            .buildings()?
            .into_iter()
            .filter(|b| seat.grant().reaches(b.id))
            .map(|b| (b.id, b.name, b.address))
            .collect())
    })
}

/// States where a building stands; what stood before stays readable.
///
/// # Errors
/// [`Error::Invalid`] at `place` when it is empty or too long; [`Error::NotFound`] outside the seat's reach.
pub fn state_address(
    world: &World,
    seat: &Seat,
    (building, address): (BuildingId, &str),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    seat.must_reach(building)?;
    let address = address.trim();
    if address.is_empty() {
        return Err(Error::field("place", "Say where the building stands."));
    }
    if address.chars().count() > 200 {
        return Err(Error::field("place", "That is longer than an address."));
    }
    world.acting(seat, |tx| {
        tx.once(once, &(building, address), |tx| {
            let mut card = tx.building(building)?;
            if card.address != address {
                address.clone_into(&mut card.address);
                tx.state_building(building, &card)?;
                tx.note(
                    "address stated",
                    &format!("building {building}"),
                    &json!({ "address": address }),
                );
            }
            Ok(())
        })
    })
}

fn wrongs(form: &Letterhead) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    for (field, value, missing) in [
        (
            "name",
            &form.name,
            "Say in whose name records and letters go out.",
        ),
        (
            "address",
            &form.address,
            "Say the address a resident or the landlord may write to.",
        ),
    ] {
        if value.trim().is_empty() {
            wrongs.push(FieldError::at(field, missing));
        }
    }
    for (field, value) in [
        ("name", &form.name),
        ("address", &form.address),
        ("telephone", &form.telephone),
    ] {
        if value.chars().count() > 200 {
            wrongs.push(FieldError::at(
                field,
                "That is longer than a letterhead takes.",
            ));
        }
    }
    wrongs
}
