//! The times in which failures were written down: "records exist from … to …", several times, of a building or one unit.
//!
//! A record may begin before the register did, stop for years, and begin again. Only in those times would a failure have
//! been seen, so only they are watched; where none is stated, a unit is watched from its own day on (FORECAST §1).
use chrono::NaiveDate;
use serde_json::json;
use store::Tx;
use terms::place::BuildingCard;
use terms::unit::UnitCard;
use terms::{BuildingId, Role, UnitId};

pub use store::record_windows::RecordWindow;

use crate::forecast::renew_unit;
use crate::{Error, FieldError, Seat, World};

/// Times that may be stated of one thing.
pub const MOST_WINDOWS: usize = 8;
const WRITERS: [Role; 2] = [Role::Agent, Role::Supervisor];

/// What the times are stated of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum RecordsOf {
    /// All units of a building that have none of their own.
    Building(BuildingId),
    /// One unit.
    Unit(UnitId),
}

/// What is stated of a building or unit.
#[derive(Clone, Debug, PartialEq)]
pub struct TimesOfRecords {
    /// The building.
    pub building: BuildingCard,
    /// The unit, where it is asked of one.
    pub unit: Option<UnitCard>,
    /// What is stated of it, the earliest first.
    pub stated: Vec<RecordWindow>,
    /// What holds where nothing is: of a unit its building's times; empty: from the day on that it is watched from.
    pub otherwise: Vec<RecordWindow>,
}

fn placed(
    tx: &mut Tx<'_>,
    seat: &Seat,
    of: RecordsOf,
) -> Result<(BuildingCard, Option<UnitCard>), Error> {
    let (building, unit) = match of {
        RecordsOf::Building(id) => (id, None),
        RecordsOf::Unit(id) => {
            let card = tx.unit(id)?;
            (card.building, Some(card))
        }
    };
    seat.must_reach(building)?;
    Ok((tx.building(building)?, unit))
}

/// What is stated of a building or unit.
///
/// # Errors
/// Not the agent or a supervisor; [`Error::NotFound`] out of reach; the store's own.
pub fn times_of_records(
    world: &World,
    seat: &Seat,
    of: RecordsOf,
) -> Result<TimesOfRecords, Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        let (building, unit) = placed(tx, seat, of)?;
        let at = tx.at();
        let mut all = tx.record_windows(at)?;
        let own = unit.as_ref().map(|u| u.id);
        let stated = all.remove(&(building.id, own)).unwrap_or_default();
        let otherwise = match own {
            Some(_) => all.remove(&(building.id, None)).unwrap_or_default(),
            None => Vec::new(),
        };
        Ok(TimesOfRecords {
            building,
            unit,
            stated,
            otherwise,
        })
    })
}

/// States the times anew, the earliest first; none takes back what was stated. What was said of the unit is said anew at
/// once, and the kinds are fitted anew in the background.
///
/// # Errors
/// [`Error::Invalid`] at `from-N` or `until-N` (N from 0): a time that ends before it begins, overlaps the one before, or
/// lies in days to come; else as [`times_of_records`].
pub fn state_times_of_records(
    world: &World,
    seat: &Seat,
    (of, windows): (RecordsOf, &[RecordWindow]),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &("record windows", of, windows), |tx| {
            let (building, unit) = placed(tx, seat, of)?;
            let wrongs = wrongs(windows, crate::forecast::today(tx));
            if !wrongs.is_empty() {
                return Err(Error::Invalid(wrongs));
            }
            let own = unit.as_ref().map(|u| u.id);
            tx.state_record_windows((building.id, own), windows)?;
            let about = match own {
                Some(id) => format!("unit {id}"),
                None => format!("building {}", building.id),
            };
            tx.note(
                "times of records stated",
                &about,
                &json!({ "windows": windows }),
            );
            if let Some(id) = own {
                renew_unit(tx, id)?;
            }
            tx.queue("nightly_refit", json!({}), Some("refit"))?;
            Ok(())
        })
    })
}

/// What cannot be about these times, each at its field.
fn wrongs(windows: &[RecordWindow], today: NaiveDate) -> Vec<FieldError> {
    let mut found = Vec::new();
    if windows.len() > MOST_WINDOWS {
        found.push(FieldError::at(
            "from-0",
            format!("State {MOST_WINDOWS} times at most; join those that meet."),
        ));
    }
    let mut before: Option<&RecordWindow> = None;
    for (place, window) in windows.iter().enumerate() {
        let (from, until) = (format!("from-{place}"), format!("until-{place}"));
        if window.from_on > today {
            found.push(FieldError::at(
                &from,
                "Records of days to come are not kept yet.",
            ));
        }
        match window.until_on {
            Some(day) if day <= window.from_on => found.push(FieldError::at(
                &until,
                "The last day comes after the first one.",
            )),
            Some(day) if day > today => found.push(FieldError::at(
                &until,
                "Leave the last day empty where records are kept still.",
            )),
            _ => {}
        }
        match before {
            Some(earlier) if earlier.until_on.is_none_or(|day| day >= window.from_on) => {
                found.push(FieldError::at(
                    &from,
                    "It begins after the one before has ended; state them in their order.",
                ));
            }
            _ => {}
        }
        before = Some(window);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(year: i32, month: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, 1).unwrap()
    }

    fn window(from_on: NaiveDate, until_on: Option<NaiveDate>) -> RecordWindow {
        RecordWindow {
            from_on,
            until_on,
            words: String::new(),
        }
    }

    #[test]
    fn times_are_in_order_apart_and_past() {
        let today = on(2026, 11);
        let fields = |all: &[RecordWindow]| -> Vec<String> {
            wrongs(all, today).into_iter().map(|w| w.field).collect()
        };
        let good = [
            window(on(2012, 1), Some(on(2016, 1))),
            window(on(2020, 1), None),
        ];
        assert!(fields(&good).is_empty() && fields(&[]).is_empty());
        assert_eq!(fields(&[good[1].clone(), good[0].clone()]), ["from-1"]);
        let meet = [
            window(on(2012, 1), Some(on(2016, 1))),
            window(on(2016, 1), None),
        ];
        assert_eq!(fields(&meet), ["from-1"]);
        assert_eq!(
            fields(&[window(on(2016, 1), Some(on(2012, 1)))]),
            ["until-0"]
        );
        assert_eq!(
            fields(&[window(on(2012, 1), Some(on(2027, 1)))]),
            ["until-0"]
        );
        assert_eq!(fields(&[window(on(2027, 1), None)]), ["from-0"]);
        let many: Vec<RecordWindow> = (0..9)
            .map(|n| window(on(2010 + n, 1), Some(on(2010 + n, 6))))
            .collect();
        assert_eq!(fields(&many), ["from-0"]);
    }
}
