//! M2: a block's own multiplier exp(e_b), e_b ~ N(0, τ²), outside the unit frailty (FORECAST §4).
//!
//! Working parameters: those of model M1, then ln τ. Each block is one integral over e.
use nalgebra::DMatrix;
use numerics::count::{chances_until, convolve, table_quantile};
use numerics::{End, Local, maximise};

use crate::block_term::{BlockAt, integral};
use crate::frailty::Posterior;
use crate::record::{ALPHA, GAMMA, LN_BETA, LN_THETA, Record, Subject};
use crate::recurrent::bounds;
use crate::verdict::Normal;

pub use crate::block_term::BlockEffect;

/// Box of ln τ.
pub(crate) const LN_TAU_BOX: (f64, f64) = (-6.0, 2.0);

/// One block's units.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Its units.
    pub units: Vec<Record>,
}

/// A fitted model.
#[derive(Clone, Debug)]
pub struct BlockFit {
    /// alpha, ln β, ln θ, γ…, ln τ.
    pub at: Vec<f64>,
    /// Log-likelihood without the prior.
    pub loglik: f64,
    /// Covariance of the working parameters.
    pub covariance: DMatrix<f64>,
    /// How it ended.
    pub end: End,
    t0: f64,
}

/// Expected number and distribution of a block's failures ahead.
#[derive(Clone, Debug, PartialEq)]
pub struct BlockAhead {
    /// Expected number.
    pub expected: f64,
    law: Vec<f64>,
}

impl BlockAhead {
    /// Chance of none.
    pub fn none(&self) -> f64 {
        self.law.first().copied().unwrap_or(1.0)
    }

    /// Count quantile.
    pub fn quantile(&self, q: f64) -> u64 {
        table_quantile(&self.law, q)
    }
}

fn subjects(units: &[Record]) -> Vec<Subject> {
    units.iter().cloned().map(Subject::from).collect()
}

/// Log-likelihood with derivatives.
pub fn log_likelihood(blocks: &[Block], p: &[f64], t0: f64) -> Local {
    let all: Vec<Vec<Subject>> = blocks.iter().map(|b| subjects(&b.units)).collect();
    summed(&all, p, t0)
}

fn summed(blocks: &[Vec<Subject>], p: &[f64], t0: f64) -> Local {
    let mut total = Local::zero(p.len());
    for units in blocks {
        total.add_scaled(1.0, &integral(units, p, t0));
    }
    total
}

/// Maximum likelihood, or MAP with priors in the parameters' order.
pub fn fit_blocks(
    blocks: &[Block],
    t0: f64,
    covariates: usize,
    prior: Option<&[Normal]>,
) -> BlockFit {
    let d = GAMMA + covariates + 1;
    let mut edges = bounds(covariates);
    edges.push(LN_TAU_BOX);
    let mut start = vec![0.0; d];
    (start[LN_BETA], start[LN_THETA], start[d - 1]) = (0.2, 0.5_f64.ln(), 0.3_f64.ln());
    let units = || blocks.iter().flat_map(|b| &b.units);
    let failures: f64 = units().map(|u| f64::from(u.failures)).sum();
    let area: f64 = units().map(|u| u.mu(&start, t0)).sum();
    if failures > 0.0 && area > 0.0 {
        start[ALPHA] = (failures / area).ln();
    }
    let free = vec![true; d];
    let all: Vec<Vec<Subject>> = blocks.iter().map(|b| subjects(&b.units)).collect();
    let found = maximise(&start, &free, &edges, |p| {
        let mut local = summed(&all, p, t0);
        for (i, normal) in prior.unwrap_or(&[]).iter().enumerate() {
            local.add_normal(i, p[i], normal.mean, normal.sd);
        }
        Some(local)
    });
    BlockFit {
        loglik: summed(&all, &found.at, t0).value,
        covariance: found
            .covariance(&free)
            .unwrap_or_else(|| DMatrix::from_element(d, d, f64::NAN)),
        end: found.end,
        at: found.at,
        t0,
    }
}

impl BlockFit {
    /// Standard error of a working parameter.
    pub fn se(&self, place: usize) -> f64 {
        self.covariance[(place, place)].sqrt()
    }

    /// τ.
    pub fn tau(&self) -> f64 {
        self.at[self.at.len() - 1].exp()
    }

    /// What the data say of a block's effect at the fit.
    pub fn effect(&self, block: &Block) -> BlockEffect {
        BlockAt::new(&subjects(&block.units), &self.at, self.t0).effect(self.tau())
    }

    /// The effect of a block not seen yet.
    pub fn unseen(&self) -> BlockEffect {
        BlockEffect::unseen(self.tau())
    }

    /// z of a unit in a block whose effect is e.
    pub fn posterior(&self, unit: &Record, e: f64) -> Posterior {
        Posterior {
            theta: self.at[LN_THETA].exp(),
            n: f64::from(unit.failures),
            mu: unit.mu(&self.at, self.t0) * e.exp(),
        }
    }

    /// Failures ahead of a block's units, given (record, expected ahead at z = 1 and e = 0) of each: the mixture over e
    /// of the convolution of the units' negative binomials.
    pub fn ahead(&self, effect: &BlockEffect, units: &[(&Record, f64)]) -> BlockAhead {
        let mut law: Vec<f64> = Vec::new();
        let mut expected = 0.0;
        for (weight, e) in &effect.nodes {
            let mut here = vec![1.0];
            for (record, ahead) in units {
                let next = self.posterior(record, *e).next(ahead * e.exp());
                expected += weight * next.mean;
                here = convolve(&here, &chances_until(&next, 1e-13), 1e-13);
            }
            law.resize(law.len().max(here.len()), 0.0);
            law.iter_mut()
                .zip(&here)
                .for_each(|(sum, p)| *sum += weight * p);
        }
        BlockAhead { expected, law }
    }
}
