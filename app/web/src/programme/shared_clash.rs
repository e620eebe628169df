//! What clashes between buildings that pay from one purse, in words.
use terms::{BuildingId, UnitId};
use usecases::plan::{Clashing, JointClash, SharedMade, SharedProgramme};
use wording::sentences::{list, money};

use super::words::{SHARED_FLOOR, cannot_be_kept};

/// What a building is called.
pub(super) fn name_of(found: &SharedProgramme, building: BuildingId) -> &str {
    let card = found.buildings.iter().find(|b| b.id == building);
    card.map_or("a building", |b| b.name.as_str())
}

/// What clashes, each limit with its building.
pub(super) fn clash(found: &SharedProgramme, made: &SharedMade) -> String {
    let called = |unit: &UnitId| {
        let name = made.called.get(unit).cloned();
        name.unwrap_or_else(|| "a unit".to_owned())
    };
    let first = made.first_year;
    let words: Vec<String> = made
        .clash
        .iter()
        .map(|limit| match limit {
            JointClash::SharedFloor => {
                format!("{SHARED_FLOOR}, {}", money::whole(made.wish.floor))
            }
            JointClash::SharedCap => {
                "the most that may be paid from the shared purse in a year".to_owned()
            }
            JointClash::Of(place, limit) => {
                let building = made.wish.buildings.get(*place).copied();
                let of = building.map_or("a building", |id| name_of(found, id));
                match limit {
                    Clashing::MustBy {
                        unit,
                        year: Some(t),
                        pinned: true,
                    } => format!("{}, pinned to {}", called(unit), first + *t as i32),
                    Clashing::MustBy { unit, year, .. } => {
                        let year =
                            year.map_or(String::new(), |t| format!(" by {}", first + t as i32));
                        format!("{}, which has to go{year}", called(unit))
                    }
                    Clashing::Reserve { .. } => format!("the floor of {of}’s own reserve"),
                    Clashing::Cap => format!("the most {of} may pay in a year"),
                    Clashing::Homes => format!("the most replacements in a year in {of}"),
                    Clashing::Hours => {
                        format!("the most home-hours without heating in a year in {of}")
                    }
                    Clashing::Consultation => format!(
                        "the first year in which works that need consultation can happen in {of}"
                    ),
                    Clashing::Together(units) => {
                        let names: Vec<String> = units.iter().map(called).collect();
                        format!("{} bound together", list(&names))
                    }
                    Clashing::Apart(_) => {
                        format!("plant of {of} that must not all be out at once")
                    }
                }
            }
        })
        .collect();
    cannot_be_kept(&words, made.fewest).unwrap_or_else(|| {
        "The time there was did not settle whether there is one. Make it again, or ask for less."
            .to_owned()
    })
}
