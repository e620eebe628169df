//! Units unsafe or isolated, for the list of duties: a check that falls due there waits for what puts them right.
use store::visits::Notice;
use terms::Role;
use terms::unit::UnitCard;

use crate::{Error, Seat, World};

/// A unit with an unsafe situation not yet cleared.
#[derive(Clone, Debug)]
pub struct UnsafeUnit {
    /// As the engineer left it.
    pub notice: Notice,
    /// The unit.
    pub unit: UnitCard,
    /// "combi gas boiler"
    pub kind_name: String,
}

/// Units unsafe or isolated within reach, oldest notice first.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but desk and landlord.
pub fn unsafe_units(world: &World, seat: &Seat) -> Result<Vec<UnsafeUnit>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    world.acting(seat, |tx| {
        let kinds = tx.kinds()?;
        let mut found = Vec::new();
        for notice in tx.open_notices(None)? {
            let unit = tx.unit(notice.unit)?;
            if !seat.grant().reaches(unit.building) {
                continue;
            }
            let kind = kinds.iter().find(|k| k.code == unit.kind);
            found.push(UnsafeUnit {
                kind_name: kind.map_or_else(|| unit.kind.clone(), |k| k.name.clone()),
                unit,
                notice,
            });
        }
        Ok(found)
    })
}
