//! The gamma-frailty unit term and the closed-form posterior of a unit's hidden multiplier z.
//!
//! φ(n, μ, θ) = Σ_{k=1}^{n−1} ln(1 + kθ) − (n + 1/θ) ln(1 + θμ); θ = 0: −μ. Adding Σ ln h(t_j) gives the unit's
//! log-likelihood, FORECAST §2 equation (1). Everything is written in θ, never in 1/θ, so that θ → 0 needs no threshold.
use numerics::Local;
use numerics::special::{gamma_quantile, ln1p_over};

/// Prefix sums over k of ln(1 + kθ), k/(1 + kθ) and k²/(1 + kθ)², so that many units cost one table.
#[derive(Clone, Debug)]
pub struct CountTable {
    theta: f64,
    sums: Vec<[f64; 3]>,
}

impl CountTable {
    /// Table for counts up to `most`.
    pub fn new(theta: f64, most: u32) -> Self {
        let mut sums = vec![[0.0; 3]; most as usize + 1];
        for n in 2..=most as usize {
            let k = (n - 1) as f64;
            let ratio = k / k.mul_add(theta, 1.0);
            let before = sums[n - 1];
            sums[n] = [
                before[0] + (k * theta).ln_1p(),
                before[1] + ratio,
                before[2] + ratio * ratio,
            ];
        }
        Self { theta, sums }
    }

    /// φ and its derivatives for a unit with `n` failures where `mu` were expected.
    pub fn term(&self, n: u32, mu: f64) -> UnitTerm {
        let theta = self.theta;
        let [ln_sum, slope_sum, bend_sum] =
            self.sums.get(n as usize).copied().unwrap_or([f64::NAN; 3]);
        let n = f64::from(n);
        let x = theta * mu;
        let grown = 1.0 + x;
        let z = (1.0 + n * theta) / grown;
        let value = ln_sum - n * x.ln_1p() - mu * ln1p_over(x);
        let log_part = if x < 1e-4 {
            mu * mu * (0.5 - 2.0 * x / 3.0 + 0.75 * x * x - 0.8 * x.powi(3))
        } else {
            (x.ln_1p() - x / grown) / (theta * theta)
        };
        let d_theta = slope_sum + log_part - n * mu / grown;
        let rest = if x < 1e-3 {
            n * (mu / grown).powi(2) - mu.powi(3) * (2.0 / 3.0 - 1.5 * x + 2.4 * x * x)
        } else {
            -2.0 * x.ln_1p() / theta.powi(3)
                + 2.0 * mu / (theta * theta * grown)
                + (n + 1.0 / theta) * (mu / grown).powi(2)
        };
        UnitTerm {
            value,
            d_mu: -z,
            d_theta,
            d_mu_mu: z * theta / grown,
            d_mu_theta: -(n - mu) / (grown * grown),
            d_theta_theta: rest - bend_sum,
        }
    }
}

impl UnitTerm {
    /// φ carried through the derivatives of μ and θ.
    pub fn jet(&self, mu: &Local, theta: &Local) -> Local {
        let second = [self.d_mu_mu, self.d_mu_theta, self.d_theta_theta];
        mu.with(
            theta,
            [
                self.value,
                self.d_mu,
                self.d_theta,
                second[0],
                second[1],
                second[2],
            ],
        )
    }
}

/// φ and its derivatives in μ and θ.
#[derive(Clone, Copy, Debug)]
pub struct UnitTerm {
    /// φ.
    pub value: f64,
    /// dφ/dμ = −ẑ.
    pub d_mu: f64,
    /// dφ/dθ.
    pub d_theta: f64,
    /// d²φ/dμ².
    pub d_mu_mu: f64,
    /// d²φ/dμdθ.
    pub d_mu_theta: f64,
    /// d²φ/dθ².
    pub d_theta_theta: f64,
}

/// A unit's z given its history: Gamma(shape 1/θ + n, rate 1/θ + μ), mean (1 + nθ)/(1 + θμ).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Posterior {
    /// θ ≥ 0.
    pub theta: f64,
    /// Failures seen.
    pub n: f64,
    /// Failures expected at z = 1.
    pub mu: f64,
}

impl Posterior {
    /// Mean of z; 1 at θ = 0.
    pub fn mean(&self) -> f64 {
        (1.0 + self.n * self.theta) / (1.0 + self.theta * self.mu)
    }

    /// Standard deviation of z.
    pub fn sd(&self) -> f64 {
        (self.theta * (1.0 + self.n * self.theta)).sqrt() / (1.0 + self.theta * self.mu)
    }

    /// Quantile of z at 0 < p < 1; 1 where θ is too small to tell z from 1.
    pub fn quantile(&self, p: f64) -> f64 {
        if self.theta < 1e-14 {
            return 1.0;
        }
        let shape = self.n + 1.0 / self.theta;
        self.theta * gamma_quantile(shape, p) / (1.0 + self.theta * self.mu)
    }

    /// 1/(1/θ + n), the reciprocal size of the next count; 0 at θ = 0.
    pub fn inv_size(&self) -> f64 {
        self.theta / (1.0 + self.n * self.theta)
    }

    /// Law of the next count when `ahead` failures are expected at z = 1.
    pub fn next(&self, ahead: f64) -> numerics::CountLaw {
        numerics::CountLaw {
            mean: self.mean() * ahead,
            inv_size: self.inv_size(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_meet_differences() {
        for (n, mu, theta) in [
            (0, 0.4, 0.5),
            (3, 0.7, 0.6),
            (12, 20.0, 0.03),
            (1, 1e-3, 0.02),
            (2, 5.0, 1e-5),
        ] {
            let h = theta * 1e-4;
            let (up, mid, down) = (
                CountTable::new(theta + h, 20).term(n, mu),
                CountTable::new(theta, 20).term(n, mu),
                CountTable::new(theta - h, 20).term(n, mu),
            );
            let near = |a: f64, b: f64| (a - b).abs() < 1e-4 * (1.0 + b.abs());
            assert!(
                near(mid.d_theta, (up.value - down.value) / (2.0 * h)),
                "{n} {mu} {theta}"
            );
            assert!(
                near(mid.d_theta_theta, (up.d_theta - down.d_theta) / (2.0 * h)),
                "{n} {mu} {theta}"
            );
            assert!(
                near(mid.d_mu_theta, (up.d_mu - down.d_mu) / (2.0 * h)),
                "{n} {mu} {theta}"
            );
        }
    }

    #[test]
    fn three_faults_on_an_expected_seven_tenths_is_about_twice() {
        // FORECAST §9: theta 0.6 gives 1.97, not 4.3.
        let z = Posterior {
            theta: 0.6,
            n: 3.0,
            mu: 0.7,
        }
        .mean();
        assert!((z - 1.97).abs() < 0.005);
    }

    #[test]
    fn vanishing_theta_is_poisson() {
        let poisson = CountTable::new(0.0, 5).term(4, 2.5);
        let near = CountTable::new(1e-12, 5).term(4, 2.5);
        assert_eq!(poisson.value, -2.5);
        assert!(
            (near.value - poisson.value).abs() < 1e-9
                && (near.d_theta - poisson.d_theta).abs() < 1e-9
        );
        // Score at theta 0: ((n − mu)² − n)/2.
        assert!((poisson.d_theta - ((4.0_f64 - 2.5).powi(2) - 4.0) / 2.0).abs() < 1e-12);
    }
}
