//! Branches drawn by hand: a riser, zone or header, what feeds it and what hangs on it.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::branches::End;
use terms::{BranchId, BuildingId, SpaceId, UnitId};

use super::WRITERS;
use super::pipes::{BranchForm, wrongs};
use crate::{Error, Seat, World};

/// A branch about to be entered.
#[derive(Clone, Debug, Serialize)]
pub struct NewBranch {
    /// The building.
    pub building: BuildingId,
    /// "Riser 4"
    pub name: String,
    /// "riser", "zone" or "header".
    pub kind: String,
    /// How many of its feeding units it needs on the coldest day.
    pub needed: Option<i32>,
    /// Spaces that hang on it.
    pub spaces: Vec<SpaceId>,
    /// Units that feed it.
    pub fed_by: Vec<UnitId>,
    /// A branch that feeds it.
    pub fed_by_branch: Option<BranchId>,
    /// Since when.
    pub from_on: NaiveDate,
}

/// One more link of a branch.
#[derive(Clone, Debug, Serialize)]
pub struct NewLink {
    /// The building.
    pub building: BuildingId,
    /// The branch.
    pub branch: BranchId,
    /// A space that hangs on it.
    pub space: Option<SpaceId>,
    /// A unit that feeds it.
    pub unit: Option<UnitId>,
    /// Since when.
    pub from_on: NaiveDate,
}

/// Enters a branch with its members.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; a space or unit of another building.
pub fn add_branch(
    world: &World,
    seat: &Seat,
    form: NewBranch,
    once: &str,
) -> Result<BranchId, Error> {
    seat.must_be(&WRITERS)?;
    seat.must_reach(form.building)?;
    Error::unless_empty(wrongs(&BranchForm {
        name: form.name.clone(),
        kind: form.kind.clone(),
        needed: form.needed,
    }))?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            tx.building(form.building)?;
            for space in &form.spaces {
                in_building(form.building, tx.space(*space)?.building)?;
            }
            for unit in &form.fed_by {
                in_building(form.building, tx.unit(*unit)?.building)?;
            }
            let id = tx.add_branch(form.building, form.name.trim(), &form.kind, form.needed)?;
            let ends = form
                .spaces
                .iter()
                .map(|s| End::Space(*s))
                .chain(form.fed_by.iter().map(|u| End::FedBy(*u)))
                .chain(form.fed_by_branch.map(End::FedByBranch));
            for end in ends {
                tx.link_branch(id, end, form.from_on)?;
            }
            let body = json!({"name": form.name, "kind": form.kind, "spaces": form.spaces.len()});
            tx.note("branch entered", &format!("branch {id}"), &body);
            Ok(id)
        })
    })
}

/// Hangs a space on a branch, or has a unit feed it.
///
/// # Errors
/// [`Error::NotFound`] for a branch, space or unit of another building; [`Error::Invalid`] for what is on it already.
pub fn link_branch(world: &World, seat: &Seat, form: NewLink, once: &str) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    seat.must_reach(form.building)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let today = tx.today();
            let known = tx.branches(form.building, today)?;
            let Some(branch) = known.iter().find(|b| b.id == form.branch) else {
                return Err(Error::NotFound("branch"));
            };
            if form.from_on > today {
                return Err(Error::field("from", "That day is to come."));
            }
            let there = form.space.is_some_and(|s| branch.spaces.contains(&s));
            if there || form.unit.is_some_and(|u| branch.fed_by.contains(&u)) {
                return Err(Error::field("link", "It is on this pipe already."));
            }
            if form.space.is_none() && form.unit.is_none() {
                return Err(Error::field("link", "Say what hangs on it or feeds it."));
            }
            if let Some(space) = form.space {
                in_building(form.building, tx.space(space)?.building)?;
                tx.link_branch(form.branch, End::Space(space), form.from_on)?;
            }
            if let Some(unit) = form.unit {
                in_building(form.building, tx.unit(unit)?.building)?;
                tx.link_branch(form.branch, End::FedBy(unit), form.from_on)?;
                tx.serve_branch(unit, form.branch, Some(form.from_on))?;
            }
            let body = json!({"space": form.space, "unit": form.unit});
            tx.note("branch linked", &format!("branch {}", form.branch), &body);
            Ok(())
        })
    })
}

fn in_building(asked: BuildingId, found: BuildingId) -> Result<(), Error> {
    if asked == found {
        Ok(())
    } else {
        Err(Error::NotFound("space"))
    }
}
