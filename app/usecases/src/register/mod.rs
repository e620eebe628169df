//! The register: buildings, spaces, branches, units and who may read what of them.
mod alike;
mod branches;
mod building;
mod building_facts;
mod derived;
mod draw;
mod find;
mod leaving;
mod likely;
mod needed;
mod pipes;
mod places;
mod record_windows;
mod section;
mod site;
mod tenure;
mod trouble;
mod unit;
mod units;

pub(crate) use alike::family_of;
pub use alike::{AlikeForm, AlikeNow, AlikeView, MOST_LETTERS, alike_of, state_alike};
pub use branches::{NewBranch, NewLink, add_branch, link_branch};
pub use building::{
    BuildingSummary, BuildingView, FlatNow, NextCheck, PlantUnit, Question, building_view,
    buildings_overview,
};
pub use building_facts::{BuildingFacts, correct_building, state_roof};
pub(crate) use derived::state_corrected;
pub use draw::{DrawBuilding, Heat, StoreyForm, draw_building, preview};
pub use find::{Found, find};
pub use leaving::{Leaving, take_out_unit};
pub use likely::Likely;
pub use needed::{Needed, NeededForm, state_needed};
pub use pipes::{
    BranchForm, BranchView, NamedLink, branch_view, correct_branch, feeders_of, take_off_branch,
};
pub use places::{
    NeedForm, NewSpace, ResidentForm, SpaceForm, SpaceView, add_need, add_resident, add_space,
    correct_space, space_view, state_way_in,
};
pub use record_windows::{
    MOST_WINDOWS, RecordWindow, RecordsOf, TimesOfRecords, state_times_of_records, times_of_records,
};
pub use section::{SectionLevel, SectionSpace};
pub use site::{MEASURED, SiteSaid, TOLD, site_said};
pub(crate) use site::{read_fact, state_site};
pub use tenure::{TenureForm, state_tenure};
pub use trouble::Trouble;
pub(crate) use unit::reading_names;
pub use unit::{UnitView, unit_view};
pub(crate) use units::feed_header;
pub(crate) use units::replace_in;
pub use units::{
    NewUnit, Replacement, UnitFacts, add_unit, correct_unit, move_unit, next_number, replace_unit,
};

pub use store::branch_links::LinkStay;
pub use store::branches::{BranchCard, End};
pub use store::outages::OutageCard;
pub use store::residents::WayIn;
pub use store::swaps::Swap;
pub use store::tenures::TenureRow;
pub use store::unit_likes::LikeRow;

use store::Tx;
use terms::place::{BuildingCard, SpaceCard};
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{BuildingId, Role};

use crate::{Error, Seat, World};

/// Who may read the register.
pub(crate) const READERS: [Role; 5] = [
    Role::Agent,
    Role::Supervisor,
    Role::OutOfHours,
    Role::Site,
    Role::Landlord,
];
/// Who may write in it.
const WRITERS: [Role; 1] = [Role::Agent];

/// The buildings in reach, by name.
///
/// # Errors
/// [`Error::Forbidden`] outside the register's readers.
pub fn buildings_in_reach(world: &World, seat: &Seat) -> Result<Vec<BuildingCard>, Error> {
    seat.must_be(&READERS)?;
    let mut found = world.acting(seat, |tx| Ok::<_, Error>(tx.buildings()?))?;
    found.retain(|b| seat.grant().reaches(b.id));
    Ok(found)
}

/// The spaces of a building, lowest storey first.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn spaces_of(
    world: &World,
    seat: &Seat,
    building: BuildingId,
) -> Result<Vec<SpaceCard>, Error> {
    seat.must_be(&READERS)?;
    world.acting(seat, |tx| {
        seat.must_reach(building)?;
        tx.building(building)?;
        Ok(tx.spaces(Some(building))?)
    })
}

/// The kinds of unit, by name.
///
/// # Errors
/// [`Error::Forbidden`] outside the register's readers.
pub fn kinds(world: &World, seat: &Seat) -> Result<Vec<Kind>, Error> {
    seat.must_be(&READERS)?;
    let mut kinds = world.acting(seat, |tx| Ok(tx.kinds()?))?;
    kinds.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(kinds)
}

/// Passes when the seat may read all of `building`; a landlord only his own, a contractor none.
pub(crate) fn may_read(seat: &Seat, building: BuildingId) -> Result<(), Error> {
    seat.must_be(&READERS)?;
    seat.must_reach(building)
}

/// Passes when the seat may read of `unit`: as its building's readers, or as a contractor whose firm has a job
/// on it or in its space.
pub(crate) fn may_read_unit(tx: &mut Tx<'_>, seat: &Seat, unit: &UnitCard) -> Result<(), Error> {
    if !matches!(seat.role(), Role::Contractor | Role::Office) {
        return may_read(seat, unit.building);
    }
    let firm = seat.firm()?;
    let reached = tx.reach_of_firm(firm)?;
    let theirs = reached
        .iter()
        .any(|(space, on)| *on == Some(unit.id) || (on.is_none() && *space == unit.space));
    if theirs {
        Ok(())
    } else {
        Err(Error::NotFound("unit"))
    }
}
