//! Reading forecasts: one unit's, a building's, the likeliest.
use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use dependability::{Horizon, Member, Total, UnitHistory, total_in_building};
use serde_json::Value;
use store::Tx;
use store::forecasts::ForecastRow;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{BuildingId, UnitId};

use super::histories::Facts;
use super::kept::{KeptFit, KeptForecast, in_service, load};
use super::season::{Season, axis};
use crate::Error;

/// Failures a kind needs before its units are put in order (FORECAST §11: below 15 no ranking is claimed).
pub const LEAST_FAILURES: i32 = 15;
/// A unit is called likely from this chance in the season on (judgement: one in ten).
pub const LEAST_CHANCE: f64 = 0.1;
/// Forecasts looked at, from the top, for the few that are shown.
const LOOKED_AT: i64 = 500;

/// A forecast as kept, with its columns.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Its columns; the body is taken out.
    pub row: ForecastRow,
    /// Its body.
    pub kept: KeptForecast,
}

impl Told {
    pub(crate) fn read(mut row: ForecastRow) -> Result<Self, Error> {
        let body = std::mem::replace(&mut row.body, Value::Null);
        let kept = serde_json::from_value(body).map_err(store::Error::from)?;
        Ok(Self { row, kept })
    }
}

/// The present forecast of a unit. Whether the seat may see the unit is the caller's to check.
pub fn of_unit(tx: &mut Tx<'_>, unit: UnitId) -> Result<Option<Told>, Error> {
    let at = tx.at();
    of_unit_known(tx, unit, at)
}

/// The forecast of a unit as it stood at `at`.
pub fn of_unit_known(
    tx: &mut Tx<'_>,
    unit: UnitId,
    at: DateTime<Utc>,
) -> Result<Option<Told>, Error> {
    tx.forecast_known(unit, at)?.map(Told::read).transpose()
}

/// Why a unit has no forecast, in words; `None` when nothing stands in its way.
pub fn why_none(tx: &mut Tx<'_>, unit: UnitId) -> Result<Option<String>, Error> {
    let facts = load(tx, Which::Unit(unit))?
        .pop()
        .ok_or(Error::NotFound("unit"))?;
    if !in_service(&facts) {
        return Ok(Some(format!("It is {}.", facts.card.fate.words())));
    }
    if !tx.kinds()?.iter().any(|k| k.code == facts.card.kind) {
        return Ok(Some("There are no figures for its kind.".to_owned()));
    }
    Ok(facts
        .ready(super::today(tx), &[])
        .err()
        .map(|why| format!("Its record cannot be: {why}.")))
}

/// The present forecasts of these units.
pub fn of_units(tx: &mut Tx<'_>, units: &[UnitId]) -> Result<BTreeMap<UnitId, Told>, Error> {
    tx.forecasts_of(units)?
        .into_iter()
        .map(|(id, row)| Ok((id, Told::read(row)?)))
        .collect()
}

/// The present forecasts of a building's units.
pub fn of_building(tx: &mut Tx<'_>, building: BuildingId) -> Result<BTreeMap<UnitId, Told>, Error> {
    let units: Vec<UnitId> = tx
        .units(Which::Building(building))?
        .into_iter()
        .map(|card| card.id)
        .collect();
    of_units(tx, &units)
}

/// What one kind in one building is expected to do.
#[derive(Clone, Debug, PartialEq)]
pub struct KindTotal {
    /// "CB"
    pub kind: String,
    /// Units in service that can be forecast.
    pub units: usize,
    /// Failures of the kind in the whole estate that the fit rests on.
    pub kind_failures: i32,
    /// Over the next 12 months.
    pub year: Total,
    /// Over the heating season ahead.
    pub season: Total,
    /// That season.
    pub season_days: Season,
}

/// The number of failures to expect in a building, kind by kind, with 50 and 80 % ranges; reckoned now from the last
/// fits, for the units share their kind's doubt and their building's effect, and single forecasts cannot be added up.
/// Kinds without a fit that can be read are left out.
pub fn totals_of_building(tx: &mut Tx<'_>, building: BuildingId) -> Result<Vec<KindTotal>, Error> {
    let today = super::today(tx);
    let mut here: BTreeMap<String, Vec<Facts>> = BTreeMap::new();
    for facts in load(tx, Which::Building(building))? {
        here.entry(facts.card.kind.clone()).or_default().push(facts);
    }
    let season_days = Season::ahead_of(today);
    let year = Horizon::next(axis(today), 1.0);
    let mut totals = Vec::new();
    for (kind, facts) in &here {
        let Some(row) = tx.last_fit(kind)? else {
            continue;
        };
        let Some(kept) = KeptFit::read(&row) else {
            continue;
        };
        // Retired units tell of the building too; only those in service can fail.
        let asked = &kept.prior.covariates;
        let own: Vec<(UnitHistory, bool)> = facts
            .iter()
            .filter_map(|f| Some((f.ready(today, asked).ok()?.history, in_service(f))))
            .collect();
        let all: Vec<&UnitHistory> = own.iter().map(|(h, _)| h).collect();
        let units: Vec<&UnitHistory> = own.iter().filter(|o| o.1).map(|(h, _)| h).collect();
        let standing = kept.standing(building, &all).map_err(wrong)?;
        if units.is_empty() {
            continue;
        }
        let member = Member {
            prior: &kept.prior,
            fit: &kept.fit,
            units: &units,
        };
        let over = |h: &Horizon| total_in_building(&[(member, &standing, h)]).map_err(wrong);
        totals.push(KindTotal {
            kind: kind.clone(),
            units: units.len(),
            kind_failures: row.failures,
            year: over(&year)?,
            season: over(&season_days.horizon(&kept.month_shares))?,
            season_days,
        });
    }
    Ok(totals)
}

pub(crate) fn wrong(why: dependability::InputError) -> Error {
    Error::Internal(why.to_string())
}

/// The few units most likely to fail in the season, and the kinds of which nothing of the sort can be said.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Likeliest {
    /// Most likely first.
    pub units: Vec<(UnitCard, Told)>,
    /// Kinds in service with fewer than [`LEAST_FAILURES`] failures on record: code and failures.
    pub too_thin: Vec<(String, i32)>,
}

/// The `most` units most likely to fail in the season, of kinds whose record can bear an order, where `reached` says
/// the building is the asker's. A unit under [`LEAST_CHANCE`] is not called likely.
pub fn likeliest(
    tx: &mut Tx<'_>,
    most: usize,
    reached: impl Fn(BuildingId) -> bool,
) -> Result<Likeliest, Error> {
    let mut found = Likeliest::default();
    for row in tx.likeliest_forecasts(LEAST_FAILURES, LOOKED_AT)? {
        if found.units.len() == most || row.season.chance < LEAST_CHANCE {
            break;
        }
        let card = tx.unit(row.unit)?;
        if reached(card.building) {
            found.units.push((card, Told::read(row)?));
        }
    }
    found.too_thin = tx
        .last_fits()?
        .into_values()
        .filter(|fit| fit.units > 0 && fit.failures < LEAST_FAILURES)
        .map(|fit| (fit.kind, fit.failures))
        .collect();
    Ok(found)
}
