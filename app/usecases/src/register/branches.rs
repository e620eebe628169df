//! Branches drawn by hand: a riser, zone or header, what feeds it and what hangs on it.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::branches::End;
use terms::{BranchId, BuildingId, SpaceId, UnitId};

use super::WRITERS;
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
    if form.name.trim().is_empty() {
        return Err(Error::field("name", "A branch needs a name."));
    }
    if !["riser", "zone", "header"].contains(&form.kind.as_str()) {
        return Err(Error::field(
            "kind",
            "A branch is a riser, a zone or a header.",
        ));
    }
    if form.needed.is_some_and(|n| !(0..=50).contains(&n)) {
        return Err(Error::field(
            "needed",
            "Between 0 and 50 units can be needed.",
        ));
    }
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
/// [`Error::NotFound`] for a branch, space or unit of another building.
pub fn link_branch(world: &World, seat: &Seat, form: NewLink, once: &str) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    seat.must_reach(form.building)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let known = tx.branches(form.building, form.from_on)?;
            if known.iter().all(|b| b.id != form.branch) {
                return Err(Error::NotFound("branch"));
            }
            if let Some(space) = form.space {
                in_building(form.building, tx.space(space)?.building)?;
                tx.link_branch(form.branch, End::Space(space), form.from_on)?;
            }
            if let Some(unit) = form.unit {
                in_building(form.building, tx.unit(unit)?.building)?;
                tx.link_branch(form.branch, End::FedBy(unit), form.from_on)?;
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
