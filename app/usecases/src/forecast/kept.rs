//! What is kept of a fit and of a forecast, and how each is made from facts.
use std::collections::BTreeMap;

use chrono::{Months, NaiveDate};
use dependability::kind_life::{Ended, LEAST_WRITE_OFFS, LifeEnd, fit_life};
use dependability::profiled::{Profiled, profiled};
use dependability::{
    Horizon, Housed, InputError, KindFit, KindLife, KindPrior, Standing, UnitForecast, UnitHistory,
    Verdict, fit_kind_in_buildings, forecast_standing,
};
use serde::{Deserialize, Serialize};
use store::Tx;
use store::forecasts::{Chance, FitRow, ForecastRow};
use store::units::Which;
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{BuildingId, DutyId, Fate, FitId, ForecastId, UnitId};
use uuid::Uuid;

use super::alike::AllAlike;
use super::histories::{Basis, Facts, Ready};
use super::lapse::{SERVICE_DUTIES, failures_in};
use super::priors::{SERVICE_LAPSED, place_of};
use super::season::{Season, axis, month_shares, stretch, week};
use crate::Error;

/// Changes whenever the same facts would be reckoned otherwise, so that every forecast is made anew.
const METHOD: u32 = 4;

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
    /// How long units of the kind stay before they are written off.
    #[serde(default)]
    pub life: Option<KindLife>,
    /// Profile intervals of rate, ageing and spread, made once beside the fit; a fit kept before they were made has none.
    #[serde(default)]
    pub profiled: Option<Profiled>,
    /// Failures while the unit's service had lapsed; 0 in a fit that did not ask.
    #[serde(default)]
    pub in_lapse: u32,
}

/// A unit's forecast, kept whole: the next 12 months first, the heating season second, then the next 3 and 36 months (a
/// forecast made before those were asked for has the first two only).
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
    /// Chance of being written off within the next 12 months, with its 80 % range; `None` where too few of the kind were to
    /// tell, and in a forecast made before it was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lost_12m: Option<(f64, f64, f64)>,
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
    let mut met = services_met(tx, &ids)?;
    let windows = tx.record_windows(at)?;
    let alike = match which {
        Which::All => AllAlike::load(tx, None, at)?,
        _ => AllAlike::load(tx, Some(&cards), at)?,
    };
    let kept = |card: &UnitCard| {
        let own = windows.get(&(card.building, Some(card.id)));
        let stated = own.or_else(|| windows.get(&(card.building, None)));
        let days = stated.into_iter().flatten();
        days.map(|w| (w.from_on, w.until_on)).collect()
    };
    Ok(cards
        .into_iter()
        .map(|card| Facts {
            built_year: built.get(&card.building).copied().flatten(),
            usual_life: lives.get(&card.kind).copied().unwrap_or(20.0),
            record: records.remove(&card.id).unwrap_or_default(),
            kept: kept(&card),
            met: met.remove(&card.id).unwrap_or_default(),
            alike: alike.of(&card),
            card,
        })
        .collect())
}

/// The days on which duties of service were met, by unit.
fn services_met(
    tx: &mut Tx<'_>,
    units: &[UnitId],
) -> Result<BTreeMap<UnitId, Vec<NaiveDate>>, Error> {
    let duties = tx.duties_of_units(units)?;
    let of: BTreeMap<DutyId, UnitId> = duties
        .iter()
        .filter(|d| SERVICE_DUTIES.contains(&d.rule.as_str()))
        .filter_map(|d| Some((d.id, d.unit?)))
        .collect();
    let ids: Vec<DutyId> = of.keys().copied().collect();
    let mut met: BTreeMap<UnitId, Vec<NaiveDate>> = BTreeMap::new();
    for row in tx.completions_of(&ids, false)? {
        if let (Some(unit), Some(day)) = (of.get(&row.duty), row.done_on) {
            met.entry(*unit).or_default().push(day);
        }
    }
    Ok(met)
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
            match facts.ready(today, &self.prior.covariates) {
                Ok(one) => ready.push((facts, one)),
                Err(why) => left_out.push((facts.card.id, why.to_string())),
            }
        }
        let names: Vec<String> = ready
            .iter()
            .map(|(f, _)| f.card.building.to_string())
            .collect();
        let housed: Vec<Housed<'_>> = ready
            .iter()
            .zip(&names)
            .map(|((_, r), building)| Housed {
                history: &r.history,
                building,
            })
            .collect();
        let lives: Vec<Ended<'_>> = ready
            .iter()
            .map(|(f, r)| Ended {
                history: &r.history,
                end: match f.card.fate {
                    Fate::WrittenOff => LifeEnd::WrittenOff,
                    Fate::Removed => LifeEnd::Removed,
                    Fate::InService => LifeEnd::Serving,
                },
            })
            .collect();
        // A stated life that cannot be meant costs only what is said of lives.
        let life = fit_life(self.kind.life_median_years, self.kind.life_shape, &lives).ok();
        // Where bad units go sooner, those that are left say so of themselves, and those gone of the kind.
        let prior = KindPrior {
            sooner: life.as_ref().and_then(KindLife::sooner),
            ..self.prior.clone()
        };
        let fit = fit_kind_in_buildings(&prior, &housed)?;
        // An interval that cannot be had costs only itself: the curvature's is told then.
        let profiled = profiled(&prior, &fit, &housed).unwrap_or(None);
        let failures = ready.iter().flat_map(|(_, r)| r.basis.failures.iter());
        let lapse = place_of(&prior.covariates, SERVICE_LAPSED);
        let kept = KeptFit {
            prior,
            month_shares: month_shares(failures.copied()),
            fit,
            left_out,
            life,
            profiled,
            in_lapse: lapse.map_or(0, |place| {
                let each = ready.iter().map(|(_, r)| failures_in(&r.history, place));
                each.sum()
            }),
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

    /// What the fit says of a building; `units` are those of the kind there, retired ones too.
    ///
    /// # Errors
    /// A fit of another version of the kind.
    pub(crate) fn standing(
        &self,
        building: BuildingId,
        units: &[&UnitHistory],
    ) -> Result<Standing, InputError> {
        Standing::of(&self.prior, &self.fit, &building.to_string(), units)
    }

    /// Whether a forecast needs to know what else of the kind stands in the building.
    pub(crate) fn asks_for_neighbours(&self) -> bool {
        self.fit
            .buildings
            .as_ref()
            .is_some_and(|b| b.spread.is_some())
    }

    /// The stretches of time a forecast is made for, in the order in which it keeps them.
    pub(crate) fn horizons(&self, today: NaiveDate) -> [Horizon; 4] {
        let quarter = today.checked_add_months(Months::new(3)).unwrap_or(today);
        [
            Horizon::next(axis(today), 1.0),
            Season::ahead_of(today).horizon(&self.month_shares),
            stretch(today, quarter, &self.month_shares),
            Horizon::next(axis(today), 3.0),
        ]
    }

    /// The chance that a unit of this age is written off within 12 months, where enough of its kind were to tell.
    fn lost_within_a_year(&self, history: &UnitHistory, age: f64) -> Option<(f64, f64, f64)> {
        let life = self.life.as_ref()?;
        let told = matches!(life.verdict, Verdict::Converged | Verdict::Boundary(_));
        if !told || life.written_off < LEAST_WRITE_OFFS {
            return None;
        }
        let (chance, low, high) = life.ahead_of(history, age, 1.0).chance;
        let meant = chance.is_finite() && low.is_finite() && high.is_finite();
        meant.then_some((chance, low, high))
    }

    /// Forecasts one unit from `today` on.
    ///
    /// # Errors
    /// A history that cannot be, in words.
    pub(crate) fn forecast(
        &self,
        (ready, standing): (&Ready, &Standing),
        today: NaiveDate,
    ) -> Result<KeptForecast, InputError> {
        let told = forecast_standing(
            &self.prior,
            &self.fit,
            (&ready.history, standing),
            &self.horizons(today),
        )?;
        Ok(KeptForecast {
            lost_12m: self.lost_within_a_year(&ready.history, told.age),
            forecast: told,
            basis: ready.basis.clone(),
            season: Season::ahead_of(today),
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
    /// The chance of being written off that a kept body holds.
    pub(crate) fn lost_in(body: &serde_json::Value) -> Option<(f64, f64, f64)> {
        serde_json::from_value(body.get("lost_12m")?.clone()).ok()
    }

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
        let [year, season, ..] = self.forecast.horizons.as_slice() else {
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
