//! M2: a block's own multiplier exp(e_b), e_b ~ N(0, τ²), outside the unit frailty (FORECAST §4).
//!
//! Working parameters: those of model M1, then ln τ. Each block is one integral over e, by adaptive Gauss–Hermite.
use nalgebra::DMatrix;
use numerics::count::{chances_until, convolve, table_quantile};
use numerics::jet::ln_sum_exp;
use numerics::quadrature::gauss_hermite;
use numerics::{End, Local, maximise};

use crate::frailty::{CountTable, Posterior, UnitTerm};
use crate::record::{ALPHA, GAMMA, LN_BETA, LN_THETA, Record};
use crate::recurrent::bounds;
use crate::verdict::Normal;

/// Nodes of the integral. FORECAST §4: 15 equal 41 to 1e-9; a few more keep the optimiser's last steps smooth.
const NODES: usize = 25;
const LN_TAU_BOX: (f64, f64) = (-6.0, 2.0);

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

/// What the data say of one block's effect: quadrature nodes (weight, e), weights summing to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct BlockEffect {
    /// (weight, e).
    pub nodes: Vec<(f64, f64)>,
}

impl BlockEffect {
    /// Mean of a function of e.
    pub fn mean_of(&self, f: impl Fn(f64) -> f64) -> f64 {
        self.nodes.iter().map(|(w, e)| w * f(*e)).sum()
    }

    /// Posterior mean of e.
    pub fn mean(&self) -> f64 {
        self.mean_of(|e| e)
    }

    /// Posterior standard deviation of e.
    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        self.mean_of(|e| (e - mean).powi(2)).sqrt()
    }
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

fn table(blocks: &[Block], theta: f64) -> CountTable {
    let most = blocks
        .iter()
        .flat_map(|b| &b.units)
        .map(|u| u.failures)
        .max()
        .unwrap_or(0);
    CountTable::new(theta, most)
}

/// Mode and curvature of a block's log integrand in e (concave, so plain Newton from 0 with halved steps).
fn mode(units: &[(u32, f64)], theta: f64, tau: f64) -> (f64, f64) {
    let slopes = |e: f64| {
        let (mut slope, mut bend) = (-e / (tau * tau), 1.0 / (tau * tau));
        for (n, mu) in units {
            let (n, m) = (f64::from(*n), mu * e.exp());
            let grown = 1.0 + theta * m;
            slope += n - (1.0 + n * theta) / grown * m;
            bend += (1.0 + n * theta) * m / (grown * grown);
        }
        (slope, bend)
    };
    let mut e = 0.0;
    for _ in 0..100 {
        let (slope, bend) = slopes(e);
        let step = (slope / bend).clamp(-1.0, 1.0);
        e += step;
        if step.abs() < 1e-12 {
            break;
        }
    }
    (e, slopes(e).1)
}

/// Log of the block's integral with derivatives in the parameters, and the nodes with their shares.
fn integral(block: &Block, p: &[f64], t0: f64, table: &CountTable) -> (Local, BlockEffect) {
    let theta = Local::parameter(p, LN_THETA).exp();
    let ln_tau = Local::parameter(p, p.len() - 1);
    let means: Vec<Local> = block.units.iter().map(|u| u.mu_jet(p, t0)).collect();
    let counts: Vec<(u32, f64)> = block
        .units
        .iter()
        .zip(&means)
        .map(|(u, m)| (u.failures, m.value))
        .collect();
    let (centre, bend) = mode(&counts, theta.value, ln_tau.value.exp());
    let spread = (2.0 / bend).sqrt();
    let failures: u32 = block.units.iter().map(|u| u.failures).sum();
    let precision = ln_tau.clone().scaled(-2.0).exp();
    let at = |x: f64| centre + spread * x;
    let nodes = gauss_hermite(NODES);
    let terms: Vec<Local> = nodes
        .iter()
        .map(|(x, w)| {
            let e = at(*x);
            let fixed = w.ln() + x * x + spread.ln() + f64::from(failures) * e
                - 0.5 * (2.0 * std::f64::consts::PI).ln();
            let mut sum = Local::constant(p.len(), fixed);
            sum.add_scaled(-0.5 * e * e, &precision);
            sum.add_scaled(-1.0, &ln_tau);
            for ((n, _), mean) in counts.iter().zip(&means) {
                let mu = mean.clone().scaled(e.exp());
                let unit: UnitTerm = table.term(*n, mu.value);
                sum.add_scaled(1.0, &unit.jet(&mu, &theta));
            }
            sum
        })
        .collect();
    let (mut total, shares) = ln_sum_exp(&terms);
    for unit in &block.units {
        total.add_scaled(1.0, &unit.ln_hazards(p));
    }
    let nodes = shares
        .into_iter()
        .zip(nodes)
        .map(|(share, (x, _))| (share, at(x)))
        .collect();
    (total, BlockEffect { nodes })
}

/// Log-likelihood with derivatives.
pub fn log_likelihood(blocks: &[Block], p: &[f64], t0: f64) -> Local {
    let table = table(blocks, p[LN_THETA].exp());
    let mut total = Local::zero(p.len());
    for block in blocks {
        total.add_scaled(1.0, &integral(block, p, t0, &table).0);
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
    let found = maximise(&start, &free, &edges, |p| {
        let mut local = log_likelihood(blocks, p, t0);
        for (i, normal) in prior.unwrap_or(&[]).iter().enumerate() {
            local.add_normal(i, p[i], normal.mean, normal.sd);
        }
        Some(local)
    });
    BlockFit {
        loglik: log_likelihood(blocks, &found.at, t0).value,
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
        let own = std::slice::from_ref(block);
        integral(
            block,
            &self.at,
            self.t0,
            &table(own, self.at[LN_THETA].exp()),
        )
        .1
    }

    /// The effect of a block not seen yet.
    pub fn unseen(&self) -> BlockEffect {
        let root = std::f64::consts::PI.sqrt();
        let tau = self.tau();
        let nodes = gauss_hermite(NODES);
        BlockEffect {
            nodes: nodes
                .into_iter()
                .map(|(x, w)| (w / root, std::f64::consts::SQRT_2 * tau * x))
                .collect(),
        }
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
