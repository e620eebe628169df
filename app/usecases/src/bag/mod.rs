//! The bag: what an engineer should carry in a week, within a price; packed, kept, and met with what happened.
mod gather;
mod met;

use chrono::{DateTime, Datelike, Days, NaiveDate, Utc};
use dependability::bag::{Bag, Call, fill};
use serde::{Deserialize, Serialize};
use serde_json::json;
use terms::{Engineer, EngineerId, EstateId, JobId, Pence, Role};

use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

pub use dependability::bag::Carried;
pub use met::{BagRecord, record};

/// What a bag may come to until somebody says otherwise, and of a hundred planned visits how many find a part to renew
/// (judgement, no source).
const PURSE: Pence = Pence(40_000);
const OF_HUNDRED: f64 = 5.0;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BagAsk {
    /// Whose bag.
    pub engineer: EngineerId,
    /// The Monday of its week.
    pub week_on: NaiveDate,
    /// The most it may come to.
    pub purse: Pence,
    /// Of a hundred planned visits, how many find a part to renew.
    pub of_hundred: f64,
}

/// A part that may be carried.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BagPart {
    /// "Fan, combi gas boiler"
    pub name: String,
    /// What one costs.
    pub price: Pence,
}

/// A packed bag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BagAnswer {
    /// The bag; its parts are places in `parts`.
    pub bag: Bag,
    /// Parts that any visit may need.
    pub parts: Vec<BagPart>,
    /// Fault visits booked in the week, with the chance that each is finished first time with this bag.
    pub jobs: Vec<(JobId, f64)>,
    /// Planned visits in the week.
    pub planned: usize,
    /// Faults to be expected in the week where the engineer will be, his share of them.
    pub to_come: f64,
}

/// A bag as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptBag {
    /// What was asked.
    pub ask: BagAsk,
    /// When it was packed.
    pub made_at: DateTime<Utc>,
    /// What it holds.
    pub answer: BagAnswer,
}

/// The page of the bag, for one estate.
#[derive(Clone, Debug, PartialEq)]
pub struct BagView {
    /// The estate.
    pub estate: EstateId,
    /// Its name.
    pub estate_name: String,
    /// The engineers whose bag the reader may pack.
    pub engineers: Vec<(EngineerId, String)>,
    /// Whose bag this is.
    pub engineer: Option<(EngineerId, String)>,
    /// The Monday of its week.
    pub week_on: NaiveDate,
    /// Fault visits booked and planned visits in the week.
    pub visits: (usize, usize),
    /// What the form starts with.
    pub ask: Option<BagAsk>,
    /// The bag packed last.
    pub kept: Option<KeptBag>,
}

const PACKERS: [Role; 2] = [Role::Contractor, Role::Office];

/// The Monday of a day's week; at the weekend, of the next.
fn week_of(day: NaiveDate) -> NaiveDate {
    let monday = day - Days::new(u64::from(day.weekday().num_days_from_monday()));
    if day.weekday().num_days_from_monday() >= 5 {
        monday + Days::new(7)
    } else {
        monday
    }
}

/// The engineers a seat may pack for: itself, or all of the firm for its office.
fn engineers(world: &World, seat: &Seat) -> Result<Vec<Engineer>, Error> {
    seat.must_be(&PACKERS)?;
    let firm = seat.firm()?;
    let mut all = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.engineers_of(&[firm])?))?;
    if seat.role() == Role::Contractor {
        all.retain(|e| Some(e.id) == seat.engineer());
    }
    Ok(all)
}

/// The bag of this week in each of the reader's estates.
///
/// # Errors
/// Not a contractor or the firm's office; not an engineer of theirs; the store's own.
pub fn view(world: &World, seats: &[Seat], of: Option<EngineerId>) -> Result<Vec<BagView>, Error> {
    let week_on = week_of(wall::day(world.now()));
    let mut views = Vec::new();
    for seat in seats {
        let known = engineers(world, seat)?;
        let engineer = match of {
            Some(id) => known.iter().find(|e| e.id == id),
            None => known.first(),
        };
        if of.is_some() && engineer.is_none() {
            continue;
        }
        let kept = match engineer {
            None => None,
            Some(one) => kept(world, seat, one.id, week_on)?,
        };
        let visits = match engineer {
            None => (0, 0),
            Some(one) => world.acting(seat, |tx| {
                gather::visits(tx, (seat.firm()?, one.id), week_on)
            })?,
        };
        let ask = engineer.map(|one| BagAsk {
            engineer: one.id,
            week_on,
            purse: kept.as_ref().map_or(PURSE, |k| k.ask.purse),
            of_hundred: kept.as_ref().map_or(OF_HUNDRED, |k| k.ask.of_hundred),
        });
        views.push(BagView {
            estate: seat.estate(),
            estate_name: seat.estate_name().to_owned(),
            engineers: known.iter().map(|e| (e.id, e.name.clone())).collect(),
            engineer: engineer.map(|e| (e.id, e.name.clone())),
            week_on,
            visits,
            ask,
            kept,
        });
    }
    if views.is_empty() {
        return Err(Error::NotFound("engineer"));
    }
    Ok(views)
}

fn kept(
    world: &World,
    seat: &Seat,
    engineer: EngineerId,
    week_on: NaiveDate,
) -> Result<Option<KeptBag>, Error> {
    world.acting(seat, |tx| {
        let rows = tx.bags_between(week_on, week_on)?;
        let row = rows.into_iter().find(|row| row.engineer == engineer);
        row.map(|row| -> Result<KeptBag, Error> {
            Ok(KeptBag {
                ask: serde_json::from_value(row.ask).map_err(store::Error::from)?,
                made_at: row.made_at,
                answer: serde_json::from_value(row.answer).map_err(store::Error::from)?,
            })
        })
        .transpose()
    })
}

/// Packs a bag and keeps it with what was asked.
///
/// # Errors
/// Not a contractor or the firm's office; not an engineer of theirs; a number that cannot be meant, at its field.
pub fn pack(world: &World, seat: &Seat, ask: &BagAsk, once: &str) -> Result<(), Error> {
    let firm = seat.firm()?;
    let known = engineers(world, seat)?;
    if !known.iter().any(|e| e.id == ask.engineer) {
        return Err(Error::NotFound("engineer"));
    }
    let mut wrongs = Vec::new();
    if !(0..=100_000_000).contains(&ask.purse.0) {
        wrongs.push(FieldError::at(
            "purse",
            "Between nothing and a million pounds.",
        ));
    }
    if !(0.0..=100.0).contains(&ask.of_hundred) {
        wrongs.push(FieldError::at(
            "of_hundred",
            "Between 0 and 100 of a hundred.",
        ));
    }
    Error::unless_empty(wrongs)?;
    let colleagues = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.engineers_of(&[firm])?.len()))?;
    let gathered = world.acting(seat, |tx| gather::gather(tx, ask, (firm, colleagues)))?;
    let prices: Vec<i64> = gathered.parts.iter().map(|p| p.price.0).collect();
    let calls: Vec<Call> = gathered.calls.iter().map(|c| c.call.clone()).collect();
    let bag =
        fill(&calls, &prices, ask.purse.0).map_err(|e| Error::field("purse", format!("{e}.")))?;
    let answer = gathered.answered(bag);
    world.acting(seat, |tx| {
        tx.once(once, ask, |tx| {
            let said = serde_json::to_value(&answer).map_err(store::Error::from)?;
            let asked = serde_json::to_value(ask).map_err(store::Error::from)?;
            tx.keep_bag((ask.engineer, firm), ask.week_on, (&asked, &said))?;
            tx.note(
                "bag packed",
                &format!("engineer {}", ask.engineer),
                &json!({ "week_on": ask.week_on, "price": answer.bag.price }),
            );
            Ok(())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_week_begins_on_monday_and_the_weekend_looks_ahead() {
        let on = |day| NaiveDate::from_ymd_opt(2026, 11, day).unwrap_or_default();
        // 23 November 2026 is a Monday.
        for (day, monday) in [(23, 23), (25, 23), (27, 23), (28, 30), (29, 30)] {
            assert_eq!(week_of(on(day)), on(monday), "{day}");
        }
    }
}
