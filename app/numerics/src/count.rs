//! Count laws from overdispersed (negative binomial) to Poisson in one formula, and mixtures of them.
use statrs::function::beta::beta_reg;

use crate::root::brent;
use crate::special::{gamma_upper, ln1p_over};

/// Below this mean a quantile is found by adding probabilities up; above, by bisection on the distribution function.
const SUMMED: f64 = 20_000.0;

/// Negative binomial with the given mean and size k = 1 / `inv_size`; `inv_size` 0 is the Poisson law.
///
/// ln P(0) = −mean · ln1p(mean/k)/(mean/k); P(j)/P(j−1) = mean/(1 + mean/k) · (1 + (j−1)/k)/j.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountLaw {
    /// Expected count, ≥ 0.
    pub mean: f64,
    /// Reciprocal of the size (shape) parameter, ≥ 0.
    pub inv_size: f64,
}

impl CountLaw {
    /// The law of this mean that gives this chance to "at least one": with x = mean/k it solves
    /// ln1p(x)/x = −ln(1 − chance)/mean. A mixture of such laws has never less chance of none than the Poisson law of
    /// its mean, so that it always has one; a greater chance than Poisson's gives the Poisson law.
    pub fn meeting(mean: f64, chance: f64) -> Self {
        let share = -(-chance).ln_1p() / mean;
        let ln_x = brent(-40.0, 80.0, |ln_x| ln1p_over(ln_x.exp()) - share);
        let inv_size = match ln_x {
            Some(ln_x) if mean > 0.0 && share < 1.0 => ln_x.exp() / mean,
            _ => 0.0,
        };
        Self { mean, inv_size }
    }

    /// ln of the chance of no event.
    pub fn ln_none(&self) -> f64 {
        -self.mean * ln1p_over(self.mean * self.inv_size)
    }

    /// Chance of at least one event.
    pub fn at_least_one(&self) -> f64 {
        -self.ln_none().exp_m1()
    }

    /// Variance mean · (1 + mean/k).
    pub fn variance(&self) -> f64 {
        self.mean * (1.0 + self.mean * self.inv_size)
    }

    /// ln P(j) for j = 0, 1, 2, … without end.
    pub fn ln_chances(&self) -> impl Iterator<Item = f64> + use<> {
        let q = self.mean / (1.0 + self.mean * self.inv_size);
        let inv_size = self.inv_size;
        let mut ln_p = self.ln_none();
        let mut j = 0.0_f64;
        std::iter::from_fn(move || {
            let answer = ln_p;
            ln_p += (q * j.mul_add(inv_size, 1.0) / (j + 1.0)).ln();
            j += 1.0;
            Some(answer)
        })
    }

    /// ln P(count).
    pub fn ln_chance(&self, count: u64) -> f64 {
        self.ln_chances()
            .nth(count as usize)
            .unwrap_or(f64::NEG_INFINITY)
    }

    /// P(N ≤ j).
    pub fn cdf(&self, j: f64) -> f64 {
        if j < 0.0 {
            return 0.0;
        }
        if self.mean <= 0.0 {
            return 1.0;
        }
        if self.inv_size < 1e-12 {
            return gamma_upper(j.floor() + 1.0, self.mean);
        }
        beta_reg(
            1.0 / self.inv_size,
            j.floor() + 1.0,
            1.0 / (1.0 + self.mean * self.inv_size),
        )
    }

    /// Smallest whole j with P(N ≤ j) ≥ q, 0 < q < 1.
    pub fn quantile(&self, q: f64) -> u64 {
        mixture_quantile(&[(1.0, *self)], q)
    }
}

/// Smallest whole j with P(N ≤ j) ≥ q for the mixture of count laws with weights summing to 1.
pub fn mixture_quantile(laws: &[(f64, CountLaw)], q: f64) -> u64 {
    let largest = laws.iter().map(|(_, law)| law.mean).fold(0.0, f64::max);
    if largest < SUMMED {
        let top = 100 + (largest * 50.0) as usize;
        let mut series: Vec<_> = laws.iter().map(|(w, law)| (*w, law.ln_chances())).collect();
        let mut sum = 0.0;
        for j in 0..top {
            sum += series
                .iter_mut()
                .map(|(weight, chances)| *weight * chances.next().map_or(0.0, f64::exp))
                .sum::<f64>();
            if sum >= q * (1.0 - 1e-14) {
                return j as u64;
            }
        }
    }
    let cdf = |j: f64| laws.iter().map(|(w, law)| w * law.cdf(j)).sum::<f64>();
    let (mut low, mut high) = (-1.0, 1.0);
    while cdf(high) < q && high < 1e15 {
        low = high;
        high *= 2.0;
    }
    while high - low > 1.0 {
        let middle = f64::midpoint(low, high).floor();
        if cdf(middle) < q {
            low = middle;
        } else {
            high = middle;
        }
    }
    high as u64
}

/// Probabilities of 0, 1, 2, … up to the place where all but `tail` of the mass is spent.
pub fn chances_until(law: &CountLaw, tail: f64) -> Vec<f64> {
    let limit = 64 + (law.mean + 40.0 * law.variance().sqrt()) as usize;
    let mut sum = 0.0;
    let mut chances = Vec::new();
    for ln_p in law.ln_chances().take(limit) {
        chances.push(ln_p.exp());
        sum += ln_p.exp();
        if sum >= 1.0 - tail {
            break;
        }
    }
    chances
}

/// Distribution of the sum of two independent counts, its far tail (below `tail`) cut off.
pub fn convolve(a: &[f64], b: &[f64], tail: f64) -> Vec<f64> {
    let mut sum = vec![0.0; (a.len() + b.len()).saturating_sub(1)];
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            sum[i + j] += x * y;
        }
    }
    let mut spent = 0.0;
    let keep = sum
        .iter()
        .position(|p| {
            spent += p;
            spent >= 1.0 - tail
        })
        .map_or(sum.len(), |i| i + 1);
    sum.truncate(keep);
    sum
}

/// Smallest j whose running sum of `chances` reaches q.
pub fn table_quantile(chances: &[f64], q: f64) -> u64 {
    let mut sum = 0.0;
    for (j, p) in chances.iter().enumerate() {
        sum += p;
        if sum >= q * (1.0 - 1e-14) {
            return j as u64;
        }
    }
    chances.len().saturating_sub(1) as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn poisson_is_the_limit() {
        let poisson = CountLaw {
            mean: 3.2,
            inv_size: 0.0,
        };
        let near = CountLaw {
            mean: 3.2,
            inv_size: 1e-13,
        };
        for j in 0..20 {
            assert!((poisson.ln_chance(j) - near.ln_chance(j)).abs() < 1e-9);
        }
        assert!(
            (poisson.cdf(4.0) - (0..=4).map(|j| poisson.ln_chance(j).exp()).sum::<f64>()).abs()
                < 1e-14
        );
    }

    #[test]
    fn a_law_is_found_again_from_its_mean_and_its_chance() {
        for (mean, inv_size) in [(0.02, 3.0), (0.3, 0.5), (4.0, 0.05), (0.7, 0.0)] {
            let law = CountLaw { mean, inv_size };
            let again = CountLaw::meeting(mean, law.at_least_one());
            assert!((again.inv_size - inv_size).abs() < 1e-6 * (1.0 + inv_size));
        }
        let nothing = CountLaw::meeting(0.0, 0.0);
        assert_eq!((nothing.mean, nothing.inv_size), (0.0, 0.0));
        assert_eq!(
            CountLaw::meeting(0.1, 0.5).inv_size,
            0.0,
            "more than Poisson can give"
        );
    }

    #[test]
    fn both_ways_to_a_quantile_agree() {
        for (mean, inv_size) in [(0.2, 0.6), (14.0, 0.05), (900.0, 2.0), (15_000.0, 1e-4)] {
            let law = CountLaw { mean, inv_size };
            for q in [0.05, 0.5, 0.95] {
                let j = law.quantile(q) as f64;
                assert!(
                    law.cdf(j) >= q - 1e-9 && law.cdf(j - 1.0) < q + 1e-9,
                    "{mean} {inv_size} {q}"
                );
            }
        }
    }
}
