//! n needed of N fitted, in one space and of one kind: one pump of two in a plant room, two boilers of three.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::space_needed::SpaceNeeded;
use store::units::Which;
use terms::place::SpaceCard;
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, SpaceId};

use super::WRITERS;
use crate::{Error, FieldError, Seat, World};

/// How many of a kind a space needs on the coldest day.
#[derive(Clone, Debug, Serialize)]
pub struct NeededForm {
    /// The kind's code.
    pub kind: String,
    /// How many; `None`: it is not known any more.
    pub needed: Option<i32>,
    /// Since when.
    pub from_on: NaiveDate,
}

/// The units of one kind in a space, and how many of them it needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Needed {
    /// The space.
    pub space: SpaceId,
    /// Its name.
    pub space_name: String,
    /// The kind's code.
    pub kind: String,
    /// "circulating pump", "circulating pumps"
    pub names: (String, String),
    /// Units of the kind that stand there in service.
    pub fitted: usize,
    /// Those of them that an unsafe situation keeps from use.
    pub out: usize,
    /// How many are needed, and since when; `None`: not known.
    pub needed: Option<(i32, NaiveDate)>,
    /// What was said before, newest first: how many, since when.
    pub before: Vec<(i32, NaiveDate)>,
}

/// What a space holds of each kind, with what was said of how many are needed: kinds of which several stand there, and
/// those of which something was said.
pub(super) fn needed_of(
    tx: &mut Tx<'_>,
    space: &SpaceCard,
    (units, kinds): (&[UnitCard], &[Kind]),
    said: &[SpaceNeeded],
) -> Result<Vec<Needed>, Error> {
    let here: Vec<&UnitCard> = units
        .iter()
        .filter(|u| u.fate == Fate::InService && u.space == space.id)
        .collect();
    let mut codes: Vec<&str> = here
        .iter()
        .map(|u| u.kind.as_str())
        .chain(said.iter().map(|s| s.kind.as_str()))
        .collect();
    codes.sort_unstable();
    codes.dedup();
    let mut found = Vec::new();
    for code in codes {
        let of_kind: Vec<&&UnitCard> = here.iter().filter(|u| u.kind == code).collect();
        let stands = said
            .iter()
            .find(|s| s.kind == code && s.superseded_at.is_none());
        if of_kind.len() < 2 && stands.is_none() {
            continue;
        }
        let mut out = 0;
        for unit in &of_kind {
            out += usize::from(!tx.open_notices(Some(unit.id))?.is_empty());
        }
        let kind = kinds.iter().find(|k| k.code == code);
        let name = |of: fn(&Kind) -> &String| kind.map_or(code, |k| of(k).as_str()).to_owned();
        found.push(Needed {
            space: space.id,
            space_name: space.name.clone(),
            kind: code.to_owned(),
            names: (name(|k| &k.name), name(|k| &k.plural)),
            fitted: of_kind.len(),
            out,
            needed: stands.map(|s| (s.needed, s.from_on)),
            before: said
                .iter()
                .rev()
                .filter(|s| s.kind == code && s.superseded_at.is_some())
                .map(|s| (s.needed, s.from_on))
                .collect(),
        });
    }
    Ok(found)
}

/// The same of every space of a building of which something stands.
pub(super) fn needed_in(
    tx: &mut Tx<'_>,
    building: BuildingId,
    (spaces, units, kinds): (&[SpaceCard], &[UnitCard], &[Kind]),
) -> Result<Vec<Needed>, Error> {
    let said = tx.space_needed_in(building)?;
    let mut found = Vec::new();
    for space in spaces {
        let here: Vec<SpaceNeeded> = said
            .iter()
            .filter(|s| s.space == space.id)
            .cloned()
            .collect();
        if !here.is_empty() {
            found.extend(needed_of(tx, space, (units, kinds), &here)?);
        }
    }
    found.retain(|n| n.needed.is_some());
    Ok(found)
}

/// States how many of a kind a space needs; what stood before stays on record.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::NotFound`] for a space outside the seat's reach.
pub fn state_needed(
    world: &World,
    seat: &Seat,
    (space, form): (SpaceId, NeededForm),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(space, &form), |tx| {
            let card = tx.space(space)?;
            seat.must_reach(card.building)?;
            let stands = tx
                .units(Which::Space(space))?
                .into_iter()
                .any(|u| u.fate == Fate::InService && u.space == space && u.kind == form.kind);
            let said = tx
                .space_needed_over_time(space)?
                .into_iter()
                .find(|s| s.kind == form.kind && s.superseded_at.is_none());
            Error::unless_empty(wrongs(&form, stands || said.is_some(), tx.today()))?;
            tx.state_space_needed(space, &form.kind, (form.needed, form.from_on))?;
            let body = json!({
                "kind": form.kind, "needed": form.needed, "since": form.from_on,
                "needed_before": said.map(|s| s.needed),
            });
            tx.note("needed of a kind stated", &format!("space {space}"), &body);
            Ok(())
        })
    })
}

fn wrongs(form: &NeededForm, known: bool, today: NaiveDate) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if !known {
        wrongs.push(FieldError::at(
            "of_kind",
            "No unit of this kind stands here.",
        ));
    }
    if form.needed.is_some_and(|n| !(0..=50).contains(&n)) {
        let sentence = "Between 0 and 50 units can be needed.";
        wrongs.push(FieldError::at("needed", sentence));
    }
    if form.from_on > today {
        wrongs.push(FieldError::at("needed_from", "That day is to come."));
    }
    wrongs
}
