//! What the register knows, indexed by the words a list uses for it.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use store::Tx;
use store::history::History;
use store::record_windows::{RecordWindow, RecordsOf};
use store::unit_likes::LikeRow;
use store::units::Which;
use terms::place::{BuildingCard, SpaceCard};
use terms::trade::{DutyRule, Kind, PartShare};
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, SpaceId, Tenure, UnitId};

use super::duty_dates::{AllHeld, gather};
use super::fields::{ListKind, normal};
use super::mentioned::spoken_of;
use super::problem::Matching;
use super::reading::Sheet;
use crate::{Error, Seat};

/// The register as a list is held against it.
#[derive(Debug)]
pub struct Known {
    /// Today.
    pub today: NaiveDate,
    /// The building of rows that name none.
    pub default: Option<BuildingId>,
    /// Kinds of unit.
    pub kinds: Vec<Kind>,
    /// Their parts.
    pub parts: Vec<PartShare>,
    /// What happened to the units a list speaks of; empty for a list of units.
    pub histories: BTreeMap<UnitId, History>,
    /// The rules of duties in force.
    pub rules: Vec<DutyRule>,
    /// What the records of duties hold of the units a list speaks of.
    pub held: AllHeld,
    /// Who holds each home today, where that is stated.
    pub tenures: BTreeMap<SpaceId, Tenure>,
    /// Times of records as stated; empty but for a list of them.
    pub windows: BTreeMap<RecordsOf, Vec<RecordWindow>>,
    /// What units a list speaks of are alike in; empty but for a list of units.
    pub alike: BTreeMap<UnitId, Vec<LikeRow>>,
    buildings: Vec<BuildingCard>,
    spaces: Vec<SpaceCard>,
    units: Vec<UnitCard>,
    building_names: BTreeMap<String, BuildingId>,
    space_names: BTreeMap<(BuildingId, String), Vec<usize>>,
    by_number: BTreeMap<String, usize>,
    by_serial: BTreeMap<String, Vec<usize>>,
    by_space: BTreeMap<SpaceId, Vec<usize>>,
    by_id: BTreeMap<SpaceId, usize>,
}

impl Known {
    /// Loads what `seat` reaches: places and units, by which a list can name them. What is on record of units comes
    /// with [`Self::look_up`].
    pub fn load(tx: &mut Tx<'_>, seat: &Seat, named: Option<BuildingId>) -> Result<Self, Error> {
        let reached = |id: BuildingId| seat.grant().reaches(id);
        let mut buildings = tx.buildings()?;
        buildings.retain(|b| reached(b.id));
        let mut spaces = tx.spaces(None)?;
        spaces.retain(|s| reached(s.building));
        let mut units = tx.units(Which::All)?;
        units.retain(|u| reached(u.building));
        let only = match buildings.as_slice() {
            [only] => Some(only.id),
            _ => None,
        };
        let mut known = Self {
            today: tx.today(),
            default: named.filter(|id| reached(*id)).or(only),
            kinds: tx.kinds()?,
            parts: tx.part_shares()?,
            histories: BTreeMap::new(),
            rules: tx.duty_rules()?,
            held: AllHeld::new(),
            tenures: {
                let today = crate::work::wall::day(tx.at());
                tx.tenures_on(today)?
            },
            windows: BTreeMap::new(),
            alike: BTreeMap::new(),
            buildings,
            spaces,
            units,
            building_names: BTreeMap::new(),
            space_names: BTreeMap::new(),
            by_number: BTreeMap::new(),
            by_serial: BTreeMap::new(),
            by_space: BTreeMap::new(),
            by_id: BTreeMap::new(),
        };
        known.index();
        Ok(known)
    }

    /// Loads what is on record of the units a list speaks of, and of no other: an estate has more of both than memory.
    pub fn look_up(
        &mut self,
        tx: &mut Tx<'_>,
        kind: ListKind,
        (sheet, matching): (&Sheet, &Matching),
    ) -> Result<(), Error> {
        let units = spoken_of(self, sheet, matching);
        self.held = gather(tx.duty_days(&units)?);
        let at = tx.at();
        match kind {
            ListKind::Units => self.alike = tx.likes(Some(&units), at)?,
            ListKind::History => self.histories = tx.histories(&units, at)?,
            ListKind::Records => {
                self.histories = tx.histories(&units, at)?;
                self.windows = tx.record_windows(at)?;
            }
        }
        Ok(())
    }

    /// Every unit that ever stood in a space, as the register has it.
    pub fn ever_in(&self, space: SpaceId) -> impl Iterator<Item = &UnitCard> {
        let places = self.by_space.get(&space).into_iter().flatten();
        places.filter_map(|p| self.units.get(*p))
    }

    fn index(&mut self) {
        for building in &self.buildings {
            self.building_names
                .insert(normal(&building.code), building.id);
            self.building_names
                .insert(normal(&building.name), building.id);
        }
        for (place, space) in self.spaces.iter().enumerate() {
            self.by_id.insert(space.id, place);
            self.space_names
                .entry((space.building, place_key(&space.name)))
                .or_default()
                .push(place);
        }
        for (place, unit) in self.units.iter().enumerate() {
            self.by_number.insert(number_key(&unit.number), place);
            if !unit.serial.is_empty() {
                self.by_serial
                    .entry(serial_key(&unit.serial))
                    .or_default()
                    .push(place);
            }
            self.by_space.entry(unit.space).or_default().push(place);
        }
    }

    /// A building by name or code.
    pub fn building(&self, said: &str) -> Option<BuildingId> {
        self.building_names.get(&normal(said)).copied()
    }

    /// The spaces of a building that a cell may mean: "14" and "Flat 14" are the same.
    pub fn spaces(&self, building: BuildingId, said: &str) -> Vec<&SpaceCard> {
        self.space_names
            .get(&(building, place_key(said)))
            .map(|places| places.iter().filter_map(|p| self.spaces.get(*p)).collect())
            .unwrap_or_default()
    }

    /// The space a unit stands in.
    pub fn space_of(&self, unit: &UnitCard) -> Option<&SpaceCard> {
        let place = self.by_id.get(&unit.space)?;
        self.spaces.get(*place)
    }

    /// A unit by its number.
    pub fn numbered(&self, said: &str) -> Option<&UnitCard> {
        self.by_number
            .get(&number_key(said))
            .and_then(|p| self.units.get(*p))
    }

    /// The number of a unit; empty when it is not reached.
    pub fn number_of(&self, unit: UnitId) -> String {
        let found = self.units.iter().find(|u| u.id == unit);
        found.map_or_else(String::new, |u| u.number.clone())
    }

    /// The units that bear a serial.
    pub fn with_serial(&self, said: &str) -> Vec<&UnitCard> {
        self.by_serial
            .get(&serial_key(said))
            .map(|places| places.iter().filter_map(|p| self.units.get(*p)).collect())
            .unwrap_or_default()
    }

    /// The units in service in a space, of one kind or of any.
    pub fn standing(&self, space: SpaceId, kind: Option<&str>) -> Vec<&UnitCard> {
        self.ever_in(space)
            .filter(|u| u.fate == Fate::InService && kind.is_none_or(|k| k == u.kind))
            .collect()
    }
}

/// "Flat 014", "flat 14", "Apt. 14" and "14" are one place.
pub fn place_key(said: &str) -> String {
    let name = normal(said);
    let mut words: Vec<&str> = name.split(' ').collect();
    while words.len() > 1
        && matches!(
            words.first(),
            Some(&("flat" | "apartment" | "apt" | "no" | "number" | "home"))
        )
    {
        words.remove(0);
    }
    let mut key = words.join(" ");
    let zeros = key.len() - key.trim_start_matches('0').len();
    if key[zeros..].starts_with(|c: char| c.is_ascii_digit()) {
        key = key.split_off(zeros);
    }
    key
}

/// Numbers are compared without regard to capitals and spaces.
pub fn number_key(said: &str) -> String {
    said.split_whitespace().collect::<String>().to_lowercase()
}

/// Serials are compared without regard to capitals, spaces and dashes; letters that look like digits are not mixed up.
pub fn serial_key(said: &str) -> String {
    said.chars()
        .filter(|c| c.is_alphanumeric())
        .collect::<String>()
        .to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_places_are_compared_as_people_mean_them() {
        for (a, b) in [
            ("Flat 14", "14"),
            ("flat no. 014", "Flat 14"),
            ("Apt 14A", "14a"),
            ("Plant room", "plant ROOM"),
            ("Flat 0", "0"),
        ] {
            assert_eq!(place_key(a), place_key(b), "{a} and {b}");
        }
        assert_ne!(place_key("14"), place_key("14A"));
        assert_ne!(place_key("4"), place_key("40"));
        assert_eq!(serial_key("i1o0-77"), serial_key("I1O0 77"));
        assert_ne!(serial_key("I1O0"), serial_key("1100"));
    }
}
