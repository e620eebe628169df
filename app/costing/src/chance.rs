//! The chance that replacing now turns out cheaper, exactly rather than by drawing cases.
//!
//! X = advantage + (D_old − E D_old) − (D_new − E D_new). Each D is a sum of discounted failure costs;
//! the yearly counts are Poisson, the old unit's under one common gamma multiplier (mean 1, variance s).
//! With m_i expected failures of year i, d_i its discount and φ_c the characteristic function of one
//! failure's cost, ψ(t) = Σ m_i (φ_c(d_i t) − 1), and
//! φ_old(t) = (1 − s ψ_old(t))^(−1/s) (exp ψ_old when s = 0), φ_new(t) = exp ψ_new(t).
//! φ_c(t) = (1 − i t μ cv²)^(−1/cv²) · (1 − p + p e^(i t premium)) · e^(i t disruption), a fixed cost in
//! warranty e^(i t cost). The chance follows by Davies' inversion on a grid of half steps (Biometrika
//! 60 (1973) 415–417, from memory), the case of no failure at all being taken out and counted exactly,
//! and the rest smoothed by a kernel narrow enough that halving it no longer matters. How the transform is had on the grid
//! say `waves` and `psi`.
use crate::amounts::FaultCost;
use crate::waves::Waves;

/// What one failure costs, as a law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CostLaw {
    /// Always the same: excess and disruption in warranty.
    Fixed(f64),
    /// Gamma repair, premium by chance, disruption.
    Drawn(FaultCost),
}

impl CostLaw {
    /// Expected cost, pounds.
    pub fn mean(&self) -> f64 {
        match self {
            Self::Fixed(cost) => *cost,
            Self::Drawn(cost) => cost.mean(),
        }
    }

    /// Expected squared cost, pounds².
    pub fn mean_square(&self) -> f64 {
        match self {
            Self::Fixed(cost) => cost * cost,
            Self::Drawn(cost) => cost.mean_square(),
        }
    }
}

/// The failures of one year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct YearOfFailures {
    /// m_i, expected number.
    pub expected: f64,
    /// d_i, worth today of a pound then.
    pub discount: f64,
    /// What each costs.
    pub law: CostLaw,
}

/// The discounted failure costs of one course.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FailureCosts {
    /// Year by year.
    pub years: Vec<YearOfFailures>,
    /// s, variance of the multiplier common to all years.
    pub frailty_var: f64,
}

impl FailureCosts {
    /// Σ d_i m_i c.
    pub fn mean(&self) -> f64 {
        self.years
            .iter()
            .map(|y| y.discount * y.expected * y.law.mean())
            .sum()
    }

    /// Σ d_i² m_i E[c²] + s (Σ d_i m_i c)².
    pub fn variance(&self) -> f64 {
        let own: f64 = self
            .years
            .iter()
            .map(|y| y.discount.powi(2) * y.expected * y.law.mean_square())
            .sum();
        own + self.frailty_var * self.mean().powi(2)
    }

    /// Years that can add anything.
    pub(crate) fn telling(&self) -> impl Iterator<Item = &YearOfFailures> {
        self.years
            .iter()
            .filter(|y| y.expected > 0.0 && y.law.mean() > 0.0)
    }

    /// Chance that nothing is added at all.
    pub fn nothing(&self) -> f64 {
        let expected: f64 = self.telling().map(|y| y.expected).sum();
        if self.frailty_var > 0.0 {
            (-(self.frailty_var * expected).ln_1p() / self.frailty_var).exp()
        } else {
            (-expected).exp()
        }
    }

    /// The largest of mean plus standard deviation of one failure's discounted cost.
    fn largest(&self) -> f64 {
        self.telling()
            .map(|y| {
                let (mean, square) = (y.law.mean(), y.law.mean_square());
                y.discount * (mean + (square - mean * mean).max(0.0).sqrt())
            })
            .fold(0.0, f64::max)
    }
}

/// P(X > 0) for X = advantage + (old − E old) − (new − E new).
pub fn chance_above_nought(advantage: f64, old: &FailureCosts, new: &FailureCosts) -> f64 {
    // X > 0 where Y = D_old − D_new exceeds this:
    let bar = old.mean() - new.mean() - advantage;
    let nothing = old.nothing() * new.nothing();
    let exact = if 0.0 > bar { nothing } else { 0.0 };
    let left = 1.0 - nothing;
    if left < 1e-9 {
        return exact;
    }
    let deviation = (old.variance() + new.variance()).sqrt();
    let largest = old.largest().max(new.largest());
    let span = (advantage.abs() + 25.0 * deviation + 12.0 * largest).max(f64::MIN_POSITIVE);
    if advantage.abs() > 40.0 * deviation + 40.0 * largest {
        // Further out than any sum of failures reaches with a chance worth showing.
        return if advantage > 0.0 { 1.0 } else { 0.0 };
    }
    // A wide kernel first: most laws are smooth enough for it, and it needs the fewest waves.
    let mut width = deviation.max(largest) / 50.0;
    let mut waves = Waves::new(old, new, (nothing, span));
    for attempt in 0..4 {
        let seen = waves.around(bar, width);
        // A lump at the bar itself fills both windows alike; a smooth law fills them 1 : 2.
        let lump = 2.0 * seen.within_5 - seen.within_10;
        if (seen.narrow - seen.wide).abs() < 3e-4 && lump.abs() < 1e-3 {
            return (exact + seen.narrow).clamp(0.0, 1.0);
        }
        if attempt == 3 {
            // Equal costs are not cheaper: what lies on the bar does not count.
            let past = waves.around(bar + 5.0 * width, width);
            return (exact + past.narrow).clamp(0.0, 1.0);
        }
        width /= 4.0;
    }
    exact
}
