//! The term of one block in the likelihood of model M2: its units share a multiplier exp(e), e ~ N(0, τ²), outside their
//! own frailty (FORECAST §4).
//!
//! exp(e) on every intensity is alpha + e, so that at each node of the integral over e the block's units are those of
//! model M1, doubtful installation dates and part clocks included. Adaptive Gauss–Hermite about the mode.
use std::sync::LazyLock;

use numerics::Local;
use numerics::jet::ln_sum_exp;
use numerics::quadrature::gauss_hermite;

use crate::frailty::CountTable;
use crate::record::{AlphaMoved, LN_BETA, LN_THETA, Record, Subject};

/// Nodes of the integral. FORECAST §4: 15 equal 41 to 1e-9; a few more keep the optimiser's last steps smooth.
const NODES: usize = 25;
/// Nodes where only the mean and spread of the effect are wanted.
const FEW: usize = 9;

static MANY_NODES: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_hermite(NODES));
static FEW_NODES: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_hermite(FEW));

/// What the data say of one block's effect: quadrature nodes (weight, e), weights summing to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct BlockEffect {
    /// (weight, e).
    pub nodes: Vec<(f64, f64)>,
}

impl BlockEffect {
    /// The effect of a block nothing is known of: N(0, τ²).
    pub(crate) fn unseen(tau: f64) -> Self {
        let root = std::f64::consts::PI.sqrt();
        let nodes = MANY_NODES.iter();
        Self {
            nodes: nodes
                .map(|(x, w)| (w / root, std::f64::consts::SQRT_2 * tau * x))
                .collect(),
        }
    }

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

/// One unit at fixed parameters: failures, and each possible installation.
struct Known {
    n: u32,
    nodes: Vec<KnownAt>,
}

/// One possible installation at fixed parameters.
struct KnownAt {
    /// Log weight, with what does not depend on e.
    fixed: f64,
    /// Failures expected at e = 0.
    mu: f64,
    /// H_T at the end, which e does not move: what a building does to failures is not known of its write-offs.
    leaving: f64,
    /// Failures, and the write-off where it bears on z.
    counted: u32,
}

/// A block's units at fixed parameters: everything its effect depends on.
pub(crate) struct BlockAt {
    theta: f64,
    table: CountTable,
    units: Vec<Known>,
}

/// Failures of the subject that has most.
fn most(units: &[Subject]) -> u32 {
    let records = units.iter().flat_map(|u| &u.nodes);
    records.map(|(_, r)| r.counted()).max().unwrap_or(0)
}

impl BlockAt {
    /// The units at these parameters; what stands after the covariates' effects is not read.
    pub fn new(units: &[Subject], p: &[f64], t0: f64) -> Self {
        let (beta, theta) = (p[LN_BETA].exp(), p[LN_THETA].exp());
        let table = CountTable::new(theta, most(units));
        let at = |weight: f64, r: &Record| {
            let survived = if r.leaving.entry > 0.0 {
                table.term(0, r.leaving.entry).value
            } else {
                0.0
            };
            KnownAt {
                fixed: weight.ln()
                    + (beta - 1.0) * r.sum_ln_age
                    + r.ln_spans(beta, t0)[0]
                    + r.ln_base
                    - survived,
                mu: r.mu(p, t0),
                leaving: r.leaving.exit,
                counted: r.counted(),
            }
        };
        let known = units.iter().map(|unit| Known {
            n: unit.nodes.first().map_or(0, |(_, r)| r.failures),
            nodes: unit
                .nodes
                .iter()
                .map(|(weight, r)| at(*weight, r))
                .collect(),
        });
        let units = known.collect();
        Self {
            theta,
            table,
            units,
        }
    }

    /// First derivative and minus the second of the log integrand in e.
    fn slopes(&self, e: f64, tau: f64) -> (f64, f64) {
        let (mut slope, mut bend) = (-e / (tau * tau), 1.0 / (tau * tau));
        for unit in &self.units {
            let n = f64::from(unit.n);
            // n − ẑ m and, of its slope, ẑ m (1 + θ H_T)/(1 + θ (m + H_T)), with m = μ e^e.
            let own = |at: &KnownAt| {
                let m = at.mu * e.exp();
                let stayed = 1.0 + self.theta * at.leaving;
                let grown = stayed + self.theta * m;
                let expected = (1.0 + f64::from(at.counted) * self.theta) / grown * m;
                (n - expected, expected * stayed / grown)
            };
            if let [at] = unit.nodes.as_slice() {
                let (first, second) = own(at);
                slope += first;
                bend += second;
                continue;
            }
            // ln Σ exp: the mean of the slopes, and their variance off the bends.
            let shares = self.shares(unit, e);
            let (mut mean, mut square, mut curve) = (0.0, 0.0, 0.0);
            for (share, at) in shares.iter().zip(&unit.nodes) {
                let (first, second) = own(at);
                mean += share * first;
                square += share * first * first;
                curve += share * second;
            }
            slope += mean;
            bend += curve - (square - mean * mean);
        }
        // Never flatter than the prior alone makes it: doubtful dates may bend the other way far from the mode.
        (slope, bend.max(1.0 / (tau * tau)))
    }

    fn terms(&self, unit: &Known, e: f64) -> Vec<f64> {
        let term = |at: &KnownAt| {
            let spent = at.mu * e.exp() + at.leaving;
            at.fixed + self.table.term(at.counted, spent).value
        };
        unit.nodes.iter().map(term).collect()
    }

    fn shares(&self, unit: &Known, e: f64) -> Vec<f64> {
        let terms = self.terms(unit, e);
        let top = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let raw: Vec<f64> = terms.iter().map(|v| (v - top).exp()).collect();
        let sum: f64 = raw.iter().sum();
        raw.iter().map(|v| v / sum).collect()
    }

    /// Log-likelihood of the units at e, without what does not depend on e.
    fn value(&self, e: f64) -> f64 {
        let one = |unit: &Known| {
            let terms = self.terms(unit, e);
            let top = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let sum: f64 = terms.iter().map(|v| (v - top).exp()).sum();
            f64::from(unit.n) * e + top + sum.ln()
        };
        self.units.iter().map(one).sum()
    }

    /// Mode and curvature of the log integrand in e: Newton from 0 with cut steps.
    pub fn mode(&self, tau: f64) -> (f64, f64) {
        let mut e = 0.0;
        for _ in 0..100 {
            let (slope, bend) = self.slopes(e, tau);
            let step = (slope / bend).clamp(-1.0, 1.0);
            e += step;
            if step.abs() < 1e-12 {
                break;
            }
        }
        (e, self.slopes(e, tau).1)
    }

    /// What the units say of the effect under e ~ N(0, τ²).
    pub fn effect(&self, tau: f64) -> BlockEffect {
        self.over(tau, &MANY_NODES)
    }

    /// Mean and standard deviation of the effect.
    pub fn moments(&self, tau: f64) -> (f64, f64) {
        let effect = self.over(tau, &FEW_NODES);
        (effect.mean(), effect.sd())
    }

    fn over(&self, tau: f64, nodes: &[(f64, f64)]) -> BlockEffect {
        let (centre, bend) = self.mode(tau);
        let spread = (2.0 / bend).sqrt();
        let logs: Vec<(f64, f64)> = nodes
            .iter()
            .map(|(x, w)| {
                let e = centre + spread * x;
                let prior = -0.5 * (e / tau).powi(2);
                (w.ln() + x * x + prior + self.value(e), e)
            })
            .collect();
        let top = logs.iter().map(|l| l.0).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = logs.iter().map(|(v, _)| (v - top).exp()).sum();
        BlockEffect {
            nodes: logs
                .into_iter()
                .map(|(v, e)| ((v - top).exp() / sum, e))
                .collect(),
        }
    }
}

/// Log of the block's integral with derivatives in the parameters, the last of which is ln τ.
pub(crate) fn integral(units: &[Subject], p: &[f64], t0: f64) -> Local {
    let place = p.len() - 1;
    let ln_tau = Local::parameter(p, place);
    let (centre, bend) = BlockAt::new(units, p, t0).mode(p[place].exp());
    let spread = (2.0 / bend).sqrt();
    let precision = ln_tau.clone().scaled(-2.0).exp();
    let moved = AlphaMoved::new(units, p, t0);
    let terms: Vec<Local> = MANY_NODES
        .iter()
        .map(|(x, w)| {
            let e = centre + spread * x;
            let fixed = w.ln() + x * x + spread.ln() - 0.5 * (2.0 * std::f64::consts::PI).ln();
            let mut sum = moved.log_likelihood(e).shifted(fixed);
            sum.add_scaled(-0.5 * e * e, &precision);
            sum.add_scaled(-1.0, &ln_tau);
            sum
        })
        .collect();
    ln_sum_exp(&terms).0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{ALPHA, Exposed, Leaving, Span, log_likelihood};

    fn record(n: u32, span: Span) -> Record {
        Record {
            windows: vec![Exposed {
                span,
                x: Vec::new(),
            }],
            failures: n,
            sum_ln_age: -0.3 * f64::from(n),
            sum_x: Vec::new(),
            spans: vec![(2.5, 3.0)],
            ln_base: 0.0,
            leaving: Leaving::default(),
        }
    }

    /// The same record of a unit that was watched from H_T 0.1 to 0.8, and written off then or not.
    fn leaving(record: Record, ended: u32) -> Record {
        Record {
            leaving: Leaving {
                entry: 0.1,
                exit: 0.8,
                ended,
            },
            ..record
        }
    }

    fn units() -> Vec<Subject> {
        let clock = |from, until| Span::Clock { from, until };
        vec![
            record(3, clock(2.0, 9.0)).into(),
            record(0, Span::Fixed(4.0)).into(),
            Subject {
                nodes: vec![
                    (0.4, record(1, clock(1.0, 6.0))),
                    (0.6, record(1, clock(7.0, 12.0))),
                ],
            },
            leaving(record(2, clock(3.0, 8.0)), 1).into(),
            Subject {
                nodes: vec![
                    (0.3, leaving(record(0, clock(1.0, 6.0)), 0)),
                    (0.7, leaving(record(0, clock(4.0, 9.0)), 0)),
                ],
            },
        ]
    }

    const P: [f64; 4] = [-1.1, 0.3, -0.6, -0.8];

    #[test]
    fn derivatives_meet_differences_with_doubtful_dates() {
        let units = units();
        let at = integral(&units, &P, 10.0);
        for i in 0..P.len() {
            let (mut up, mut down) = (P, P);
            up[i] += 1e-4;
            down[i] -= 1e-4;
            let (up, down) = (integral(&units, &up, 10.0), integral(&units, &down, 10.0));
            let slope = (up.value - down.value) / 2e-4;
            assert!((at.gradient[i] - slope).abs() < 1e-6, "{i}");
            let bend = (up.gradient - down.gradient) / 2e-4;
            assert!((at.hessian.column(i) - bend).amax() < 1e-5, "{i}");
        }
    }

    /// μ reckoned once and scaled is μ reckoned anew.
    #[test]
    fn alpha_moved_is_the_likelihood_at_the_moved_alpha() {
        let units = units();
        let moved = AlphaMoved::new(&units, &P, 10.0);
        for e in [-2.0, 0.0, 0.7] {
            let mut p = P;
            p[ALPHA] += e;
            let (one, other) = (moved.log_likelihood(e), log_likelihood(&units, &p, 10.0));
            assert!((one.value - other.value).abs() < 1e-11);
            assert!((one.gradient - other.gradient).amax() < 1e-11);
            assert!((one.hessian - other.hessian).amax() < 1e-10);
        }
    }

    /// Against a plain sum over a fine grid.
    #[test]
    fn the_integral_and_its_moments_meet_a_grid() {
        let (units, tau) = (units(), P[3].exp());
        let step = 1e-3;
        let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
        let mut p = P;
        for k in -6000..=6000 {
            let e = f64::from(k) * step;
            p[ALPHA] = P[ALPHA] + e;
            let normal =
                (-0.5 * (e / tau).powi(2)).exp() / (tau * (2.0 * std::f64::consts::PI).sqrt());
            let here = step * normal * log_likelihood(&units, &p, 10.0).value.exp();
            sum += here;
            first += e * here;
            second += e * e * here;
        }
        let mean = first / sum;
        assert!((integral(&units, &P, 10.0).value - sum.ln()).abs() < 1e-9);
        let at = BlockAt::new(&units, &P, 10.0);
        let effect = at.effect(tau);
        assert!((effect.mean() - mean).abs() < 1e-8);
        assert!((effect.sd() - (second / sum - mean * mean).sqrt()).abs() < 1e-7);
        let (few, spread) = at.moments(tau);
        assert!((few - mean).abs() < 1e-5 && (spread - effect.sd()).abs() < 1e-5);
    }
}
