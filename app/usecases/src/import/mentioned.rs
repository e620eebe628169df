//! Which units a list speaks of: only of these is what the register has on record loaded to hold the list against it.
use std::collections::BTreeSet;

use terms::UnitId;

use super::fields::Field;
use super::known::Known;
use super::problem::Matching;
use super::reading::{Sheet, SheetRow, UNREAD};

/// The cell of a row under a field, as its source means it; empty where nobody can read it.
fn cell<'a>(matching: &'a Matching, row: &'a SheetRow, field: Field) -> &'a str {
    let text = matching.place(field).map_or("", |place| row.cell(place));
    if text.contains(UNREAD) {
        return "";
    }
    matching.meant(field, text)
}

/// The units that the rows of a list name by number or serial, or that stand or stood in a space they name: at least
/// those that reading its rows can find, whatever else is wrong with a row.
pub fn spoken_of(known: &Known, sheet: &Sheet, matching: &Matching) -> Vec<UnitId> {
    let mut numbers: BTreeSet<&str> = BTreeSet::new();
    let mut serials: BTreeSet<&str> = BTreeSet::new();
    let mut places: BTreeSet<(&str, &str)> = BTreeSet::new();
    for row in &sheet.rows {
        numbers.insert(cell(matching, row, Field::Number));
        serials.insert(cell(matching, row, Field::Serial));
        let space = cell(matching, row, Field::Space);
        places.insert((cell(matching, row, Field::Building), space));
    }
    let mut units: BTreeSet<UnitId> = BTreeSet::new();
    units.extend(
        numbers
            .into_iter()
            .filter(|said| !said.is_empty())
            .filter_map(|said| known.numbered(said))
            .map(|unit| unit.id),
    );
    units.extend(
        serials
            .into_iter()
            .filter(|said| !said.is_empty())
            .flat_map(|said| known.with_serial(said))
            .map(|unit| unit.id),
    );
    for (building, space) in places {
        let building = match building {
            "" => known.default,
            said => known.building(said),
        };
        let Some(building) = building.filter(|_| !space.is_empty()) else {
            continue;
        };
        for space in known.spaces(building, space) {
            units.extend(known.ever_in(space.id).map(|unit| unit.id));
        }
    }
    units.into_iter().collect()
}
