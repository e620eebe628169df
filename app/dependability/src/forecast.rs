//! A unit's forecast from its kind's stored fit: closed form, so that a new failure is told at once without a refit.
//!
//! Two doubts are mixed: the unit's own z (a gamma law) and the parameters (64 fixed antithetic draws around the fit).
//! A doubtful installation adds its quadrature nodes with their posterior weights. FORECAST §4.
use numerics::root::brent;
use numerics::special::gamma_mixture_quantile;
use serde::{Deserialize, Serialize};

use crate::drivers::{Driver, drivers};
use crate::history::UnitHistory;
use crate::kind_fit::{KindFit, ThinData};
use crate::predictive::{Element, predict};
use crate::prepared::Prepared;
use crate::prior::{InputError, KindPrior, T0, within};
use crate::record::node_weights;
use crate::renewing::futures;
use crate::standing::{Factor, Standing};

/// No level is looked for further ahead than this many years.
pub const FARTHEST_LEVEL: f64 = 40.0;

/// A stretch of time ahead, cut into pieces that may weigh differently (a season).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Horizon {
    /// (from, until, weight): years on the histories' axis; a month weighs 12 × the kind's share of calls in it
    /// (FORECAST §7), a whole year 1.
    pub pieces: Vec<(f64, f64, f64)>,
}

impl Horizon {
    /// The next `years` from a moment, evenly.
    pub fn next(from: f64, years: f64) -> Self {
        Self {
            pieces: vec![(from, from + years, 1.0)],
        }
    }

    fn check(&self) -> Result<(), InputError> {
        for (from, until, weight) in &self.pieces {
            within("horizon", *from, -1e4, 1e4)?;
            within("horizon", *until, *from, 1e4)?;
            within("weight of a stretch of the horizon", *weight, 0.0, 12.0)?;
        }
        Ok(())
    }

    fn start(&self) -> f64 {
        self.pieces
            .iter()
            .map(|p| p.0)
            .fold(f64::INFINITY, f64::min)
    }

    pub(crate) fn years(&self) -> f64 {
        self.pieces
            .iter()
            .map(|(from, until, _)| until - from)
            .sum()
    }
}

/// Chance that one part fails within the horizon.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartChance {
    /// Code of the part; `None`: something else.
    pub part: Option<String>,
    /// Chance of at least one failure of it.
    pub chance: f64,
}

/// Forecast over one horizon.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HorizonForecast {
    /// Chance of at least one failure.
    pub chance: f64,
    /// Half of all such units have a chance inside this range.
    pub chance50: (f64, f64),
    /// 8 of 10 such units have a chance inside this range.
    pub chance80: (f64, f64),
    /// Expected number of failures; beyond two years parts are taken to be put in new as they fail.
    pub expected: f64,
    /// 50 % range of the number.
    pub count50: (u64, u64),
    /// 80 % range of the number.
    pub count80: (u64, u64),
    /// Chance per part, in the prior's order, the remainder last.
    pub parts: Vec<PartChance>,
    /// What moves the expected number, at the fit's own parameters.
    pub drivers: Vec<Driver>,
}

/// Forecast of one unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnitForecast {
    /// Failures seen in the windows.
    pub n: u32,
    /// Failures usual for such a unit over the same time (z = 1).
    pub mu: f64,
    /// Mean of z: how many times the usual rate, luck allowed for.
    pub z_mean: f64,
    /// 10 % point of z.
    pub z_10: f64,
    /// 90 % point of z.
    pub z_90: f64,
    /// Unit age at the start of the first horizon (mean over a doubtful date).
    pub age: f64,
    /// Years this unit was watched.
    pub watched: f64,
    /// Share of the level that rests on own records (0 to 1); the rest is published or assumed.
    pub data_weight: f64,
    /// Thinness of the kind's record; decides what may be said.
    pub thin: ThinData,
    /// How its building's units differ from those of the median building; `None` where no effect is used.
    #[serde(default)]
    pub building: Option<Factor>,
    /// One per horizon asked for, in order.
    pub horizons: Vec<HorizonForecast>,
}

/// Forecasts one unit over the horizons, from its kind's stored fit and its history as it is now, without an effect of
/// its building.
///
/// # Errors
/// A history or horizon that cannot be, or a fit of another version of the kind.
pub fn forecast(
    prior: &KindPrior,
    fit: &KindFit,
    history: &UnitHistory,
    horizons: &[Horizon],
) -> Result<UnitForecast, InputError> {
    let unit = Prepared::new(prior, fit, history)?;
    unit.forecast(&Standing::anywhere(fit), horizons)
}

/// The same where its building is known.
///
/// # Errors
/// As [`forecast()`].
pub fn forecast_standing(
    prior: &KindPrior,
    fit: &KindFit,
    (history, standing): (&UnitHistory, &Standing),
    horizons: &[Horizon],
) -> Result<UnitForecast, InputError> {
    Prepared::new(prior, fit, history)?.forecast(standing, horizons)
}

/// Years from `from` until the chance of at least one failure reaches `level`; `None` beyond [`FARTHEST_LEVEL`].
///
/// # Errors
/// As [`forecast()`]; a level that is no chance.
pub fn years_until(
    prior: &KindPrior,
    fit: &KindFit,
    (history, standing): (&UnitHistory, &Standing),
    from: f64,
    level: f64,
) -> Result<Option<f64>, InputError> {
    let unit = Prepared::new(prior, fit, history)?;
    within("chosen level", level, 1e-6, 1.0 - 1e-6)?;
    Horizon::next(from, FARTHEST_LEVEL).check()?;
    let even = 1.0 / standing.draws.len() as f64;
    Ok(brent(0.0, FARTHEST_LEVEL, |years| {
        let horizon = Horizon::next(from, years);
        let base = unit.ahead(&horizon);
        let elements = standing
            .draws
            .iter()
            .flat_map(|p| unit.elements_with(&horizon, &base, p));
        let chance: f64 = elements
            .map(|e| even * e.weight * e.posterior.next(e.ahead).at_least_one())
            .sum();
        chance - level
    }))
}

impl Prepared<'_> {
    fn forecast(
        &self,
        standing: &Standing,
        horizons: &[Horizon],
    ) -> Result<UnitForecast, InputError> {
        horizons.iter().try_for_each(Horizon::check)?;
        let (fit, history) = (self.fit, self.history);
        let now = horizons
            .first()
            .map_or_else(|| history.seen_until(), Horizon::start);
        let none = Horizon { pieces: Vec::new() };
        let here: Vec<Element> = standing
            .points
            .iter()
            .flat_map(|(share, p)| {
                let elements = self.elements(&none, p).into_iter();
                elements.map(move |e| Element {
                    weight: share * e.weight,
                    ..e
                })
            })
            .collect();
        let age: f64 = node_weights(&self.subject, &standing.centre, T0)
            .iter()
            .zip(&self.nodes)
            .map(|(weight, node)| weight * (now - node.installed))
            .sum();
        Ok(UnitForecast {
            n: history.counted().count() as u32,
            mu: here.iter().map(|e| e.weight * e.usual).sum(),
            z_mean: here.iter().map(|e| e.weight * e.posterior.mean()).sum(),
            z_10: z_quantile(&here, 0.1),
            z_90: z_quantile(&here, 0.9),
            age: if age.is_finite() { age.max(0.0) } else { 0.0 },
            watched: history.watched(),
            data_weight: fit.data_weight.rate,
            thin: fit.thin,
            building: standing.factor(),
            horizons: horizons.iter().map(|h| over(self, h, standing)).collect(),
        })
    }
}

fn z_quantile(elements: &[Element], p: f64) -> f64 {
    if let [one] = elements {
        return one.posterior.quantile(p);
    }
    let parts: Vec<(f64, f64, f64)> = elements
        .iter()
        .map(|e| {
            let inv = e.posterior.inv_size();
            (e.weight, 1.0 / inv, e.posterior.mean() * inv)
        })
        .collect();
    gamma_mixture_quantile(&parts, p)
}

fn over(unit: &Prepared<'_>, horizon: &Horizon, standing: &Standing) -> HorizonForecast {
    let draws = &standing.draws;
    let base = unit.ahead(horizon);
    let even = 1.0 / draws.len() as f64;
    let elements: Vec<Element> = draws
        .iter()
        .flat_map(|p| unit.elements_with(horizon, &base, p))
        .map(|e| Element {
            weight: e.weight * even,
            ..e
        })
        .collect();
    let mut all = predict(&elements);
    if let Some(counts) = futures(unit, horizon, draws, all.expected) {
        let at = |q: f64| counts[((q * counts.len() as f64) as usize).min(counts.len() - 1)];
        all.expected = counts.iter().map(|n| *n as f64).sum::<f64>() / counts.len() as f64;
        all.count50 = (at(0.25), at(0.75));
        all.count80 = (at(0.1), at(0.9));
    }
    HorizonForecast {
        chance: all.chance,
        chance50: all.chance50,
        chance80: all.chance80,
        expected: all.expected,
        count50: all.count50,
        count80: all.count80,
        parts: part_chances(unit, &base, &elements),
        drivers: drivers(unit, horizon, standing),
    }
}

/// P(part k fails) with m_k in place of m (FORECAST §6); m splits as the fit's own exposures ahead do.
fn part_chances(unit: &Prepared<'_>, base: &[Vec<f64>], elements: &[Element]) -> Vec<PartChance> {
    let Some(clocks) = base.first().map(Vec::len) else {
        return Vec::new();
    };
    // A doubtful installation shifts all clocks alike; the split is that of the weighted mean over its nodes.
    let split: Vec<f64> = (0..clocks)
        .map(|i| {
            base.iter()
                .zip(&unit.nodes)
                .map(|(b, node)| node.weight * b[i])
                .sum()
        })
        .collect();
    let whole: f64 = split.iter().sum();
    split
        .iter()
        .enumerate()
        .map(|(i, own)| PartChance {
            part: unit.prior.parts.get(i).map(|p| p.code.clone()),
            chance: if whole > 0.0 {
                let share = own / whole;
                elements
                    .iter()
                    .map(|e| e.weight * e.posterior.next(e.ahead * share).at_least_one())
                    .sum()
            } else {
                0.0
            },
        })
        .collect()
}
