//! What a replacement disturbs: for how long, by the trade's data, and how many homes, by the register's pipes.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use store::Tx;
use store::branches::BranchCard;
use terms::{BranchId, BuildingId, SpaceId, UnitId, UsedAs};

use crate::Error;
use crate::advice::Candidate;

/// Dated data: code of a kind, hours it is out while it is fitted.
const FITTING: &str = include_str!("../../data/FITTING.csv");
/// The row that is added where another kind takes the place.
const CHANGE: &str = "CHANGE";
/// Hours of a kind for which none are known: a working day. Common practice, no source.
const UNKNOWN: u32 = 8;

/// Hours by kind.
pub(super) struct Fitting(BTreeMap<String, u32>);

impl Fitting {
    /// As shipped.
    pub fn shipped() -> Self {
        let mut reader = csv::Reader::from_reader(FITTING.as_bytes());
        let rows: Vec<BTreeMap<String, String>> = reader.deserialize().flatten().collect();
        let hours = |row: &BTreeMap<String, String>| {
            Some((row.get("code")?.clone(), row.get("hours")?.parse().ok()?))
        };
        Self(rows.iter().filter_map(hours).collect())
    }

    /// Hours a unit is out while it is replaced with an option.
    pub fn hours(&self, kind: &str, option: &str) -> u32 {
        let own = self.0.get(option).copied().unwrap_or(UNKNOWN);
        let change = if kind == option {
            0
        } else {
            self.0.get(CHANGE).copied().unwrap_or(0)
        };
        own + change
    }
}

/// The homes that lose heat when one unit is out, by unit: its own flat where it heats it, and every flat on the branches it
/// feeds where those left do not suffice. Where it is not known how many a branch needs, it needs all of them.
#[derive(Default)]
pub(super) struct Fed(BTreeMap<UnitId, BTreeSet<SpaceId>>);

impl Fed {
    /// As the register has it on a day.
    pub fn of(tx: &mut Tx<'_>, building: BuildingId, day: NaiveDate) -> Result<Self, Error> {
        let branches = tx.branches(building, day)?;
        let flats = tx.spaces(Some(building))?.into_iter();
        let flats = flats.filter(|s| s.used_as == UsedAs::Flat).map(|s| s.id);
        Ok(Self::found(&branches, &flats.collect()))
    }

    fn found(branches: &[BranchCard], flats: &BTreeSet<SpaceId>) -> Self {
        let mut fed: BTreeMap<UnitId, BTreeSet<SpaceId>> = BTreeMap::new();
        for branch in branches {
            let there = branch.fed_by.len();
            let needed = branch.needed.and_then(|n| usize::try_from(n).ok());
            if there > needed.unwrap_or(there) {
                continue;
            }
            let homes = homes_on(branches, branch.id, flats);
            for unit in &branch.fed_by {
                fed.entry(*unit).or_default().extend(&homes);
            }
        }
        Self(fed)
    }

    /// How many homes lose heat when the unit is out.
    pub fn homes(&self, unit: &Candidate) -> u32 {
        let fed = self.0.get(&unit.unit);
        let on_pipes = fed.map_or(0, |homes| homes.len() as u32);
        let own = fed.is_none_or(|homes| !homes.contains(&unit.space));
        on_pipes + u32::from(unit.heats_home && own)
    }
}

/// The flats on a branch and on those it feeds.
fn homes_on(
    branches: &[BranchCard],
    from: BranchId,
    flats: &BTreeSet<SpaceId>,
) -> BTreeSet<SpaceId> {
    let mut reached: BTreeSet<BranchId> = BTreeSet::from([from]);
    loop {
        let more: Vec<BranchId> = branches
            .iter()
            .filter(|b| !reached.contains(&b.id))
            .filter(|b| b.fed_by_branches.iter().any(|f| reached.contains(f)))
            .map(|b| b.id)
            .collect();
        if more.is_empty() {
            break;
        }
        reached.extend(more);
    }
    let there = branches.iter().filter(|b| reached.contains(&b.id));
    there
        .flat_map(|b| b.spaces.iter().copied())
        .filter(|space| flats.contains(space))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn every_kind_has_its_hours_and_another_kind_takes_longer() {
        let fitting = Fitting::shipped();
        let kinds = include_str!("../../data/KINDS.csv").lines().skip(1);
        for kind in kinds.filter_map(|line| line.split(',').next()) {
            assert!(fitting.0.contains_key(kind), "{kind}");
        }
        assert_eq!(fitting.hours("CB", "CB"), 6);
        assert_eq!(fitting.hours("CB", "HP"), 16 + 8);
    }

    fn id<T: From<Uuid>>(n: u128) -> T {
        T::from(Uuid::from_u128(n))
    }

    fn branch(n: u128, needed: Option<i32>, fed: &[u128], by: &[u128], on: &[u128]) -> BranchCard {
        BranchCard {
            id: id(n),
            building: id(1),
            name: String::new(),
            kind: "riser".to_owned(),
            needed,
            fed_by: fed.iter().map(|n| id(*n)).collect(),
            fed_by_branches: by.iter().map(|n| id(*n)).collect(),
            spaces: on.iter().map(|n| id(*n)).collect(),
        }
    }

    /// A header fed by two boilers of which one suffices, a riser on it with a pump of its own, and a riser nobody says how many
    /// it needs. Spaces 100 to 104 are flats, 200 a shop. By hand.
    #[test]
    fn a_unit_takes_the_homes_of_its_branches_where_none_is_spare() {
        let branches = [
            branch(10, Some(1), &[1, 2], &[], &[100]),
            branch(11, Some(1), &[3], &[10], &[101, 102, 200]),
            branch(12, None, &[4, 5], &[10], &[103, 104]),
        ];
        let flats: BTreeSet<SpaceId> = (100..=104).map(id).collect();
        let fed = Fed::found(&branches, &flats);
        let count = |n: u128| fed.0.get(&id(n)).map_or(0, BTreeSet::len);
        assert_eq!([1, 2, 3, 4, 5].map(count), [0, 0, 2, 2, 2]);
        // With both boilers needed either takes all five.
        let mut both = branches;
        both[0].needed = Some(2);
        let fed = Fed::found(&both, &flats);
        assert_eq!(fed.0[&id(1)].len(), 5);
    }
}
