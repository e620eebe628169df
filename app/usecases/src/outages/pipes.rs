//! Which homes hang on which pipe, through the pipes it feeds.
use std::collections::BTreeSet;

use store::Tx;
use store::branches::BranchCard;
use terms::place::SpaceCard;
use terms::{BranchId, BuildingId, SpaceId, UnitId, UsedAs};

use crate::Error;

/// The homes and pipes of a building as they stand today.
pub(crate) struct Pipes {
    /// Its spaces.
    pub spaces: Vec<SpaceCard>,
    /// Its pipes.
    pub branches: Vec<BranchCard>,
}

impl Pipes {
    /// Reads them.
    pub fn load(tx: &mut Tx<'_>, building: BuildingId) -> Result<Self, Error> {
        let today = tx.today();
        Ok(Self {
            spaces: tx.spaces(Some(building))?,
            branches: tx.branches(building, today)?,
        })
    }

    /// Every flat.
    pub fn homes(&self) -> BTreeSet<SpaceId> {
        self.spaces
            .iter()
            .filter(|s| s.used_as == UsedAs::Flat)
            .map(|s| s.id)
            .collect()
    }

    /// The name of a space.
    pub fn name(&self, space: SpaceId) -> &str {
        self.spaces
            .iter()
            .find(|s| s.id == space)
            .map_or("", |s| s.name.as_str())
    }

    /// A pipe.
    pub fn branch(&self, id: BranchId) -> Option<&BranchCard> {
        self.branches.iter().find(|b| b.id == id)
    }

    /// The flats a pipe feeds, itself or through the pipes that hang on it.
    pub fn homes_on(&self, branch: BranchId) -> BTreeSet<SpaceId> {
        let homes = self.homes();
        let mut below = vec![branch];
        let mut found = BTreeSet::new();
        let mut next = 0;
        // A ring of pipes is walked once.
        while let Some(here) = below.get(next).copied() {
            next += 1;
            for pipe in &self.branches {
                if pipe.id == here {
                    found.extend(pipe.spaces.iter().filter(|s| homes.contains(*s)));
                }
                if pipe.fed_by_branches.contains(&here) && !below.contains(&pipe.id) {
                    below.push(pipe.id);
                }
            }
        }
        found
    }

    /// The units that feed a pipe, itself or through the pipes above it.
    pub fn feeders_of(&self, branch: BranchId) -> BTreeSet<UnitId> {
        let mut above = vec![branch];
        let mut found = BTreeSet::new();
        let mut next = 0;
        while let Some(here) = above.get(next).copied() {
            next += 1;
            if let Some(pipe) = self.branch(here) {
                found.extend(pipe.fed_by.iter().copied());
                for over in &pipe.fed_by_branches {
                    if !above.contains(over) {
                        above.push(*over);
                    }
                }
            }
        }
        found
    }
}
