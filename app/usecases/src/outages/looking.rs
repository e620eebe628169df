//! One building looked at: which of its pipes could have taken these homes out together, and how likely that is.
use std::collections::BTreeSet;

use inspection::suspects::{Group, ManyVerdict, chance_words, many};
use store::suspected::{LooseCall, NeighbourAnswer};
use terms::{BranchId, BuildingId, FunctionLost, SpaceId};

use super::counts_for;
use super::pipes::Pipes;
use super::proposing::Proposal;
use super::rates::Rates;
use crate::Error;

/// One building looked at.
pub(super) struct Look<'a> {
    pub building: (BuildingId, &'a str),
    pub pipes: &'a Pipes,
    pub answers: &'a [NeighbourAnswer],
    pub rates: &'a Rates,
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
    pub(super) fn best_of(&self, calls: &[LooseCall]) -> Result<Option<Proposal>, Error> {
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
