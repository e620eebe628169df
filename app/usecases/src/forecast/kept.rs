//! What is kept of a fit and of a forecast, and how each is made from facts.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use dependability::{
    Horizon, InputError, KindFit, KindPrior, UnitForecast, Verdict, fit_kind, forecast,
};
use serde::{Deserialize, Serialize};
use store::Tx;
use store::forecasts::{Chance, FitRow, ForecastRow};
use store::units::Which;
use terms::trade::Kind;
use terms::{BuildingId, Fate, FitId, ForecastId, UnitId};
use uuid::Uuid;

use super::histories::{Basis, Facts, Ready};
use super::season::{Season, axis, month_shares, week};
use crate::Error;

/// Changes whenever the same facts would be reckoned otherwise, so that every forecast is made anew.
const METHOD: u32 = 1;

/// A kind's fit, kept whole with the prior it was made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptFit {
    /// What was believed before.
    pub prior: KindPrior,
    /// What was found.
    pub fit: KindFit,
    /// Share of calls in each month, January first: own calls smoothed with 24 of the trade's.
    pub month_shares: [f64; 12],
    /// Units whose record cannot be, with the reason.
    pub left_out: Vec<(UnitId, String)>,
}

/// A unit's forecast, kept whole: two horizons, the next 12 months first, the heating season second.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptForecast {
    /// The numbers.
    #[serde(flatten)]
    pub forecast: UnitForecast,
    /// What they rest on.
    pub basis: Basis,
    /// The second horizon.
    pub season: Season,
    /// How unlike units of the kind are: the variance of z in the fit.
    pub theta: f64,
    /// Failures of the kind the fit rests on.
    pub kind_failures: u32,
    /// Units of the kind the fit rests on.
    pub kind_units: usize,
}

/// The facts of these units as known at the transaction's instant.
pub(crate) fn load(tx: &mut Tx<'_>, which: Which) -> Result<Vec<Facts>, Error> {
    let at = tx.at();
    let cards = tx.units(which)?;
    let built: BTreeMap<BuildingId, Option<i32>> = tx
        .buildings()?
        .into_iter()
        .map(|b| (b.id, b.built_year))
        .collect();
    let lives: BTreeMap<String, f64> = tx
        .kinds()?
        .into_iter()
        .map(|k| (k.code, k.life_median_years))
        .collect();
    let ids: Vec<UnitId> = cards.iter().map(|c| c.id).collect();
    let mut records = tx.histories(&ids, at)?;
    Ok(cards
        .into_iter()
        .map(|card| Facts {
            built_year: built.get(&card.building).copied().flatten(),
            usual_life: lives.get(&card.kind).copied().unwrap_or(20.0),
            record: records.remove(&card.id).unwrap_or_default(),
            card,
        })
        .collect())
}

/// Everything one kind's fit reads.
#[derive(Debug)]
pub(crate) struct KindFacts {
    pub kind: Kind,
    pub prior: KindPrior,
    pub facts: Vec<Facts>,
}

impl KindFacts {
    /// Digest of the prior, the facts of all units, the method, and the week the reckoning belongs to.
    pub fn digest(&self, today: NaiveDate) -> String {
        let facts: Vec<(UnitId, String)> =
            self.facts.iter().map(|f| (f.card.id, f.digest())).collect();
        super::digest(&(METHOD, &self.prior, facts, week(today)))
    }

    /// Fits the kind.
    ///
    /// # Errors
    /// The prior has numbers that cannot be meant.
    pub fn fit(&self, today: NaiveDate) -> Result<(KeptFit, Vec<(&Facts, Ready)>), InputError> {
        let (mut ready, mut left_out) = (Vec::new(), Vec::new());
        for facts in &self.facts {
            match facts.ready(today) {
                Ok(one) => ready.push((facts, one)),
                Err(why) => left_out.push((facts.card.id, why.to_string())),
            }
        }
        let histories: Vec<_> = ready.iter().map(|(_, r)| r.history.clone()).collect();
        let fit = fit_kind(&self.prior, &histories)?;
        let failures = ready.iter().flat_map(|(_, r)| r.basis.failures.iter());
        let kept = KeptFit {
            prior: self.prior.clone(),
            month_shares: month_shares(failures.copied()),
            fit,
            left_out,
        };
        Ok((kept, ready))
    }
}

impl KeptFit {
    /// The row to keep.
    pub(crate) fn row(
        &self,
        tx: &Tx<'_>,
        kind: &str,
        digest: String,
    ) -> Result<FitRow, store::Error> {
        Ok(FitRow {
            id: FitId(Uuid::nil()),
            kind: kind.to_owned(),
            made_at: tx.at(),
            known_at: tx.at(),
            verdict: verdict_code(&self.fit.verdict).to_owned(),
            units: i32::try_from(self.fit.n_units).unwrap_or(i32::MAX),
            failures: i32::try_from(self.fit.n_failures).unwrap_or(i32::MAX),
            merged_away: i32::try_from(self.fit.n_merged).unwrap_or(i32::MAX),
            body: serde_json::to_value(self)?,
            digest,
        })
    }

    /// Forecasts one unit from `today` on.
    ///
    /// # Errors
    /// A history that cannot be, in words.
    pub(crate) fn forecast(
        &self,
        ready: &Ready,
        today: NaiveDate,
    ) -> Result<KeptForecast, InputError> {
        let season = Season::ahead_of(today);
        let horizons = [
            Horizon::next(axis(today), 1.0),
            season.horizon(&self.month_shares),
        ];
        Ok(KeptForecast {
            forecast: forecast(&self.prior, &self.fit, &ready.history, &horizons)?,
            basis: ready.basis.clone(),
            season,
            theta: self.fit.theta(),
            kind_failures: self.fit.n_failures,
            kind_units: self.fit.n_units,
        })
    }
}

/// The digest of one unit's forecast: its facts, the fit, the week.
pub(crate) fn forecast_digest(facts: &Facts, fit_digest: &str, today: NaiveDate) -> String {
    super::digest(&(METHOD, facts.digest(), fit_digest, week(today)))
}

impl KeptForecast {
    /// The row to keep.
    ///
    /// # Errors
    /// The forecast lacks a horizon, or is not finite: neither may reach a page.
    pub(crate) fn row(
        &self,
        tx: &Tx<'_>,
        (unit, fit): (UnitId, FitId),
        made_on: NaiveDate,
        facts_digest: String,
    ) -> Result<ForecastRow, Error> {
        let [year, season] = self.forecast.horizons.as_slice() else {
            return Err(Error::Internal("a forecast lacks a horizon".to_owned()));
        };
        let chance = |h: &dependability::HorizonForecast| Chance {
            chance: h.chance,
            low: h.chance80.0,
            high: h.chance80.1,
        };
        let row = ForecastRow {
            id: ForecastId(Uuid::nil()),
            unit,
            fit,
            made_at: tx.at(),
            known_at: tx.at(),
            made_on,
            year: chance(year),
            expected_12m: year.expected,
            season: chance(season),
            season_from: self.season.from,
            season_until: self.season.until,
            body: serde_json::to_value(self).map_err(store::Error::from)?,
            facts_digest,
            superseded_at: None,
        };
        let numbers = [
            row.year.chance,
            row.year.low,
            row.year.high,
            row.expected_12m,
            row.season.chance,
            row.season.low,
            row.season.high,
        ];
        if numbers.iter().all(|n| n.is_finite() && *n >= 0.0) {
            Ok(row)
        } else {
            Err(Error::Internal(format!(
                "the forecast of unit {unit} is not finite"
            )))
        }
    }
}

/// The verdict as one word, for the column.
pub(crate) fn verdict_code(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Boundary(_) => "boundary",
        Verdict::Converged => "converged",
        Verdict::Failed(_) => "failed",
        Verdict::NotEnough { .. } => "not_enough",
    }
}

/// Whether a unit gets a forecast at all.
pub(crate) fn in_service(facts: &Facts) -> bool {
    facts.card.fate == Fate::InService
}
