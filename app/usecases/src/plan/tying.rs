//! Pinning a unit to a year, keeping it out of one, binding units together: dated, with who and why, and taken
//! back the same way.
use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};
use serde_json::json;
use store::{Tie, Tx};
use terms::{AccountId, BuildingId, Role, UnitId};
use uuid::Uuid;

use super::money::{first_year, kept_limits};
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// The longest reason.
const LONGEST: usize = 400;

/// What is tied.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TieKind {
    /// In this year and no other.
    Pin,
    /// Not in this year.
    Forbid,
    /// In this year at the latest: a law, a maker or a surveyor says it must go.
    By,
    /// In one year, or none of them.
    Together,
}

impl TieKind {
    fn code(self) -> &'static str {
        match self {
            Self::Pin => "pin",
            Self::Forbid => "forbid",
            Self::By => "by",
            Self::Together => "together",
        }
    }
}

impl std::str::FromStr for TieKind {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        match text {
            "pin" => Ok(Self::Pin),
            "forbid" => Ok(Self::Forbid),
            "by" => Ok(Self::By),
            "together" => Ok(Self::Together),
            _ => Err(()),
        }
    }
}

/// A tie as it is asked for.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct TieForm {
    /// The building.
    pub building: BuildingId,
    /// What is tied.
    pub kind: TieKind,
    /// The units: one, or two and more that go together.
    pub units: Vec<UnitId>,
    /// The calendar year; not read for units that go together.
    pub year: Option<i32>,
    /// The reason.
    pub why: String,
}

/// Ties units in the programme.
///
/// # Errors
/// [`Error::Invalid`] at `units`, `year` or `why`; [`Error::NotFound`] for a unit of another building.
pub fn tie_units(world: &World, seat: &Seat, form: TieForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let first = first_year(wall::day(world.now()));
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            seat.must_reach(form.building)?;
            let units = in_building(tx, &form)?;
            let standing = tx.plan_ties(form.building)?;
            let last = first + kept_limits(tx, form.building)?.years_ahead() - 1;
            check(&form, &units, (first, last), &standing)?;
            let year = form.year.filter(|_| form.kind != TieKind::Together);
            let id = tx.tie_plan(&Tie {
                id: Uuid::nil(),
                building: form.building,
                what: form.kind.code().to_owned(),
                year,
                units: units.iter().copied().collect(),
                why: form.why.trim().to_owned(),
                said_on: tx.today(),
                by: AccountId(Uuid::nil()),
            })?;
            tx.note(
                "programme tied",
                &format!("building {}", form.building),
                &json!({
                    "tie": id, "what": form.kind, "units": units, "year": year, "why": form.why.trim(),
                }),
            );
            Ok(())
        })
    })
}

fn in_building(tx: &mut Tx<'_>, form: &TieForm) -> Result<BTreeSet<UnitId>, Error> {
    let units: BTreeSet<UnitId> = form.units.iter().copied().collect();
    for unit in &units {
        if tx.unit(*unit)?.building != form.building {
            return Err(Error::NotFound("unit"));
        }
    }
    Ok(units)
}

fn check(
    form: &TieForm,
    units: &BTreeSet<UnitId>,
    (first, last): (i32, i32),
    standing: &[Tie],
) -> Result<(), Error> {
    let mut wrongs = Vec::new();
    let together = form.kind == TieKind::Together;
    if together && units.len() < 2 {
        wrongs.push(FieldError::at(
            "units",
            "Choose two units or more that go together.",
        ));
    }
    if !together && units.len() != 1 {
        wrongs.push(FieldError::at("units", "Choose the unit."));
    }
    let inside = |year: i32| (first..=last).contains(&year);
    if !together && !form.year.is_some_and(inside) {
        let sentence = format!("A year from {first} to {last}, please.");
        wrongs.push(FieldError::at("year", sentence));
    }
    let length = form.why.trim().chars().count();
    if length == 0 {
        wrongs.push(FieldError::at(
            "why",
            "Say why, for whoever reads the plan next year.",
        ));
    } else if length > LONGEST {
        wrongs.push(FieldError::at(
            "why",
            format!("At most {LONGEST} letters, please."),
        ));
    }
    wrongs.extend(against(form, units, first, standing));
    Error::unless_empty(wrongs)
}

/// What it would contradict of what stands: two pins, a pin after the last year allowed, a year both pinned and forbidden.
fn against(
    form: &TieForm,
    units: &BTreeSet<UnitId>,
    first: i32,
    standing: &[Tie],
) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let mine = |tie: &&Tie| tie.units.iter().any(|u| units.contains(u));
    let pinned = standing.iter().filter(|tie| tie.what == "pin").find(mine);
    if let (TieKind::Pin, Some(tie)) = (form.kind, pinned) {
        let year = tie.year.unwrap_or(first);
        let sentence = format!("It is pinned to {year} already; let it go there first.");
        wrongs.push(FieldError::at("units", sentence));
    }
    let too_late = pinned.and_then(|tie| tie.year).zip(form.year);
    if form.kind == TieKind::By && too_late.is_some_and(|(pin, by)| pin > by) {
        wrongs.push(FieldError::at(
            "year",
            "It is pinned to a later year; let it go there first.",
        ));
    }
    let forbidden = form.kind == TieKind::Forbid && pinned.is_some_and(|tie| tie.year == form.year);
    if forbidden {
        wrongs.push(FieldError::at(
            "year",
            "It is pinned to that very year; let it go there first.",
        ));
    }
    if form.kind == TieKind::Pin {
        let last = standing.iter().filter(|tie| tie.what == "by").filter(mine);
        let last = last.min_by_key(|tie| tie.year);
        // What must be gone by a year that has passed must go in the first one.
        let by = last.and_then(|tie| Some((tie, tie.year?.max(first))));
        if let Some((tie, by)) = by.filter(|(_, by)| form.year.is_some_and(|pin| pin > *by)) {
            let sentence = format!(
                "It must go by {by}: {}. A pin cannot lie after that; choose an earlier year, or let that go first.",
                tie.why.trim_end_matches('.')
            );
            wrongs.push(FieldError::at("year", sentence));
        }
    }
    wrongs
}

/// Takes a tie back.
///
/// # Errors
/// [`Error::NotFound`] when it stands no more, or in another building.
pub fn untie_units(
    world: &World,
    seat: &Seat,
    (building, tie): (BuildingId, Uuid),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &("untie", building, tie), |tx| {
            seat.must_reach(building)?;
            if tx.untie_plan(building, tie)? == 0 {
                return Err(Error::NotFound("tie"));
            }
            tx.note(
                "programme untied",
                &format!("building {building}"),
                &json!({ "tie": tie }),
            );
            Ok(())
        })
    })
}
