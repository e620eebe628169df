//! A firm's own paper stated: by the desk of an estate it works for, or by its own office.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::json;
use terms::{FirmId, FirmPaper, FirmPaperSort, Role};

use crate::{Error, FieldError, Seat, World};

/// A paper about to be stated.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct StateFirmPaper {
    /// The firm.
    pub firm: FirmId,
    /// Which.
    pub what: FirmPaperSort,
    /// Its number.
    pub number: String,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day.
    pub until_on: NaiveDate,
}

/// States a firm's paper; one of the same number stands in its place from now on.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::NotFound`] for a firm out of reach.
pub fn state_firm_paper(
    world: &World,
    seat: &Seat,
    form: StateFirmPaper,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Office])?;
    let firms = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.firms_of(seat.estate())?))?;
    let own = match seat.role() {
        Role::Office => Some(seat.firm()?),
        _ => None,
    };
    if !firms
        .iter()
        .any(|f| f.id == form.firm && own.is_none_or(|own| own == f.id))
    {
        return Err(Error::NotFound("firm"));
    }
    let number = form.number.trim();
    let mut wrongs = Vec::new();
    if number.is_empty() {
        wrongs.push(FieldError::at(
            "number",
            "Give its number as it stands on it.",
        ));
    }
    if form.until_on < form.from_on {
        wrongs.push(FieldError::at("until", "It ends before it begins."));
    }
    Error::unless_empty(wrongs)?;
    let paper = FirmPaper {
        what: form.what,
        number: number.to_owned(),
        from_on: form.from_on,
        until_on: form.until_on,
    };
    // What stands already is not written twice, so that the same post again does nothing here either.
    let (at, who) = (world.now(), seat.account());
    world
        .pool
        .at_door::<_, Error>(|door| Ok(door.state_firm_paper(form.firm, &paper, (at, who))?))?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            tx.note(
                "firm's paper stated",
                &format!("firm {}", form.firm),
                &json!({ "what": form.what, "number": paper.number, "from": form.from_on, "until": form.until_on }),
            );
            Ok(())
        })
    })
}
