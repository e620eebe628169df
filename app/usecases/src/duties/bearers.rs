//! Duties a building has once: which of its units bears each, and what it takes over from the one before.
use std::collections::BTreeMap;

use store::Tx;
use store::units::Which;
use terms::place::SpaceCard;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{BuildingId, DutyId, Fate, SpaceId, UnitId};

use super::{add_start, reckon};
use crate::Error;
use crate::founding::{applies, once_a_building};

/// The unit that bears each duty a building has once: of all it is for, the one longest in the register.
pub(super) type Bearers = BTreeMap<(BuildingId, String), UnitId>;

/// The bearers among these units.
pub(super) fn among(
    rules: &[DutyRule],
    units: &[UnitCard],
    spaces: &BTreeMap<SpaceId, SpaceCard>,
) -> Bearers {
    let mut found = Bearers::new();
    for rule in rules.iter().filter(|rule| once_a_building(rule)) {
        for unit in units.iter().filter(|u| u.fate == Fate::InService) {
            let fits = spaces
                .get(&unit.space)
                .is_some_and(|space| applies(rule, &unit.kind, space.used_as));
            if fits {
                let bearer = found
                    .entry((unit.building, rule.code.clone()))
                    .or_insert(unit.id);
                *bearer = (*bearer).min(unit.id);
            }
        }
    }
    found
}

/// The same for one building.
pub(super) fn of_building(
    tx: &mut Tx<'_>,
    rules: &[DutyRule],
    building: BuildingId,
) -> Result<Bearers, Error> {
    let units = tx.units(Which::Building(building))?;
    let spaces = tx.spaces(Some(building))?;
    let spaces = spaces.into_iter().map(|s| (s.id, s)).collect();
    Ok(among(rules, &units, &spaces))
}

/// Whether a unit has a duty: always, unless its building has the duty once and another unit bears it.
pub(super) fn bears(bearers: &Bearers, rule: &DutyRule, unit: &UnitCard) -> bool {
    !once_a_building(rule) || bearers.get(&(unit.building, rule.code.clone())) == Some(&unit.id)
}

/// A duty the building has once keeps its date when another unit comes to bear it. Answers whether there was one.
pub(super) fn take_over(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    rule: &DutyRule,
    duty: DutyId,
) -> Result<bool, Error> {
    if !once_a_building(rule) {
        return Ok(false);
    }
    let others: Vec<UnitId> = tx
        .units(Which::Building(unit.building))?
        .into_iter()
        .filter(|u| u.id != unit.id)
        .map(|u| u.id)
        .collect();
    let former: Vec<DutyId> = tx
        .duties_of_units(&others)?
        .into_iter()
        .filter(|d| d.rule == rule.code && d.building == unit.building)
        .map(|d| d.id)
        .collect();
    let last = tx
        .completions_of(&former, false)?
        .into_iter()
        .filter(|row| row.next_deadline.is_some())
        .max_by_key(|row| (row.happened_on, row.id));
    let Some((row, deadline)) = last.and_then(|row| row.next_deadline.map(|d| (row.clone(), d)))
    else {
        return Ok(false);
    };
    let reason = format!(
        "Taken over from the unit that bore it for the building before. {}",
        row.reason
    );
    add_start(tx, duty, (deadline, row.happened_on), &reason)?;
    reckon(tx, duty, rule)?;
    Ok(true)
}
