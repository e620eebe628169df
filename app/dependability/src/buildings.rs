//! A kind's fit with an effect of each building (model M2 over the part clocks or the one clock), outside the unit
//! frailty: water, installer and controls are shared by a building's units (FORECAST §4).
use std::collections::BTreeMap;

use nalgebra::DMatrix;
use numerics::{End, Local, Optimum, maximise};
use serde::{Deserialize, Serialize};

use crate::block::LN_TAU_BOX;
use crate::block_term::{BlockAt, BlockEffect, integral};
use crate::history::{Node, UnitHistory, subject};
use crate::kind_fit::{KindFit, rows};
use crate::prior::{KindPrior, T0};
use crate::record::{ALPHA, GAMMA, LN_BETA, Subject};
use crate::recurrent::bounds;
use crate::rests_on::priors;
use crate::shares::{Points, update_shares};
use crate::verdict::{Normal, Verdict};

/// Prior of ln τ: N(ln 0.3, 0.7) (FORECAST §3, judgement).
pub const LN_TAU: Normal = Normal {
    mean: -1.203_972_804_325_936,
    sd: 0.7,
};
/// Alternations between parameters and shares.
const ROUNDS: usize = 40;
/// Nodes lighter than this are left out where a mean over a building's effect is taken.
const LIGHT: f64 = 1e-7;

/// τ and how sure it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// ln τ; the kind's alpha is that of the median building.
    pub ln_tau: f64,
    /// Covariance of the kind's parameters, then ln τ.
    pub covariance: Vec<Vec<f64>>,
    /// Share of τ that rests on own records, 0 to 1.
    pub data_weight: f64,
}

/// What the fit says of one building: its units fail exp(e) times as often as those of the median building.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Effect {
    /// The caller's name of the building.
    pub building: String,
    /// Mean of e.
    pub mean: f64,
    /// Standard deviation of e.
    pub sd: f64,
}

/// The part of a kind's fit that speaks of buildings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Buildings {
    /// Buildings in which units of the kind were watched.
    pub seen: Vec<String>,
    /// How the fit with effects ended; with one building there is nothing to fit (`NotEnough`).
    pub verdict: Verdict,
    /// `None` where no effect is used: one building, or a fit that failed.
    pub spread: Option<Spread>,
    /// Each building's effect, in the order of `seen`; empty without a spread.
    pub effects: Vec<Effect>,
}

/// The units of a kind, by building.
pub(crate) struct Grouped<'a> {
    /// The units the fit uses, with their nodes.
    pub used: &'a [(&'a UnitHistory, Vec<Node>)],
    /// Building of each, as a place in `names`.
    pub of: Vec<usize>,
    /// Names in their order.
    pub names: Vec<String>,
}

impl<'a> Grouped<'a> {
    pub fn new(used: &'a [(&'a UnitHistory, Vec<Node>)], building: &[&str]) -> Self {
        let mut places: BTreeMap<&str, usize> = building.iter().map(|b| (*b, 0)).collect();
        places.values_mut().enumerate().for_each(|(i, v)| *v = i);
        Self {
            used,
            of: building.iter().map(|b| places[b]).collect(),
            names: places.keys().map(|b| (*b).to_owned()).collect(),
        }
    }

    pub fn subjects(&self, prior: &KindPrior, shares: &[f64]) -> Vec<Vec<Subject>> {
        let mut all = vec![Vec::new(); self.names.len()];
        for ((history, nodes), place) in self.used.iter().zip(&self.of) {
            all[*place].push(subject(history, prior, shares, nodes));
        }
        all
    }
}

/// Log-likelihood of the buildings' units plus the log priors of the free parameters.
pub(crate) fn target(
    buildings: &[Vec<Subject>],
    normals: &[Normal],
    free: &[bool],
    p: &[f64],
) -> Local {
    let mut local = Local::zero(p.len());
    for units in buildings {
        local.add_scaled(1.0, &integral(units, p, T0));
    }
    for (i, normal) in normals.iter().enumerate().filter(|&(i, _)| free[i]) {
        local.add_normal(i, p[i], normal.mean, normal.sd);
    }
    local
}

/// Weighted parameters of each building: one for every node of its effect.
pub(crate) fn points(buildings: &[Vec<Subject>], p: &[f64]) -> Vec<Points> {
    let tau = p[p.len() - 1].exp();
    buildings
        .iter()
        .map(|units| shifted(&BlockAt::new(units, p, T0).effect(tau), &p[..p.len() - 1]))
        .collect()
}

/// The kind's parameters at every node of a building's effect.
pub(crate) fn shifted(effect: &BlockEffect, p: &[f64]) -> Points {
    let heavy = effect.nodes.iter().filter(|(weight, _)| *weight > LIGHT);
    heavy
        .map(|(weight, e)| {
            let mut own = p.to_vec();
            own[ALPHA] += e;
            (*weight, own)
        })
        .collect()
}

/// Fits the kind again with an effect of each building, from the fit without; that one stands where this one fails.
pub(crate) fn fit_effects(prior: &KindPrior, grouped: &Grouped<'_>, answer: &mut KindFit) {
    let mut normals = priors(prior);
    normals.push(LN_TAU);
    let mut free = vec![true; normals.len()];
    free[LN_BETA] = prior.parts.is_empty();
    let mut edges = bounds(prior.covariates.len());
    edges.push(LN_TAU_BOX);
    let mut shares = answer.shares.clone();
    let mut start = answer.parameters.clone();
    start.push(LN_TAU.mean);
    let fit = |subjects: &[Vec<Subject>], start: &[f64]| {
        maximise(start, &free, &edges, |p| {
            Some(target(subjects, &normals, &free, p))
        })
    };
    let mut subjects = grouped.subjects(prior, &shares);
    let mut found = fit(&subjects, &start);
    for _ in 0..ROUNDS {
        if let End::Failed(_) = found.end {
            break;
        }
        let next = update_shares(
            prior,
            (grouped.used, &grouped.of),
            &shares,
            &points(&subjects, &found.at),
        );
        let moved = next
            .iter()
            .zip(&shares)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        shares = next;
        if moved < 1e-9 {
            break;
        }
        subjects = grouped.subjects(prior, &shares);
        found = fit(&subjects, &found.at);
    }
    keep(prior, (&found, &free), (grouped, &subjects), shares, answer);
}

fn keep(
    prior: &KindPrior,
    (found, free): (&Optimum, &[bool]),
    (grouped, subjects): (&Grouped<'_>, &[Vec<Subject>]),
    shares: Vec<f64>,
    answer: &mut KindFit,
) {
    let mut names = vec!["rate", "ageing", "difference between units"];
    names.extend(prior.covariates.iter().map(|c| c.code.as_str()));
    names.push("difference between buildings");
    let mut verdict = Verdict::of(&found.end, &names);
    let covariance = found
        .covariance(free)
        .filter(|c| c.iter().all(|v| v.is_finite()));
    if covariance.is_none() && !matches!(verdict, Verdict::Failed(_)) {
        verdict = Verdict::Failed("the curvature at the optimum is not usable".to_owned());
    }
    let seen = grouped.names.clone();
    let (Some(covariance), false) = (covariance, matches!(verdict, Verdict::Failed(_))) else {
        answer.buildings = Some(Buildings {
            seen,
            verdict,
            spread: None,
            effects: Vec::new(),
        });
        return;
    };
    let (d, normals) = (found.at.len() - 1, priors(prior));
    let weight = |i: usize, sd: f64| (1.0 - covariance[(i, i)] / (sd * sd)).clamp(0.0, 1.0);
    let effects = effects(grouped, subjects, &found.at);
    let without: f64 = subjects
        .iter()
        .map(|s| integral(s, &found.at, T0).value)
        .sum();
    answer.verdict = verdict.clone();
    answer.data_weight.rate = weight(ALPHA, normals[ALPHA].sd);
    answer.data_weight.theta = weight(crate::record::LN_THETA, normals[crate::record::LN_THETA].sd);
    if prior.parts.is_empty() {
        answer.data_weight.ageing = Some(weight(LN_BETA, normals[LN_BETA].sd));
    }
    answer.data_weight.covariates = (GAMMA..d).map(|i| weight(i, normals[i].sd)).collect();
    answer.parameters = found.at[..d].to_vec();
    answer.covariance = rows(&covariance.view((0, 0), (d, d)).into_owned());
    answer.loglik = without;
    answer.shares = shares;
    answer.buildings = Some(Buildings {
        seen,
        verdict,
        spread: Some(Spread {
            ln_tau: found.at[d],
            data_weight: weight(d, LN_TAU.sd),
            covariance: rows(&covariance),
        }),
        effects,
    });
}

fn effects(grouped: &Grouped<'_>, subjects: &[Vec<Subject>], p: &[f64]) -> Vec<Effect> {
    let tau = p[p.len() - 1].exp();
    grouped
        .names
        .iter()
        .zip(subjects)
        .map(|(name, units)| {
            let effect = BlockAt::new(units, p, T0).effect(tau);
            Effect {
                building: name.clone(),
                mean: effect.mean(),
                sd: effect.sd(),
            }
        })
        .collect()
}

/// What is believed of buildings before any failure: the priors, with τ beside them.
pub(crate) fn before(grouped: &Grouped<'_>, answer: &mut KindFit) {
    let d = answer.parameters.len();
    let covariance = DMatrix::from_fn(d + 1, d + 1, |i, j| match (i < d, j < d) {
        (true, true) => answer.covariance[i][j],
        (false, false) => LN_TAU.sd * LN_TAU.sd,
        _ => 0.0,
    });
    answer.buildings = Some(Buildings {
        seen: grouped.names.clone(),
        verdict: answer.verdict.clone(),
        spread: Some(Spread {
            ln_tau: LN_TAU.mean,
            covariance: rows(&covariance),
            data_weight: 0.0,
        }),
        effects: Vec::new(),
    });
}

/// One building only: its effect is in alpha.
pub(crate) fn absorbed(grouped: &Grouped<'_>, failures: u32, answer: &mut KindFit) {
    answer.buildings = Some(Buildings {
        seen: grouped.names.clone(),
        verdict: Verdict::NotEnough { failures },
        spread: None,
        effects: Vec::new(),
    });
}
