//! Calls that may have one cause: proposed by the rule "one flat or many", joined by a person.
use std::collections::BTreeSet;

use inspection::suspects::{Group, ManyVerdict, chance_words, many};
use store::Tx;
use store::outages::{OutageCard, WhichOutages};
use store::suspected::{LooseCall, NeighbourAnswer};
use terms::{BranchId, BuildingId, FunctionLost, OutageId, SpaceId};

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

/// One building looked at.
struct Look<'a> {
    building: (BuildingId, &'a str),
    pipes: &'a Pipes,
    answers: &'a [NeighbourAnswer],
    rates: &'a Rates,
}

/// Homes that one fault could take out together.
struct Together {
    branch: Option<BranchId>,
    name: String,
    homes: BTreeSet<SpaceId>,
    faults: f64,
}

impl Look<'_> {
    /// The likeliest shared fault behind these calls, when the rule does not say "one flat".
    fn best_of(&self, calls: &[LooseCall]) -> Result<Option<Proposal>, Error> {
        let mut best: Option<Proposal> = None;
        for lost in [FunctionLost::HotWater, FunctionLost::Heating] {
            let heard: Vec<&LooseCall> =
                calls.iter().filter(|c| counts_for(c.lost, lost)).collect();
            // One home alone is a job of its own, whatever a small riser makes of it.
            let found = self
                .judge(&heard, lost)?
                .filter(|p| p.homes + p.asked.0 > 1);
            if let Some(found) = found {
                let better = best
                    .as_ref()
                    .is_none_or(|b| (found.shared, found.chance) > (b.shared, b.chance));
                if better {
                    best = Some(found);
                }
            }
        }
        Ok(best)
    }

    fn judge(&self, heard: &[&LooseCall], lost: FunctionLost) -> Result<Option<Proposal>, Error> {
        let homes: BTreeSet<SpaceId> = heard.iter().map(|c| c.space).collect();
        let sets = self.together(&homes);
        if sets.is_empty() {
            return Ok(None);
        }
        let mut query = self.rates.query();
        query.groups = sets
            .iter()
            .enumerate()
            .map(|(n, set)| {
                let (off, fine) = self.asked(set, &homes, lost);
                Group {
                    id: n.to_string(),
                    flats_served: set.homes.len() as u32,
                    called: set.homes.intersection(&homes).count() as u32,
                    asked_off: off.len() as u32,
                    asked_ok: fine.len() as u32,
                    shared_faults_per_year: set.faults,
                }
            })
            .collect();
        let answer = many(&query).map_err(|e| Error::Internal(e.to_string()))?;
        let chances: Vec<f64> = answer.groups.iter().map(|g| g.chance_shared).collect();
        let place = match (answer.answer, answer.points_to) {
            (ManyVerdict::Flat, _) => None,
            (_, Some(id)) => id.parse::<usize>().ok(),
            (_, None) => (0..chances.len()).max_by(|a, b| {
                chances
                    .get(*a)
                    .unwrap_or(&0.0)
                    .total_cmp(chances.get(*b).unwrap_or(&0.0))
            }),
        };
        let found = place.and_then(|n| Some((sets.get(n)?, *chances.get(n)?)));
        Ok(found.map(|(set, chance)| {
            let shared = answer.answer == ManyVerdict::Shared;
            self.proposal(set, heard, (lost, chance, shared))
        }))
    }

    fn proposal(
        &self,
        set: &Together,
        heard: &[&LooseCall],
        (lost, chance, shared): (FunctionLost, f64, bool),
    ) -> Proposal {
        let calls: Vec<LooseCall> = heard
            .iter()
            .filter(|c| set.homes.contains(&c.space))
            .map(|c| (*c).clone())
            .collect();
        let homes: BTreeSet<SpaceId> = calls.iter().map(|c| c.space).collect();
        let (off, fine) = self.asked(set, &homes, lost);
        let both = calls
            .iter()
            .all(|c| c.lost == FunctionLost::HeatingAndHotWater);
        let silent = set
            .homes
            .iter()
            .filter(|s| !homes.contains(*s) && !off.contains(*s) && !fine.contains(*s))
            .map(|s| (*s, self.pipes.name(*s).to_owned()))
            .collect();
        Proposal {
            building: self.building.0,
            building_name: self.building.1.to_owned(),
            branch: set.branch,
            name: set.name.clone(),
            lost: if both {
                FunctionLost::HeatingAndHotWater
            } else {
                lost
            },
            homes: homes.len(),
            served: set.homes.len(),
            chance,
            chance_words: chance_words(chance),
            shared,
            asked: (off.len(), fine.len()),
            silent,
            rates: self.rates.words(),
            calls,
        }
    }

    /// The pipes some of these homes hang on, the smallest first, and the building as a whole.
    fn together(&self, homes: &BTreeSet<SpaceId>) -> Vec<Together> {
        if homes.is_empty() {
            return Vec::new();
        }
        let all = self.pipes.homes();
        let mut sets: Vec<Together> = self
            .pipes
            .branches
            .iter()
            .map(|branch| Together {
                branch: Some(branch.id),
                name: branch.name.clone(),
                homes: self.pipes.homes_on(branch.id),
                faults: if branch.kind == "header" {
                    self.rates.plant_faults
                } else {
                    self.rates.riser_faults
                },
            })
            .filter(|set| !set.homes.is_disjoint(homes))
            .collect();
        sets.sort_by_key(|set| set.homes.len());
        if sets.iter().all(|set| set.homes != all) {
            sets.push(Together {
                branch: None,
                name: "the whole building".to_owned(),
                homes: all,
                faults: if self.pipes.branches.is_empty() {
                    self.rates.bare_faults
                } else {
                    self.rates.plant_faults
                },
            });
        }
        sets
    }

    /// Neighbours asked about this function that did not call: off too, and fine. The newest answer counts.
    fn asked(
        &self,
        set: &Together,
        called: &BTreeSet<SpaceId>,
        lost: FunctionLost,
    ) -> (BTreeSet<SpaceId>, BTreeSet<SpaceId>) {
        let (mut off, mut fine) = (BTreeSet::new(), BTreeSet::new());
        for answer in self.answers {
            let counts = counts_for(answer.lost, lost)
                && set.homes.contains(&answer.space)
                && !called.contains(&answer.space);
            if counts {
                off.remove(&answer.space);
                fine.remove(&answer.space);
                if answer.is_off {
                    off.insert(answer.space);
                } else {
                    fine.insert(answer.space);
                }
            }
        }
        (off, fine)
    }
}
