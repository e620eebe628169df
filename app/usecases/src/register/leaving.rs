//! A unit taken out with nothing in its place: its history, its number and its stay remain.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use terms::unit::UnitCard;
use terms::{Fate, UnitId};

use super::WRITERS;
use super::units::{check_leaving, take_out};
use crate::{Error, Seat, World};

/// A unit about to leave.
#[derive(Clone, Debug, Serialize)]
pub struct Leaving {
    /// The unit.
    pub unit: UnitId,
    /// The day.
    pub on: NaiveDate,
    /// How it ended.
    pub fate: Fate,
    /// Why nothing takes its place: "fed by the store now".
    pub why: String,
}

/// Takes a unit out with nothing in its place. What it served and fed ends on that day; its duties end; everything on
/// record of it stays.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::Conflict`] when it is out already.
pub fn take_out_unit(world: &World, seat: &Seat, form: Leaving, once: &str) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let old = tx.unit(form.unit)?;
            seat.must_reach(old.building)?;
            if old.fate != Fate::InService {
                return Err(Error::Conflict(format!("{} is out already.", old.number)));
            }
            check_leaving(&old, form.on, form.fate, tx.today())?;
            let why = form.why.trim();
            if why.is_empty() {
                return Err(Error::field(
                    "why",
                    "Say why nothing takes its place: whoever reads its history asks first.",
                ));
            }
            let note = if old.note.is_empty() {
                why.to_owned()
            } else {
                format!("{}. {why}", old.note.trim_end_matches('.'))
            };
            let noted = UnitCard { note, ..old };
            take_out(tx, &noted, form.on, form.fate)?;
            tx.end_serving(form.unit, form.on)?;
            tx.hand_over_feeding(form.unit, None, form.on)?;
            let body = json!({"on": form.on, "fate": form.fate, "why": why});
            tx.note("unit taken out", &format!("unit {}", form.unit), &body);
            Ok(())
        })
    })
}
