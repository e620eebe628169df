//! One unit's outlook: its forecast as kept, the time until a chosen level, its life, and the fit all of it rests on.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use dependability::buildings::Buildings;
use dependability::kind_life::{KindLife, LifeAhead, WaysOut};
use dependability::record::{ALPHA, GAMMA, LN_BETA, LN_THETA};
use dependability::recording;
use dependability::{DataWeight, Profiled, ThinData, Verdict, years_until};
use store::Tx;
use store::forecasts::FitRow;
use store::units::Which;
use terms::UnitId;
use terms::trade::Kind;
use terms::unit::UnitCard;

use super::kept::{KeptFit, in_service, load};
use super::reading::{Told, of_unit, why_none};
use super::renew::standing_of;
use super::season::axis;
use crate::register::may_read_unit;
use crate::{Error, Seat, World};

/// What is said of a kind's fit wherever one of its figures stands.
#[derive(Clone, Debug, PartialEq)]
pub struct FitSaid {
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// How it ended.
    pub verdict: Verdict,
    /// Units it rests on.
    pub units: usize,
    /// Failures it rests on.
    pub failures: u32,
    /// Repeat visits merged into them.
    pub merged: u32,
    /// Unit-years watched.
    pub unit_years: f64,
    /// What may be said of so many failures.
    pub thin: ThinData,
    /// How much rests on own records.
    pub weight: DataWeight,
    /// Failures a unit-year at ten years of age.
    pub rate_10y: f64,
    /// The same before own records spoke.
    pub rate_before: f64,
    /// What it says of buildings.
    pub buildings: Option<Buildings>,
    /// Units whose record cannot be.
    pub left_out: usize,
    /// How many times as many failures are on record from one year to the next beyond what ageing explains, with its 80 %
    /// range; `None`: a fit that did not ask.
    pub drift: Option<(f64, f64, f64)>,
    /// How much of that rests on own records, 0 to 1.
    pub drift_weight: f64,
    /// All units watched are of one age: drift and ageing cannot be told apart.
    pub one_age: bool,
    /// How much of the ageing rests on own records; `None`: it is the trade's, part by part.
    pub ageing: Option<f64>,
    /// That rate with its 95 % interval.
    pub rate95: Option<Around>,
    /// β, how fast units age, with its 95 % interval; `None`: it is the trade's, part by part.
    pub beta95: Option<Around>,
    /// θ, how unlike units are, with its 95 % interval.
    pub theta95: Option<Around>,
    /// The 95 % intervals of the three by profile, where they were made: told in place of those by the curvature.
    pub profiled: Option<Profiled>,
    /// Failures while the unit's service had lapsed.
    pub in_lapse: u32,
    /// Units of the kind that fail more are written off sooner, and failures are fitted and forecast with that.
    pub sooner: bool,
    /// How many times as often units with a covariate fail, by its code, with 90 % intervals (FORECAST §7).
    pub effects90: Vec<(String, Around)>,
}

/// A figure and its interval, by the curvature at the fit on the log scale (Laplace).
pub type Around = (f64, f64, f64);

/// Standard deviations either side of a 95 % and of a 90 % interval.
const Z95: f64 = 1.959_964;
const Z90: f64 = 1.644_854;

/// The 10 % point of the standard normal law, with the sign changed.
const TENTH: f64 = 1.2816;

impl FitSaid {
    pub(crate) fn of(row: &FitRow, kept: &KeptFit) -> Self {
        let fit = &kept.fit;
        let drift = recording::place(&kept.prior).and_then(|place| {
            let at = GAMMA + place;
            let (mean, variance) = (fit.parameters.get(at)?, *fit.covariance.get(at)?.get(at)?);
            // Without any doubt it was never asked about.
            let sd = (variance > 0.0).then(|| variance.sqrt())?;
            let around = [*mean, mean - TENTH * sd, mean + TENTH * sd].map(f64::exp);
            let weight = fit.data_weight.covariates.get(place).copied();
            Some((around.into(), weight.unwrap_or(0.0)))
        });
        Self {
            drift: drift.map(|(around, _)| around),
            drift_weight: drift.map_or(0.0, |(_, weight)| weight),
            one_age: fit.one_age,
            ageing: fit.data_weight.ageing,
            made_at: row.made_at,
            verdict: fit.verdict.clone(),
            units: fit.n_units,
            failures: fit.n_failures,
            merged: fit.n_merged,
            unit_years: fit.unit_years,
            thin: fit.thin,
            weight: fit.data_weight.clone(),
            rate_10y: fit.rate_10y(),
            rate_before: kept.prior.rate_10y,
            buildings: fit.buildings.clone(),
            left_out: kept.left_out.len(),
            rate95: fit.around(ALPHA, Z95),
            beta95: fit.around(LN_BETA, Z95),
            theta95: fit.around(LN_THETA, Z95),
            effects90: effects(kept),
            profiled: kept.profiled,
            in_lapse: kept.in_lapse,
            sooner: kept.prior.sooner.is_some(),
        }
    }
}

/// What units with each covariate do, where it was asked about.
fn effects(kept: &KeptFit) -> Vec<(String, Around)> {
    let asked = kept.prior.covariates.iter().enumerate();
    asked
        .filter_map(|(place, c)| Some((c.code.clone(), kept.fit.around(GAMMA + place, Z90)?)))
        .collect()
}

/// One unit's outlook.
#[derive(Clone, Debug)]
pub struct UnitOutlook {
    /// The unit.
    pub unit: UnitCard,
    /// Its kind; `None` when it was taken off the list.
    pub kind: Option<Kind>,
    /// Names of its kind's parts, by code.
    pub parts: BTreeMap<String, String>,
    /// Its forecast as it stands.
    pub told: Option<Told>,
    /// Why there is none.
    pub no_forecast: Option<String>,
    /// The fit behind it.
    pub fit: Option<FitSaid>,
    /// The level asked about.
    pub level: f64,
    /// Years until the chance of a failure reaches it, from the last fit and today's record; `None` beyond 40.
    pub until: Option<f64>,
    /// What is known of the lives of its kind, and what that says of it over 12 and 36 months.
    pub life: Option<(KindLife, LifeAhead, LifeAhead)>,
    /// Which way out comes first over 36 months, where units of the kind were taken out while working too.
    pub ways_out: Option<WaysOut>,
    /// Today, where it stands.
    pub today: NaiveDate,
}

/// One unit's outlook; `level` is a chance between 0 and 1.
///
/// # Errors
/// [`Error::NotFound`] for a unit out of reach; the store's own.
pub fn unit_outlook(
    world: &World,
    seat: &Seat,
    id: UnitId,
    level: f64,
) -> Result<UnitOutlook, Error> {
    world.acting(seat, |tx| {
        let unit = tx.unit(id)?;
        may_read_unit(tx, seat, &unit)?;
        let parts = tx
            .part_shares()?
            .into_iter()
            .filter(|p| p.kind == unit.kind)
            .map(|p| (p.code, p.name))
            .collect();
        let mut outlook = UnitOutlook {
            kind: tx.kinds()?.into_iter().find(|k| k.code == unit.kind),
            told: of_unit(tx, id)?,
            no_forecast: why_none(tx, id)?,
            fit: None,
            level,
            until: None,
            life: None,
            ways_out: None,
            today: super::today(tx),
            parts,
            unit,
        };
        if outlook.no_forecast.is_none() {
            reckon(tx, &mut outlook)?;
        } else {
            outlook.told = None;
        }
        Ok(outlook)
    })
}

fn reckon(tx: &mut Tx<'_>, outlook: &mut UnitOutlook) -> Result<(), Error> {
    let Some(row) = tx.last_fit(&outlook.unit.kind)? else {
        return Ok(());
    };
    let Some(kept) = KeptFit::read(&row) else {
        return Ok(());
    };
    outlook.fit = Some(FitSaid::of(&row, &kept));
    let today = outlook.today;
    let found = load(tx, Which::Unit(outlook.unit.id))?.pop();
    let Some(facts) = found.filter(in_service) else {
        return Ok(());
    };
    let Ok(ready) = facts.ready(today, &kept.prior.covariates) else {
        return Ok(());
    };
    let standing = standing_of(tx, &kept, &facts, today)?;
    // A level that cannot be reached in forty years, or cannot be meant, has no day.
    outlook.until = years_until(
        &kept.prior,
        &kept.fit,
        (&ready.history, &standing),
        axis(today),
        outlook.level,
    )
    .unwrap_or(None);
    let age = outlook.told.as_ref().map(|t| t.kept.forecast.age);
    if let (Some(life), Some(age)) = (kept.life, age) {
        let ahead = |years: f64| life.ahead_of(&ready.history, age, years);
        let (year, three) = (ahead(1.0), ahead(3.0));
        outlook.ways_out = life.ways_out((age, 3.0), three.chance.0);
        outlook.life = Some((life, year, three));
    }
    Ok(())
}
