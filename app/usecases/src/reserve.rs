//! The money a building will need for replacements in the years to come, as a spread; and what that is a flat a month.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, Months};
use costing::reserve::{Stock, a_flat_a_month, reserve};
use store::Tx;
use store::advices::Decision;
use store::units::Which;
use terms::place::BuildingCard;
use terms::{BuildingId, Choice, Fate, Pence, Role, UnitId, UsedAs};

use crate::advice::{Book, age_of, stated_share};
use crate::{Error, Seat, World};

pub use costing::reserve::YearSpread;

/// How many years one may look ahead.
pub const YEARS: [u32; 3] = [10, 20, 30];

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct ReserveAsk {
    /// Which building; the first in reach where it is none.
    pub building: Option<BuildingId>,
    /// Years ahead; one of [`YEARS`].
    pub years: u32,
    /// How much dearer units get each year beyond other prices, as a share: 0.02 is 2 %.
    pub dearer: f64,
}

/// What one building will need.
#[derive(Clone, Debug)]
pub struct Reserve {
    /// Every building in reach, by name.
    pub buildings: Vec<BuildingCard>,
    /// The one shown.
    pub building: BuildingCard,
    /// As asked.
    pub ask: ReserveAsk,
    /// The calendar year of the first.
    pub first_year: i32,
    /// Year by year.
    pub years: Vec<YearSpread>,
    /// Flats in the building.
    pub flats: u32,
    /// Pounds a flat a month: expected, and with 9 spans in 10 covered.
    pub a_month: Option<(f64, f64)>,
    /// Units reckoned with.
    pub units: u32,
    /// Of them, those decided to be replaced.
    pub decided: u32,
    /// Of them, those whose age is not known.
    pub age_unknown: u32,
    /// Units left out because no price for a new one is known.
    pub unpriced: u32,
    /// The largest share of any one leaseholder, per cent, where it was stated.
    pub largest_share: Option<f64>,
    /// Whether the reader may state it.
    pub may_state: bool,
    /// Repairs and services paid in the last 12 months, beside all of this.
    pub running: Pence,
}

/// The reserve forecast of a building.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk and a landlord; [`Error::NotFound`] outside its reach.
pub fn reserve_forecast(world: &World, seat: &Seat, ask: ReserveAsk) -> Result<Reserve, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    world.acting(seat, |tx| {
        let mut buildings: Vec<BuildingCard> = tx
            .buildings()?
            .into_iter()
            .filter(|b| seat.grant().reaches(b.id))
            .collect();
        buildings.sort_by(|a, b| a.name.cmp(&b.name));
        let building = match ask.building {
            Some(id) => buildings.iter().find(|b| b.id == id),
            None => buildings.first(),
        };
        let building = building.cloned().ok_or(Error::NotFound("building"))?;
        let found = of_building(tx, buildings, building, ask)?;
        Ok(Reserve {
            may_state: seat.role() != Role::Landlord,
            ..found
        })
    })
}

fn of_building(
    tx: &mut Tx<'_>,
    buildings: Vec<BuildingCard>,
    building: BuildingCard,
    ask: ReserveAsk,
) -> Result<Reserve, Error> {
    let (book, today) = (Book::load(tx)?, tx.today());
    let removal = book.assumed("removal");
    let decided = decided_units(tx)?;
    let cards: Vec<_> = tx
        .units(Which::All)?
        .into_iter()
        .filter(|card| card.building == building.id && card.fate == Fate::InService)
        .collect();
    let mut found = Reserve {
        first_year: today.year() + 1,
        years: Vec::new(),
        flats: flats_of(tx, building.id)?,
        a_month: None,
        units: 0,
        decided: 0,
        age_unknown: 0,
        unpriced: 0,
        largest_share: stated_share(tx, building.id)?,
        may_state: false,
        running: running(tx, &cards.iter().map(|c| c.id).collect::<Vec<_>>())?,
        buildings,
        building,
        ask,
    };
    let mut stock = Vec::new();
    for card in &cards {
        let Ok(kind) = book.kind(&card.kind) else {
            continue;
        };
        let Some(price) = book.price(&card.kind, &format!("replace:{}", card.kind), None) else {
            found.unpriced += 1;
            continue;
        };
        let is_decided = decided.contains(&card.id);
        found.units += 1;
        found.decided += u32::from(is_decided);
        found.age_unknown += u32::from(card.installed.is_none());
        stock.push(Stock {
            age: age_of(card, today),
            median: kind.life_median_years,
            shape: kind.life_shape,
            price: price.likely.to_pounds() + removal,
            decided: is_decided.then_some(1),
        });
    }
    found.years = reserve(&stock, ask.years, ask.dearer);
    found.a_month = a_flat_a_month(&found.years, found.flats);
    Ok(found)
}

/// Units that somebody decided to replace and nobody decided upon since. One that was replaced is out of service, so its
/// decision counts no more.
fn decided_units(tx: &mut Tx<'_>) -> Result<BTreeSet<UnitId>, Error> {
    Ok(still_decided(tx.decisions(None)?))
}

/// Of each unit the latest decision speaks: keeping, repairing or asking for another quote undoes an earlier one to replace.
fn still_decided(mut decisions: Vec<Decision>) -> BTreeSet<UnitId> {
    decisions.sort_by_key(|d| (d.recorded_at, d.id));
    let latest: BTreeMap<UnitId, Choice> =
        decisions.into_iter().map(|d| (d.unit, d.choice)).collect();
    latest
        .into_iter()
        .filter(|(_, choice)| *choice == Choice::Replace)
        .map(|(unit, _)| unit)
        .collect()
}

fn flats_of(tx: &mut Tx<'_>, building: BuildingId) -> Result<u32, Error> {
    let spaces = tx.spaces(Some(building))?;
    Ok(spaces.iter().filter(|s| s.used_as == UsedAs::Flat).count() as u32)
}

/// What was paid for failures, services and checks of these units in the last 12 months.
fn running(tx: &mut Tx<'_>, units: &[UnitId]) -> Result<Pence, Error> {
    let (from, at) = (tx.today() - Months::new(12), tx.at());
    let histories = tx.histories(units, at)?;
    let mut sum = 0;
    for history in histories.values() {
        let failures = history.failures.iter().filter(|f| f.happened_on > from);
        sum += failures.filter_map(|f| f.cost).map(|c| c.0).sum::<i64>();
        let services = history.services.iter().filter(|s| s.happened_on > from);
        let services = services.filter(|s| s.what != "replacement");
        sum += services.filter_map(|s| s.cost).map(|c| c.0).sum::<i64>();
    }
    Ok(Pence(sum))
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, TimeDelta};
    use terms::{AccountId, AdviceId, DecisionId};
    use uuid::Uuid;

    use super::*;

    #[test]
    fn only_the_latest_decision_of_a_unit_counts() {
        let unit = |n| UnitId(Uuid::from_u128(n));
        let made = |hour: i64, n, choice| Decision {
            id: DecisionId(Uuid::from_u128(hour as u128)),
            advice: AdviceId(Uuid::nil()),
            unit: unit(n),
            choice,
            option: None,
            reason: "Worn.".to_owned(),
            how: "page".to_owned(),
            decided_by: AccountId(Uuid::nil()),
            on_behalf_of: String::new(),
            recorded_at: DateTime::UNIX_EPOCH + TimeDelta::hours(hour),
        };
        let found = still_decided(vec![
            made(5, 2, Choice::Repair),
            made(1, 1, Choice::Keep),
            made(2, 1, Choice::Replace),
            made(3, 2, Choice::Replace),
            made(4, 3, Choice::Replace),
            made(6, 4, Choice::Replace),
            made(7, 4, Choice::AnotherQuote),
        ]);
        assert_eq!(found, BTreeSet::from([unit(1), unit(3)]));
    }
}
