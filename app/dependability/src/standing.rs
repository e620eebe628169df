//! Where a unit stands, as its forecast needs it: the kind's parameters with the doubt of the fit and of the building's
//! own effect (FORECAST §4).
//!
//! 64 fixed draws from the fit; in each the building's effect is drawn once from a normal law with the mean and spread
//! that its own units give it under that draw's parameters. So all units of a building share it, draw by draw.
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use crate::block::LN_TAU_BOX;
use crate::block_term::{BlockAt, BlockEffect};
use crate::buildings::{LN_TAU, Spread, shifted};
use crate::draws::parameter_draws;
use crate::history::{UnitHistory, nodes, subject};
use crate::kind_fit::KindFit;
use crate::prior::{InputError, KindPrior, T0};
use crate::record::{ALPHA, GAMMA, Subject};
use crate::recurrent::bounds;
use crate::shares::Points;

/// The standard normal that draws a building's effect is capped here.
const FAR: f64 = 6.0;

/// How many times as often units of a building fail as those of the median building: mean and 80 % interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Factor {
    /// Mean of exp(e).
    pub mean: f64,
    /// 10 % point.
    pub low: f64,
    /// 90 % point.
    pub high: f64,
}

/// What a kind's fit says of the place where a unit stands.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Parameters of 64 draws, the building's effect in alpha.
    pub(crate) draws: Vec<Vec<f64>>,
    /// Parameters at the fit, weighted over the doubt of the effect alone.
    pub(crate) points: Points,
    /// The fit's parameters at the mean effect.
    pub(crate) centre: Vec<f64>,
    factor: Option<Factor>,
}

impl Standing {
    /// In a building by its name: among its own units where the fit tells buildings apart, as one not seen before where
    /// the fit rests on others alone. `units` are those of the kind there as they are now, retired ones too.
    ///
    /// # Errors
    /// A fit of another version of the kind.
    pub fn of(
        prior: &KindPrior,
        fit: &KindFit,
        building: &str,
        units: &[&UnitHistory],
    ) -> Result<Self, InputError> {
        match &fit.buildings {
            Some(seen) if seen.spread.is_some() => Self::among(prior, fit, units),
            // Fitted on other buildings alone: this one may differ from them.
            Some(seen) if !seen.seen.iter().any(|name| name == building) => Ok(Self::unseen(fit)),
            _ => Ok(Self::anywhere(fit)),
        }
    }

    /// No effect of a building.
    pub fn anywhere(fit: &KindFit) -> Self {
        Self {
            draws: fit.draws(),
            points: vec![(1.0, fit.parameters.clone())],
            centre: fit.parameters.clone(),
            factor: None,
        }
    }

    /// In a building whose units of the kind, as they are now, are these. Histories that cannot be are passed over.
    ///
    /// # Errors
    /// A fit of another version of the kind.
    pub fn among(
        prior: &KindPrior,
        fit: &KindFit,
        units: &[&UnitHistory],
    ) -> Result<Self, InputError> {
        fit.fits(prior)?;
        let Some(spread) = spread_of(fit) else {
            return Ok(Self::anywhere(fit));
        };
        let subjects: Vec<Subject> = units
            .iter()
            .filter(|h| h.check(prior.covariates.len()).is_ok())
            .map(|h| subject(h, prior, &fit.shares, &nodes(h, prior)))
            .collect();
        let d = fit.parameters.len();
        let mut effects = Vec::new();
        let draws = extended(fit, Some(spread))
            .into_iter()
            .map(|draw| {
                let (mean, sd) = BlockAt::new(&subjects, &draw, T0).moments(draw[d].exp());
                let e = mean + sd * draw[d + 1];
                effects.push(e);
                moved(&draw[..d], e)
            })
            .collect();
        let effect = BlockAt::new(&subjects, &fit.parameters, T0).effect(spread.ln_tau.exp());
        Ok(Self::around(fit, draws, &effect, &effects))
    }

    /// In a building nothing is known of: e ~ N(0, τ²), τ as fitted or, from one building only, 0.3 (judgement).
    pub fn unseen(fit: &KindFit) -> Self {
        let d = fit.parameters.len();
        let spread = spread_of(fit);
        let mut effects = Vec::new();
        let draws = extended(fit, spread)
            .into_iter()
            .map(|draw| {
                let ln_tau = if spread.is_some() {
                    draw[d]
                } else {
                    LN_TAU.mean
                };
                let e = ln_tau.exp() * draw[draw.len() - 1];
                effects.push(e);
                moved(&draw[..d], e)
            })
            .collect();
        let tau = spread.map_or(LN_TAU.mean, |s| s.ln_tau).exp();
        Self::around(fit, draws, &BlockEffect::unseen(tau), &effects)
    }

    fn around(fit: &KindFit, draws: Vec<Vec<f64>>, effect: &BlockEffect, effects: &[f64]) -> Self {
        let mut sorted = effects.to_vec();
        sorted.sort_by(f64::total_cmp);
        let at = |q: f64| {
            let place = (q * sorted.len() as f64) as usize;
            sorted.get(place).map_or(1.0, |e| e.exp())
        };
        Self {
            draws,
            points: shifted(effect, &fit.parameters),
            centre: moved(&fit.parameters, effect.mean()),
            factor: Some(Factor {
                mean: effect.mean_of(f64::exp),
                low: at(0.1),
                high: at(0.9),
            }),
        }
    }

    /// The building's own factor; `None` where no effect is used.
    pub fn factor(&self) -> Option<Factor> {
        self.factor
    }
}

fn spread_of(fit: &KindFit) -> Option<&Spread> {
    fit.buildings.as_ref().and_then(|b| b.spread.as_ref())
}

fn moved(p: &[f64], e: f64) -> Vec<f64> {
    let mut own = p.to_vec();
    own[ALPHA] += e;
    own
}

/// 64 draws of the kind's parameters, of ln τ where it was fitted, and of a standard normal.
fn extended(fit: &KindFit, spread: Option<&Spread>) -> Vec<Vec<f64>> {
    let d = fit.parameters.len();
    let mut centre = fit.parameters.clone();
    let mut edges = bounds(d - GAMMA);
    if let Some(spread) = spread {
        centre.push(spread.ln_tau);
        edges.push(LN_TAU_BOX);
    }
    let known = centre.len();
    let covariance = DMatrix::from_fn(known + 1, known + 1, |i, j| {
        if i == known || j == known {
            return f64::from(u8::from(i == j));
        }
        spread.map_or(&fit.covariance, |s| &s.covariance)[i][j]
    });
    centre.push(0.0);
    edges.push((-FAR, FAR));
    parameter_draws(&centre, &covariance, &edges)
}
