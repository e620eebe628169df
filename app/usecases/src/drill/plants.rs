//! What units of a drill have in common: the doubt of their kind and building, and the plant they stand in.
use std::collections::BTreeMap;

use dependability::drill::{Doubt, Group, Together};
use terms::BuildingId;

use crate::forecast::COMMON_SHARE;

/// Places of the doubts that units share: one of each kind, one of each kind in a building.
#[derive(Default)]
pub(super) struct SharedDoubts(BTreeMap<(String, Option<BuildingId>), usize>);

impl SharedDoubts {
    /// What a unit shares, by its place; nothing where there is no doubt.
    pub fn of(&mut self, kind: &str, building: BuildingId, doubt: &Doubt) -> Vec<(usize, f64)> {
        [(None, doubt.kind), (Some(building), doubt.building)]
            .into_iter()
            .filter(|(_, sd)| *sd > 0.0)
            .map(|(of, sd)| {
                let next = self.0.len();
                (*self.0.entry((kind.to_owned(), of)).or_insert(next), sd)
            })
            .collect()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.0.len()
    }
}

/// Units that feed the same branch stand in one plant, those of branches that share a unit too; of two units and more a
/// share of failures takes all.
pub(super) fn plants(groups: &[Group]) -> Vec<Together> {
    let mut plants: Vec<Vec<usize>> = Vec::new();
    for group in groups {
        let (with, without): (Vec<_>, Vec<_>) = plants
            .into_iter()
            .partition(|plant| plant.iter().any(|unit| group.units.contains(unit)));
        plants = without;
        let mut joined: Vec<usize> = with
            .into_iter()
            .flatten()
            .chain(group.units.clone())
            .collect();
        joined.sort_unstable();
        joined.dedup();
        plants.push(joined);
    }
    plants
        .into_iter()
        .filter(|units| units.len() > 1)
        .map(|units| Together {
            units,
            common: COMMON_SHARE,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn group(units: &[usize]) -> Group {
        Group {
            units: units.to_vec(),
            needed: 1,
            homes: vec![0],
        }
    }

    #[test]
    fn branches_on_the_same_units_are_one_plant() {
        let found = plants(&[
            group(&[0]),
            group(&[1, 2]),
            group(&[4, 5]),
            group(&[2, 3]),
            group(&[5, 4]),
        ]);
        let units: Vec<Vec<usize>> = found.into_iter().map(|t| t.units).collect();
        assert_eq!(units, [vec![1, 2, 3], vec![4, 5]]);
    }

    #[test]
    fn a_kind_shares_one_doubt_everywhere_and_one_in_each_building() {
        let doubt = Doubt {
            own: 0.2,
            building: 0.3,
            kind: 0.4,
        };
        let mut doubts = SharedDoubts::default();
        let at = |n: u128| BuildingId(Uuid::from_u128(n));
        assert_eq!(doubts.of("CB", at(1), &doubt), [(0, 0.4), (1, 0.3)]);
        assert_eq!(doubts.of("CB", at(2), &doubt), [(0, 0.4), (2, 0.3)]);
        assert_eq!(doubts.of("GB", at(1), &doubt), [(3, 0.4), (4, 0.3)]);
        let none = Doubt {
            kind: 0.0,
            building: 0.0,
            ..doubt
        };
        assert!(doubts.of("EB", at(1), &none).is_empty());
        assert_eq!(doubts.count(), 5);
    }
}
