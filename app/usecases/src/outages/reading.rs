//! Outages as their pages show them.
use chrono::{DateTime, Utc};
use inspection::clock::home_hours;
use store::Tx;
use store::event_duties::EventDuty;
use store::jobs::Job;
use store::outages::{OutageCard, WhichOutages};
use store::suspected::LooseCall;
use terms::{OutageId, Role};

use super::ending::must_end;
use super::joining::one;
use super::pipes::Pipes;
use super::proposing::suspicion_in;
use super::{DESK, Suspicion};
use crate::duties::network_report;
use crate::{Error, Seat, World};

/// One outage with what counts.
#[derive(Clone, Debug)]
pub struct OutageView {
    /// The outage.
    pub outage: OutageCard,
    /// The job that answers it.
    pub job: Option<Job>,
    /// Homes the pipe feeds, whether they called or not.
    pub served: usize,
    /// Homes × hours up to its end, or to now.
    pub home_hours: f64,
    /// Calls that may belong to it; only for the desk.
    pub joinable: Vec<LooseCall>,
    /// Whether the reader may end it.
    pub may_end: bool,
    /// That it is the heat network's, with its day, once somebody said so.
    pub network: Option<EventDuty>,
    /// Whether the reader may say so.
    pub may_say_network: bool,
    /// The instant it was read.
    pub at: DateTime<Utc>,
}

/// Homes × hours of an outage up to its end, or to `now`.
pub(crate) fn hours_of(card: &OutageCard, now: DateTime<Utc>) -> f64 {
    let end = card.until_at.unwrap_or(now);
    let homes: Vec<_> = card.homes.iter().map(|h| (h.since_at, end)).collect();
    home_hours(&homes)
}

/// Every outage in reach, the newest first, with what the calls of the last hours point to.
///
/// # Errors
/// Not of the desk.
pub fn outages_overview(world: &World, seat: &Seat) -> Result<(Suspicion, Vec<OutageView>), Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        let found = suspicion_in(tx, seat)?;
        let cards = tx.outages(WhichOutages::All)?;
        let mut views = Vec::new();
        for card in cards {
            if seat.grant().reaches(card.building) {
                views.push(view_of(tx, seat, card)?);
            }
        }
        Ok((found, views))
    })
}

/// An outage, to the first of these seats that may see it: the desk, or the firm that has its job.
///
/// # Errors
/// [`Error::NotFound`] for everybody else.
pub fn outage_of_seats(
    world: &World,
    seats: &[Seat],
    id: OutageId,
) -> Result<(Seat, OutageView), Error> {
    for seat in seats {
        let seen = world.acting(seat, |tx| {
            let card = one(tx, id)?;
            must_end(tx, seat, &card)?;
            view_of(tx, seat, card)
        });
        match seen {
            Ok(view) => return Ok((seat.clone(), view)),
            Err(Error::NotFound(_) | Error::Forbidden(_)) => {}
            Err(other) => return Err(other),
        }
    }
    Err(Error::NotFound("outage"))
}

fn view_of(tx: &mut Tx<'_>, seat: &Seat, card: OutageCard) -> Result<OutageView, Error> {
    let pipes = Pipes::load(tx, card.building)?;
    let served = match card.branch {
        Some(branch) => pipes.homes_on(branch).len(),
        None => pipes.homes().len(),
    };
    let desk = DESK.contains(&seat.role());
    let joinable = if desk && card.until_at.is_none() {
        suspicion_in(tx, seat)?
            .joinable
            .into_iter()
            .filter(|j| j.outage == card.id)
            .map(|j| j.call)
            .collect()
    } else {
        Vec::new()
    };
    let ends = matches!(
        seat.role(),
        Role::Agent | Role::Supervisor | Role::Contractor
    );
    let network = network_report(tx, &card)?;
    let says = matches!(seat.role(), Role::Agent | Role::Supervisor);
    Ok(OutageView {
        may_say_network: card.until_at.is_none() && says && network.is_none(),
        network,
        job: card.job.map(|job| tx.job(job)).transpose()?,
        served,
        home_hours: hours_of(&card, tx.at()),
        joinable,
        may_end: card.until_at.is_none() && ends,
        at: tx.at(),
        outage: card,
    })
}
