//! Which units belong together: by building, by the month they were fitted in, by family, by branch, by who put them in.
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use store::Tx;
use store::jobs::Which;
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, FirmId, JobKind, UnitId};

use super::Tie;
use crate::Error;

/// What is known of groups in an estate.
pub(super) struct Known {
    /// Every unit's ties.
    pub ties: BTreeMap<UnitId, Vec<Tie>>,
    /// What a tie is called; a batch has no name.
    pub names: BTreeMap<Tie, String>,
}

/// Ties of every unit, from its place, its plate, the pipes of its building and the replacements on record.
pub(super) fn known(
    tx: &mut Tx<'_>,
    (cards, families): (&[UnitCard], BTreeMap<UnitId, String>),
    firms: &BTreeMap<FirmId, String>,
    today: NaiveDate,
) -> Result<Known, Error> {
    let mut ties: BTreeMap<UnitId, Vec<Tie>> = BTreeMap::new();
    let mut names: BTreeMap<Tie, String> = BTreeMap::new();
    for card in cards {
        let own = ties.entry(card.id).or_default();
        own.push(Tie::Building(card.building));
        names.insert(Tie::Building(card.building), card.building_name.clone());
        own.extend(month_fitted(card).map(Tie::Batch));
        if let Some(family) = families.get(&card.id) {
            own.push(Tie::Family(family.clone()));
            names.insert(Tie::Family(family.clone()), family.clone());
        }
    }
    let buildings: BTreeMap<BuildingId, &str> = cards
        .iter()
        .map(|card| (card.building, card.building_name.as_str()))
        .collect();
    for (building, building_name) in buildings {
        for branch in tx.branches(building, today)? {
            let tie = Tie::Branch(building, branch.id);
            names.insert(tie.clone(), format!("{}, {building_name}", branch.name));
            let on_it = cards.iter().filter(|c| branch.spaces.contains(&c.space));
            for card in on_it {
                ties.entry(card.id).or_default().push(tie.clone());
            }
        }
    }
    for (unit, firm) in installers(tx, cards)? {
        let name = firms
            .get(&firm)
            .map_or("a firm no longer listed", String::as_str);
        names.insert(Tie::Installer(firm), name.to_owned());
        ties.entry(unit).or_default().push(Tie::Installer(firm));
    }
    Ok(Known { ties, names })
}

/// The first day of the month a unit was fitted in, where that is known.
fn month_fitted(card: &UnitCard) -> Option<NaiveDate> {
    let (from, until) = card.installed?;
    let month = |day: NaiveDate| day.with_day(1);
    month(from).filter(|first| month(until) == Some(*first))
}

/// Who put a unit in, where a replacement is on record: the unit that came into the place of one taken out on the same
/// day, and the firm that had the replacement job of that one.
fn installers(tx: &mut Tx<'_>, cards: &[UnitCard]) -> Result<Vec<(UnitId, FirmId)>, Error> {
    let mut found = Vec::new();
    for old in cards.iter().filter(|c| c.fate != Fate::InService) {
        let jobs = tx.jobs(&Which::Unit(old.id))?;
        let firm = jobs
            .iter()
            .filter(|job| job.kind == JobKind::Replacement)
            .find_map(|job| job.firm);
        let Some(firm) = firm else {
            continue;
        };
        let came = cards
            .iter()
            .filter(|c| c.id != old.id && c.space == old.space)
            .filter(|c| c.placed_from.is_some() && c.placed_from == old.fate_on);
        found.extend(came.map(|c| (c.id, firm)));
    }
    Ok(found)
}
