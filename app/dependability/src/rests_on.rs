//! What a kind's figures rest on: how thin its record is, how much is the prior's, and the prior alone.
use serde::{Deserialize, Serialize};

use crate::history::{Node, UnitHistory};
use crate::kind_fit::KindFit;
use crate::prior::{InputError, KindPrior, T0};
use crate::record::LN_BETA;
use crate::verdict::{Normal, Verdict};

/// How thin a kind's own record is (FORECAST §11).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThinData {
    /// No failure in the kind: published figures only.
    PublishedOnly,
    /// Fewer than 15: no statement on ageing or on differences between units, no ranking.
    Few,
    /// 15 to 150: show how much rests on own records.
    Mixed,
    /// More than 150: own records speak.
    Own,
}

impl ThinData {
    /// Level for a number of failures.
    pub fn of(failures: u32) -> Self {
        match failures {
            0 => Self::PublishedOnly,
            1..15 => Self::Few,
            15..=150 => Self::Mixed,
            _ => Self::Own,
        }
    }
}

/// A history the fit left out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rejected {
    /// Its place in the list given.
    pub place: usize,
    /// Why.
    pub why: InputError,
}

/// Share of each statement that rests on the estate's own records, 0 to 1; the rest is the prior.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DataWeight {
    /// Of the level.
    pub rate: f64,
    /// Of the difference between units.
    pub theta: f64,
    /// Of ageing; `None` where shapes are given by the parts.
    pub ageing: Option<f64>,
    /// Of each covariate.
    pub covariates: Vec<f64>,
}

pub(crate) fn priors(prior: &KindPrior) -> Vec<Normal> {
    let mut all = vec![
        Normal {
            mean: prior.rate_10y.ln(),
            sd: prior.rate_sd_log,
        },
        prior.ln_beta,
        prior.ln_theta,
    ];
    all.extend(prior.covariates.iter().map(|c| c.effect));
    all
}

pub(crate) fn prior_only(prior: &KindPrior, failures: u32) -> KindFit {
    let normals = priors(prior);
    let one_clock = prior.parts.is_empty();
    let fitted = |i: usize| i != LN_BETA || one_clock;
    let d = normals.len();
    KindFit {
        verdict: Verdict::NotEnough { failures },
        parameters: (0..d)
            .map(|i| if fitted(i) { normals[i].mean } else { 0.0 })
            .collect(),
        covariance: (0..d)
            .map(|i| {
                (0..d)
                    .map(|j| {
                        if i == j && fitted(i) {
                            normals[i].sd.powi(2)
                        } else {
                            0.0
                        }
                    })
                    .collect()
            })
            .collect(),
        shares: prior.shares(),
        data_weight: DataWeight {
            rate: 0.0,
            theta: 0.0,
            ageing: one_clock.then_some(0.0),
            covariates: vec![0.0; prior.covariates.len()],
        },
        loglik: 0.0,
        n_units: 0,
        n_failures: failures,
        n_merged: 0,
        unit_years: 0.0,
        mean_age: T0,
        thin: ThinData::of(failures),
        one_age: false,
        rejected: Vec::new(),
        buildings: None,
    }
}

pub(crate) fn mean_age(used: &[(&UnitHistory, Vec<Node>)]) -> f64 {
    let ages: Vec<f64> = used
        .iter()
        .filter(|(h, _)| !h.windows.is_empty())
        .map(|(h, nodes)| {
            let installed: f64 = nodes.iter().map(|n| n.weight * n.installed).sum();
            (h.seen_until() - installed).max(0.0)
        })
        .collect();
    if ages.is_empty() {
        T0
    } else {
        ages.iter().sum::<f64>() / ages.len() as f64
    }
}
