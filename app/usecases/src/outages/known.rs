//! A call from a home that an open outage reaches: said while the caller is on the telephone, joined when the desk says so.
use store::Tx;
use store::outages::{OutageCard, WhichOutages};
use terms::unit::UnitCard;
use terms::{BuildingId, OutageId, SpaceId};

use super::pipes::Pipes;
use super::{DESK, join_call};
use crate::work::{FaultCall, HazardSaid, Logged, log_call_of};
use crate::{Error, Seat, World};

/// The outage that lasts and reaches this home, when there is one.
///
/// # Errors
/// [`Error::NotFound`] for a space not theirs.
pub fn known_at(world: &World, seat: &Seat, space: SpaceId) -> Result<Option<OutageCard>, Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        let building = tx.space(space)?.building;
        seat.must_reach(building)?;
        reaching(tx, building, space)
    })
}

/// The outage that lasts and reaches this home.
fn reaching(
    tx: &mut Tx<'_>,
    building: BuildingId,
    space: SpaceId,
) -> Result<Option<OutageCard>, Error> {
    let open = tx.outages(WhichOutages::Open)?;
    let here: Vec<OutageCard> = open
        .into_iter()
        .filter(|o| o.building == building)
        .collect();
    if here.is_empty() {
        return Ok(None);
    }
    let pipes = Pipes::load(tx, building)?;
    Ok(here.into_iter().find(|outage| match outage.branch {
        Some(branch) => pipes.homes_on(branch).contains(&space),
        None => pipes.homes().contains(&space),
    }))
}

/// Whether neighbours have lost it too: an outage that lasts reaches the unit's home. The table of an interface unit asks
/// for it first.
pub(crate) fn neighbours_too(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<bool, Error> {
    Ok(reaching(tx, unit.building, unit.space)?.is_some())
}

/// Logs a call and joins it to the outage the desk says it belongs to. Logged first: a call is never lost to a joining
/// that is refused.
///
/// # Errors
/// As for logging and for joining.
pub fn log_call_into(
    world: &World,
    seat: &Seat,
    (form, hazard, outage): (FaultCall, Option<HazardSaid>, OutageId),
    once: &str,
) -> Result<Logged, Error> {
    let logged = log_call_of(world, seat, (form, hazard), once)?;
    join_call(world, seat, (outage, logged.call), &format!("{once} join"))?;
    let job = world.acting(seat, |tx| {
        let card = tx.outages(WhichOutages::One(outage))?.pop();
        let job = card.as_ref().and_then(|c| c.job);
        let number = job.map(|job| tx.job(job)).transpose()?.map(|j| j.number);
        Ok(card.zip(job).zip(number))
    })?;
    let Some(((card, job), number)) = job else {
        return Ok(logged);
    };
    let pipe = card.branch_name.unwrap_or(card.building_name);
    Ok(Logged {
        job,
        tell: format!(
            "It is known: {} homes on {pipe} are off, and {number} answers them all. Their own clock runs from this call.",
            card.homes.len()
        ),
        number,
        joined: true,
        ..logged
    })
}
