//! The predictive mixture: gamma laws of a unit's own rate, negative binomial laws of its next count (FORECAST §4).
use numerics::CountLaw;
use numerics::count::mixture_quantile;
use numerics::special::gamma_mixture_quantile;

use crate::frailty::Posterior;

/// One element of the mixture over parameters and installation dates.
#[derive(Clone, Copy, Debug)]
pub struct Element {
    /// Weight; those of a mixture sum to 1.
    pub weight: f64,
    /// The unit's z at these parameters.
    pub posterior: Posterior,
    /// Failures expected so far at z = 1: what `posterior` knows beside of its write-off is not in it.
    pub usual: f64,
    /// Failures expected ahead at z = 1.
    pub ahead: f64,
}

/// What a mixture says of the time ahead.
#[derive(Clone, Debug, PartialEq)]
pub struct Predictive {
    /// Chance of at least one failure.
    pub chance: f64,
    /// Chances 1 − e^(−L) at the 25 and 75 % points of the unit's own rate L = z m.
    pub chance50: (f64, f64),
    /// The same at the 10 and 90 % points.
    pub chance80: (f64, f64),
    /// Expected number.
    pub expected: f64,
    /// 25 and 75 % points of the number.
    pub count50: (u64, u64),
    /// 10 and 90 % points of the number.
    pub count80: (u64, u64),
}

/// Answers of a mixture whose weights sum to 1.
pub fn predict(elements: &[Element]) -> Predictive {
    let laws: Vec<(f64, CountLaw)> = elements
        .iter()
        .map(|e| (e.weight, e.posterior.next(e.ahead)))
        .collect();
    let rates: Vec<(f64, f64, f64)> = laws
        .iter()
        .map(|(w, law)| {
            // θ = 0 has no spread in z: a shape of 1e12 stands for it.
            let inv_size = law.inv_size.max(1e-12);
            (*w, 1.0 / inv_size, law.mean * inv_size)
        })
        .filter(|(_, _, scale)| *scale > 0.0)
        .collect();
    let chance_at = |p: f64| -(-gamma_mixture_quantile(&rates, p)).exp_m1();
    let chance: f64 = laws.iter().map(|(w, law)| w * law.at_least_one()).sum();
    Predictive {
        chance: chance.min(1.0),
        chance50: (chance_at(0.25), chance_at(0.75)),
        chance80: (chance_at(0.1), chance_at(0.9)),
        expected: laws.iter().map(|(w, law)| w * law.mean).sum(),
        count50: (mixture_quantile(&laws, 0.25), mixture_quantile(&laws, 0.75)),
        count80: (mixture_quantile(&laws, 0.1), mixture_quantile(&laws, 0.9)),
    }
}
