//! In whose name records and letters go out: the managing agent's name, address and telephone, as the agent states them.
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::Role;

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
            wrongs.push(FieldError::at(field, "That is longer than a letterhead takes."));
        }
    }
    wrongs
}
