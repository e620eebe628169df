//! When to renew a unit that is repaired to "as bad as old", and when to renew at a set age.
//!
//! Power law: expected failures to age t are Λ(t) = (t/θ)^β, intensity λ(t) = (β/θ)(t/θ)^(β−1).
//! θ in years (or any one unit of time), costs in pounds. Sources: Barlow & Hunter, Operations
//! Research 8 (1960) (from memory); Barlow & Proschan, Mathematical Theory of Reliability (1965), ch. 4.
use statrs::function::gamma::{gamma_lr, ln_gamma};

/// A power-law failure process and the two prices it is weighed with.
#[derive(Clone, Copy, Debug)]
pub struct MinimalRepair {
    /// θ: age by which one failure is expected.
    pub theta: f64,
    /// β: shape; above 1 the unit wears.
    pub beta: f64,
    /// Pounds for a renewal.
    pub replace: f64,
    /// Pounds for a repair.
    pub repair: f64,
}

/// An age to renew at, and what that costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BestAge {
    /// T*, in θ's unit of time.
    pub age: f64,
    /// Long-run cost per unit of time, or present value of the endless chain, as the function says.
    pub cost: f64,
}

impl MinimalRepair {
    fn usable(&self) -> bool {
        let positive = [self.theta, self.replace, self.repair]
            .iter()
            .all(|x| x.is_finite() && *x > 0.0);
        positive && self.beta.is_finite() && self.beta > 1.0
    }

    /// T* = θ (replace/(repair (β−1)))^(1/β) and its cost rate (replace + repair Λ(T*))/T*.
    /// `None` when waiting never costs more (β ≤ 1) or an input is not positive.
    pub fn best_age(&self) -> Option<BestAge> {
        if !self.usable() {
            return None;
        }
        let ratio = self.replace / (self.repair * (self.beta - 1.0));
        let age = self.theta * ratio.powf(1.0 / self.beta);
        let cost = (self.replace + self.repair * (age / self.theta).powf(self.beta)) / age;
        Some(BestAge { age, cost })
    }

    /// ∫_0^T e^{−δs} dΛ(s) = Γ(β+1) P(β, δT)/(δθ)^β, P the regularised lower incomplete gamma.
    fn discounted_failures(&self, delta: f64, age: f64) -> f64 {
        let scale = ln_gamma(self.beta + 1.0) - self.beta * (delta * self.theta).ln();
        scale.exp() * gamma_lr(self.beta, delta * age)
    }

    /// The same with δ = ln(1 + rate): T* minimises P(T) = (replace + repair ∫_0^T e^{−δs}dΛ)/(1 − e^{−δT}),
    /// the present value of the endless chain; δP(T*) is its level cost. First-order condition:
    /// repair λ(T)(1 − e^{−δT})/δ = replace + repair ∫_0^T e^{−δs} dΛ(s), whose two sides cross once.
    /// `None` when β ≤ 1, an input or the rate is not positive.
    pub fn best_age_discounted(&self, rate: f64) -> Option<BestAge> {
        if !(self.usable() && rate.is_finite() && rate > 0.0) {
            return None;
        }
        let delta = rate.ln_1p();
        let gain = |age: f64| {
            let intensity = self.beta / self.theta * (age / self.theta).powf(self.beta - 1.0);
            self.repair * intensity * (-(-delta * age).exp_m1()) / delta
                - self.replace
                - self.repair * self.discounted_failures(delta, age)
        };
        let age = root_of_rising(gain, self.best_age()?.age)?;
        let paid = self.replace + self.repair * self.discounted_failures(delta, age);
        let cost = paid / -(-delta * age).exp_m1();
        Some(BestAge { age, cost })
    }
}

/// Age replacement under a Weibull life, S(t) = exp(−(t/η)^β): T* minimises
/// (planned S(T) + failure (1 − S(T)))/∫_0^T S. `None` unless β > 1 and failure > planned > 0.
pub fn best_planned_age(eta: f64, beta: f64, planned: f64, failure: f64) -> Option<BestAge> {
    let ok = [eta, beta, planned, failure].iter().all(|x| x.is_finite());
    if !ok || eta <= 0.0 || beta <= 1.0 || planned <= 0.0 || failure <= planned {
        return None;
    }
    // ∫_0^T S = η Γ(1 + 1/β) P(1/β, (T/η)^β)
    let shape = 1.0 / beta;
    let whole = eta * ln_gamma(1.0 + shape).exp();
    let lived = |age: f64| whole * gamma_lr(shape, (age / eta).powf(beta));
    let failed = |age: f64| -(-(age / eta).powf(beta)).exp_m1();
    let gain = |age: f64| {
        let hazard = beta / eta * (age / eta).powf(beta - 1.0);
        hazard * lived(age) - failed(age) - planned / (failure - planned)
    };
    let age = root_of_rising(gain, eta)?;
    let cost = (planned + (failure - planned) * failed(age)) / lived(age);
    Some(BestAge { age, cost })
}

/// Pooled fit of a power law to systems each seen from 0 to `end`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PooledFit {
    /// β = n/Σ ln(end/t).
    pub beta: f64,
    /// λ = n/(systems × end^β), so that Λ(t) = λ t^β.
    pub lambda: f64,
}

impl PooledFit {
    /// Fits; `None` without events, or with an event outside (0, end), or with all of them at `end`.
    pub fn of(events: &[Vec<f64>], end: f64) -> Option<Self> {
        let times: Vec<f64> = events.iter().flatten().copied().collect();
        let inside = times.iter().all(|t| *t > 0.0 && *t <= end);
        let logs: f64 = times.iter().map(|t| (end / t).ln()).sum();
        if times.is_empty() || !inside || logs <= 0.0 {
            return None;
        }
        let n = times.len() as f64;
        let beta = n / logs;
        let lambda = n / (events.len() as f64 * end.powf(beta));
        Some(Self { beta, lambda })
    }

    /// T* = (ratio/(λ(β−1)))^(1/β) with `ratio` = cost of an overhaul over that of a repair.
    pub fn best_overhaul_age(&self, ratio: f64) -> Option<f64> {
        (self.beta > 1.0 && ratio > 0.0)
            .then(|| (ratio / (self.lambda * (self.beta - 1.0))).powf(1.0 / self.beta))
    }
}

/// Root of an increasing function on (0, ∞) by bracketing from `start` and halving.
fn root_of_rising(f: impl Fn(f64) -> f64, start: f64) -> Option<f64> {
    let (mut low, mut high) = (start, start);
    for _ in 0..200 {
        if f(low) <= 0.0 {
            break;
        }
        low /= 2.0;
    }
    for _ in 0..200 {
        if f(high) >= 0.0 {
            break;
        }
        high *= 2.0;
    }
    let bracketed = f(low) <= 0.0 && f(high) >= 0.0;
    if !bracketed {
        return None;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if f(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::MinimalRepair;

    #[test]
    fn discounted_age_falls_to_the_plain_one_as_the_rate_goes() {
        let unit = MinimalRepair {
            theta: 12.0,
            beta: 2.5,
            replace: 2400.0,
            repair: 250.0,
        };
        let plain = unit.best_age().map(|best| best.age);
        let slow = unit.best_age_discounted(1e-5).map(|best| best.age);
        let near = plain.zip(slow).map(|(a, b)| (a - b).abs());
        assert!(near.is_some_and(|gap| gap < 0.01), "{near:?}");
    }

    #[test]
    fn a_unit_that_does_not_wear_has_no_best_age() {
        let unit = MinimalRepair {
            theta: 12.0,
            beta: 1.0,
            replace: 2400.0,
            repair: 250.0,
        };
        assert_eq!(unit.best_age(), None);
        assert_eq!(unit.best_age_discounted(0.035), None);
    }
}
