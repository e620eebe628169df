//! One branch as it stands and as it was: stated anew, hung on, taken off, each with its day.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::branch_links::LinkStay;
use store::branches::{BranchCard, End};
use terms::place::BuildingCard;
use terms::{BranchId, FactId, SpaceId, UnitId};

use super::{BuildingView, WRITERS, may_read};
use crate::{Error, FieldError, Seat, World};

/// One link over time with the name of its other end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedLink {
    /// The link.
    pub stay: LinkStay,
    /// "Flat 14", "BT-P-2", "Header".
    pub name: String,
}

/// One branch.
#[derive(Clone, Debug)]
pub struct BranchView {
    /// As it stands today.
    pub branch: BranchCard,
    /// Its building.
    pub building: BuildingCard,
    /// Everything that fed it or hung on it, oldest first.
    pub links: Vec<NamedLink>,
    /// Branches it feeds today, by name.
    pub feeds: Vec<(BranchId, String)>,
    /// Units that feed it today and are in service.
    pub working: usize,
    /// Units of plant rooms, roof and risers that could feed it.
    pub could_feed: Vec<(UnitId, String)>,
    /// Spaces that could hang on it.
    pub could_hang: Vec<(SpaceId, String)>,
}

/// What is stated of a branch.
#[derive(Clone, Debug, Serialize)]
pub struct BranchForm {
    /// "Riser 4"
    pub name: String,
    /// "riser", "zone" or "header".
    pub kind: String,
    /// How many of its feeding units it needs on the coldest day.
    pub needed: Option<i32>,
}

/// The shared units in service that feed a branch, itself or through the branches that feed it.
pub fn feeders_of(view: &BuildingView, branch: &BranchCard) -> Vec<String> {
    let mut above = vec![branch.id];
    let mut names: Vec<String> = Vec::new();
    let mut next = 0;
    while let Some(id) = above.get(next).copied() {
        next += 1;
        let Some(card) = view.branches.iter().find(|b| b.id == id) else {
            continue;
        };
        for further in &card.fed_by_branches {
            if !above.contains(further) {
                above.push(*further);
            }
        }
        names.extend(
            view.plant
                .iter()
                .filter(|p| {
                    card.fed_by.contains(&p.unit.id) && p.unit.fate == terms::Fate::InService
                })
                .map(|p| p.unit.number.clone()),
        );
    }
    names.sort();
    names.dedup();
    names
}

/// One branch over time.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn branch_view(world: &World, seat: &Seat, id: BranchId) -> Result<BranchView, Error> {
    world.acting(seat, |tx| {
        let today = tx.today();
        let branch = tx.branch(id, today)?;
        may_read(seat, branch.building)?;
        let spaces = tx.spaces(Some(branch.building))?;
        let units = tx.units(store::units::Which::Building(branch.building))?;
        let others = tx.branches(branch.building, today)?;
        let in_service = |u: &&terms::unit::UnitCard| u.fate == terms::Fate::InService;
        let name_of = |end: End| match end {
            End::FedBy(unit) => units
                .iter()
                .find(|u| u.id == unit)
                .map(|u| u.number.clone()),
            End::FedByBranch(other) => others
                .iter()
                .find(|b| b.id == other)
                .map(|b| b.name.clone()),
            End::Space(space) => spaces
                .iter()
                .find(|s| s.id == space)
                .map(|s| s.name.clone()),
        };
        let links = tx
            .links_over_time(id)?
            .into_iter()
            .map(|stay| NamedLink {
                name: name_of(stay.end).unwrap_or_else(|| "something unknown".to_owned()),
                stay,
            })
            .collect();
        let shared = |u: &&terms::unit::UnitCard| {
            spaces
                .iter()
                .any(|s| s.id == u.space && s.used_as != terms::UsedAs::Flat)
        };
        Ok(BranchView {
            working: units
                .iter()
                .filter(in_service)
                .filter(|u| branch.fed_by.contains(&u.id))
                .count(),
            could_feed: units
                .iter()
                .filter(in_service)
                .filter(shared)
                .filter(|u| !branch.fed_by.contains(&u.id))
                .map(|u| (u.id, u.number.clone()))
                .collect(),
            could_hang: spaces
                .iter()
                .filter(|s| s.used_as == terms::UsedAs::Flat && !branch.spaces.contains(&s.id))
                .map(|s| (s.id, s.name.clone()))
                .collect(),
            feeds: others
                .iter()
                .filter(|b| b.fed_by_branches.contains(&id))
                .map(|b| (b.id, b.name.clone()))
                .collect(),
            building: tx.building(branch.building)?,
            links,
            branch,
        })
    })
}

/// States a branch anew; what stood before stays in its rows.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field.
pub fn correct_branch(
    world: &World,
    seat: &Seat,
    (id, form): (BranchId, BranchForm),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, &form), |tx| {
            let card = reached(tx, seat, id)?;
            Error::unless_empty(wrongs(&form))?;
            tx.state_branch(id, (form.name.trim(), &form.kind, form.needed))?;
            let body = json!({
                "name": form.name.trim(), "kind": form.kind, "needed": form.needed,
                "was": card.name, "needed_before": card.needed,
            });
            tx.note("branch stated anew", &format!("branch {id}"), &body);
            Ok(())
        })
    })
}

/// What is wrong with what is stated of a branch.
pub(super) fn wrongs(form: &BranchForm) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if form.name.trim().is_empty() {
        wrongs.push(FieldError::at("name", "A branch needs a name."));
    }
    if !["riser", "zone", "header"].contains(&form.kind.as_str()) {
        wrongs.push(FieldError::at(
            "kind",
            "A branch is a riser, a zone or a header.",
        ));
    }
    if form.needed.is_some_and(|n| !(0..=50).contains(&n)) {
        wrongs.push(FieldError::at(
            "needed",
            "Between 0 and 50 units can be needed.",
        ));
    }
    wrongs
}

/// Takes something off a branch on a day; that it hung there stays on record.
///
/// # Errors
/// [`Error::Invalid`] at `off` for a day before it was hung on or to come; [`Error::NotFound`] for a link of another
/// branch.
pub fn take_off_branch(
    world: &World,
    seat: &Seat,
    (id, link, on): (BranchId, FactId, NaiveDate),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, link, on), |tx| {
            reached(tx, seat, id)?;
            let known = tx.links_over_time(id)?;
            let found = known
                .into_iter()
                .find(|l| l.id == link && l.until_on.is_none())
                .ok_or(Error::NotFound("link"))?;
            if on < found.from_on || on > tx.today() {
                return Err(Error::field(
                    "off",
                    "It was taken off on a day between when it was hung on and today.",
                ));
            }
            tx.end_link(id, found, on)?;
            tx.note(
                "taken off a branch",
                &format!("branch {id}"),
                &json!({ "link": link, "on": on }),
            );
            Ok(())
        })
    })
}

fn reached(tx: &mut Tx<'_>, seat: &Seat, id: BranchId) -> Result<BranchCard, Error> {
    let today = tx.today();
    let card = tx.branch(id, today)?;
    seat.must_reach(card.building)?;
    Ok(card)
}
