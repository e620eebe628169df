//! Calls that may have one cause: proposed by the rule "one flat or many", joined by a person.
use std::collections::BTreeSet;

use store::Tx;
use store::outages::{OutageCard, WhichOutages};
use store::suspected::LooseCall;
use terms::{BranchId, BuildingId, FunctionLost, OutageId, SpaceId};

use super::looking::Look;
use super::pipes::Pipes;
use super::rates::Rates;
use super::{DESK, counts_for};
use crate::{Error, Seat, World};

/// Calls that point to one cause, or may.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The pipe; `None`: the building as a whole.
    pub branch: Option<BranchId>,
    /// "Riser 4", or "the whole building".
    pub name: String,
    /// What is lost.
    pub lost: FunctionLost,
    /// The calls, oldest first.
    pub calls: Vec<LooseCall>,
    /// Homes that called.
    pub homes: usize,
    /// Homes the pipe feeds.
    pub served: usize,
    /// Chance that the fault is shared.
    pub chance: f64,
    /// "about 9 in 10"
    pub chance_words: String,
    /// The rule says one cause; else it says: ask neighbours first.
    pub shared: bool,
    /// Neighbours asked that are off too, and that are fine.
    pub asked: (usize, usize),
    /// Homes on the pipe that said nothing yet: those to ask.
    pub silent: Vec<(SpaceId, String)>,
    /// The rates in words.
    pub rates: String,
}

/// A call that may belong to an outage that is open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joinable {
    /// The outage.
    pub outage: OutageId,
    /// The call.
    pub call: LooseCall,
}

/// What the calls of the last hours point to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Suspicion {
    /// New outages, the likeliest first.
    pub proposals: Vec<Proposal>,
    /// Calls that may belong to an open one.
    pub joinable: Vec<Joinable>,
}

/// What the calls of the last hours point to.
///
/// # Errors
/// Not of the desk.
pub fn suspicion(world: &World, seat: &Seat) -> Result<Suspicion, Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| suspicion_in(tx, seat))
}

/// The same inside a transaction.
pub(crate) fn suspicion_in(tx: &mut Tx<'_>, seat: &Seat) -> Result<Suspicion, Error> {
    let rates = Rates::load(tx)?;
    let minutes = (rates.window_hours * 60.0) as i64;
    let from = tx.at() - chrono::TimeDelta::minutes(minutes);
    let calls: Vec<LooseCall> = tx
        .loose_calls(from)?
        .into_iter()
        .filter(|call| seat.grant().reaches(call.building))
        .collect();
    let buildings: BTreeSet<BuildingId> = calls.iter().map(|c| c.building).collect();
    if buildings.is_empty() {
        return Ok(Suspicion::default());
    }
    let open = tx.outages(WhichOutages::Open)?;
    let answers = tx.neighbour_answers(from)?;
    let mut found = Suspicion::default();
    for building in buildings {
        let name = tx.building(building)?.name;
        let pipes = Pipes::load(tx, building)?;
        let here: Vec<LooseCall> = calls
            .iter()
            .filter(|call| call.building == building)
            .cloned()
            .collect();
        let (known, loose) = sort_out(&pipes, &open, here);
        found.joinable.extend(known);
        let look = Look {
            building: (building, &name),
            pipes: &pipes,
            answers: &answers,
            rates: &rates,
        };
        found.proposals.extend(look.best_of(&loose)?);
    }
    found
        .proposals
        .sort_by(|a, b| b.chance.total_cmp(&a.chance));
    Ok(found)
}

/// Calls from homes an open outage reaches, and the rest.
fn sort_out(
    pipes: &Pipes,
    open: &[OutageCard],
    calls: Vec<LooseCall>,
) -> (Vec<Joinable>, Vec<LooseCall>) {
    let mut known = Vec::new();
    let mut loose = Vec::new();
    for call in calls {
        let of = open.iter().find(|outage| {
            outage.building == call.building
                && counts_for(call.lost, outage.lost)
                && match outage.branch {
                    Some(branch) => pipes.homes_on(branch).contains(&call.space),
                    None => true,
                }
        });
        match of {
            Some(outage) => known.push(Joinable {
                outage: outage.id,
                call,
            }),
            None => loose.push(call),
        }
    }
    (known, loose)
}
