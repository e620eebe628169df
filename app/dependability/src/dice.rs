//! Seeded draws for simulations and resampling: the same seed gives the same answer, so that a page does not flicker.
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};

/// A generator with its seed passed in.
#[derive(Clone, Debug)]
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Even on [0, 1).
    pub fn even(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even on 0..below; 0 when there is nothing to choose.
    pub fn below(&mut self, below: usize) -> usize {
        ((u128::from(self.0.next_u64()) * below as u128) >> 64) as usize
    }

    /// Poisson; 0 where the mean is not a positive finite number.
    pub fn poisson(&mut self, mean: f64) -> u64 {
        Poisson::new(mean).map_or(0, |law| {
            let drawn: f64 = law.sample(&mut self.0);
            drawn as u64
        })
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    /// Gamma of mean 1 and this variance; 1 where the variance is not a positive finite number.
    pub fn frailty(&mut self, variance: f64) -> f64 {
        Gamma::new(1.0 / variance, variance).map_or(1.0, |law| law.sample(&mut self.0))
    }
}
