//! Cover: who comes at night and at weekends, by building, and where nobody does.
use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate, Weekday};
pub use inspection::cover::Gap;
use inspection::cover::{Cover, gaps, is_off};
use serde::Serialize;
use serde_json::json;
use store::Tx;
pub use store::cover::CoverFact;
use terms::place::BuildingCard;
use terms::{BuildingId, Country, FactId, FirmId, Role};

use crate::work::{Names, names_in};
use crate::{Error, FieldError, Seat, World};

/// Days the cover is looked at ahead.
pub const DAYS_AHEAD: u64 = 14;

/// Cover about to be stated.
#[derive(Clone, Debug, Serialize)]
pub struct CoverForm {
    /// The building.
    pub building: BuildingId,
    /// Who comes.
    pub firm: FirmId,
    /// "nights", "weekends" or "both".
    pub hours: String,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day; `None`: until further notice.
    pub until_on: Option<NaiveDate>,
    /// How they are reached.
    pub words: String,
}

/// One building's cover.
#[derive(Clone, Debug)]
pub struct BuildingCover {
    /// The building.
    pub building: BuildingCard,
    /// What is stated and not over.
    pub cover: Vec<CoverFact>,
    /// Nights and days off without anybody, the nearest first.
    pub gaps: Vec<Gap>,
}

/// The cover of every building in reach.
#[derive(Clone, Debug)]
pub struct CoverView {
    /// By name.
    pub buildings: Vec<BuildingCover>,
    /// Names of firms.
    pub names: Names,
    /// The day it was looked at.
    pub today: NaiveDate,
}

/// The cover of every building in reach, and its gaps over the next days; `day` is the local day.
///
/// # Errors
/// Not of the desk.
pub fn cover_view(world: &World, seat: &Seat, day: NaiveDate) -> Result<CoverView, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    let names = names_in(world, seat.estate())?;
    let holidays = holidays(world)?;
    let buildings = world.acting(seat, |tx| buildings(tx, seat, (day, DAYS_AHEAD), &holidays))?;
    Ok(CoverView {
        buildings,
        names,
        today: day,
    })
}

/// The bank holidays on record.
pub(crate) fn holidays(world: &World) -> Result<BTreeSet<NaiveDate>, Error> {
    let days = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.bank_holidays(Country::England)?))?;
    Ok(days.into_iter().collect())
}

/// Each building in reach with its cover and its gaps over these days.
pub(crate) fn buildings(
    tx: &mut Tx<'_>,
    seat: &Seat,
    (first, count): (NaiveDate, u64),
    holidays: &BTreeSet<NaiveDate>,
) -> Result<Vec<BuildingCover>, Error> {
    let stated = tx.cover()?;
    let mut cards = tx.buildings()?;
    cards.retain(|card| seat.grant().reaches(card.id));
    cards.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(cards
        .into_iter()
        .map(|building| {
            let cover: Vec<CoverFact> = stated
                .iter()
                .filter(|c| c.building == building.id)
                .filter(|c| c.until_on.is_none_or(|last| first <= last))
                .cloned()
                .collect();
            let held: Vec<Cover> = cover.iter().map(held).collect();
            BuildingCover {
                gaps: gaps(&held, (first, count), holidays),
                building,
                cover,
            }
        })
        .collect())
}

fn held(fact: &CoverFact) -> Cover {
    Cover {
        nights: matches!(fact.hours.as_str(), "nights" | "both"),
        weekends: matches!(fact.hours.as_str(), "weekends" | "both"),
        from_on: fact.from_on,
        until_on: fact.until_on,
    }
}

/// How many days of gaps Today shows: on a working day before days off, up to the next working day; else none.
pub(crate) fn days_to_show(day: NaiveDate, holidays: &BTreeSet<NaiveDate>) -> u64 {
    let mut days = 1;
    let mut next = day.succ_opt();
    while let Some(off) = next.filter(|d| is_off(*d, holidays)) {
        days += 1;
        next = off.succ_opt();
    }
    let last_working_day = !is_off(day, holidays) && days > 1;
    if last_working_day || day.weekday() == Weekday::Fri {
        days
    } else {
        0
    }
}

/// States cover.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field.
pub fn state_cover(world: &World, seat: &Seat, form: CoverForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    seat.must_reach(form.building)?;
    let names = names_in(world, seat.estate())?;
    let mut wrongs = Vec::new();
    if !names.has_firm(form.firm) {
        wrongs.push(FieldError::at(
            "firm",
            "That firm gives this estate no time.",
        ));
    }
    if !["nights", "weekends", "both"].contains(&form.hours.as_str()) {
        wrongs.push(FieldError::at("hours", "Say when they come."));
    }
    if form.until_on.is_some_and(|last| last < form.from_on) {
        wrongs.push(FieldError::at("until", "It ends before it begins."));
    }
    Error::unless_empty(wrongs)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            tx.building(form.building)?;
            tx.state_cover(&CoverFact {
                id: FactId(uuid::Uuid::nil()),
                building: form.building,
                firm: form.firm,
                hours: form.hours.clone(),
                from_on: form.from_on,
                until_on: form.until_on,
                words: form.words.trim().to_owned(),
            })?;
            let body = json!({"firm": form.firm, "hours": form.hours, "from": form.from_on, "until": form.until_on});
            tx.note("cover stated", &format!("building {}", form.building), &body);
            Ok(())
        })
    })
}

/// Ends cover on a day.
///
/// # Errors
/// [`Error::NotFound`] for cover that is not there or over.
pub fn end_cover(
    world: &World,
    seat: &Seat,
    (cover, on): (FactId, NaiveDate),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(cover, on), |tx| {
            let stated = tx.cover()?;
            let fact = stated
                .into_iter()
                .find(|c| c.id == cover)
                .ok_or(Error::NotFound("cover"))?;
            seat.must_reach(fact.building)
                .or(Err(Error::NotFound("cover")))?;
            tx.end_cover(&fact, on.max(fact.from_on))?;
            tx.note(
                "cover ended",
                &format!("building {}", fact.building),
                &json!({ "firm": fact.firm, "on": on }),
            );
            Ok(())
        })
    })
}
