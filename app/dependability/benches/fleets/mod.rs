//! Fleets with known truth (`faults` of the shared simulator, items 1 to 5 of its page), drawn here on their own: event
//! times by inverting the cumulative hazard, no code in common with the model.
use dependability::{Failure, Installed, UnitHistory, Window};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma};

/// What is true of a fleet: ln rate at 10 years, ln β, ln θ.
#[derive(Clone, Copy, Debug)]
pub struct Truth {
    pub alpha: f64,
    pub ln_beta: f64,
    pub ln_theta: f64,
}

/// Units and years watched; ages at opening are even on 0 to 18 years.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    pub units: usize,
    pub years: f64,
}

/// A fleet, with each unit's failures to expect in the year after its window.
pub struct Fleet {
    pub histories: Vec<UnitHistory>,
    pub rates: Vec<f64>,
}

/// Draws that follow from the seed alone.
pub struct Draws(ChaCha8Rng);

impl Draws {
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// What other laws draw from.
    pub fn source(&mut self) -> &mut ChaCha8Rng {
        &mut self.0
    }

    /// Even on (0, 1).
    pub fn even(&mut self) -> f64 {
        (f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0
    }

    /// A fleet of this truth; x is 1 in three units of ten and moves the log rate by `gamma` (0: no covariate).
    pub fn fleet(&mut self, truth: Truth, size: Size, gamma: f64) -> Fleet {
        let (beta, theta) = (truth.ln_beta.exp(), truth.ln_theta.exp());
        let frailty = Gamma::new(1.0 / theta, theta).ok();
        let (mut histories, mut rates) = (Vec::new(), Vec::new());
        for _ in 0..size.units {
            let age = 18.0 * self.even();
            let x = f64::from(u8::from(gamma != 0.0 && self.even() < 0.3));
            let z: f64 = frailty.map_or(1.0, |law| law.sample(self.source()));
            let level = z * (truth.alpha + gamma * x).exp() * 10.0 / beta;
            let gone = |t: f64| level * (t / 10.0).powf(beta);
            let (mut spent, end) = (gone(age), age + size.years);
            let mut failures = Vec::new();
            loop {
                spent -= self.even().ln();
                let at = 10.0 * (spent / level).powf(1.0 / beta);
                if at > end || failures.len() > 5_000 {
                    break;
                }
                failures.push(Failure {
                    part: None,
                    at,
                    between: None,
                });
            }
            rates.push(gone(end + 1.0) - gone(end));
            let x = if gamma == 0.0 { Vec::new() } else { vec![x] };
            histories.push(UnitHistory {
                installed: Installed {
                    earliest: 0.0,
                    latest: 0.0,
                },
                windows: vec![Window {
                    from: age,
                    until: end,
                    x: x.clone(),
                }],
                renewals: Vec::new(),
                failures,
                present: x,
                merged: 0,
                written_off: false,
            });
        }
        Fleet { histories, rates }
    }
}
