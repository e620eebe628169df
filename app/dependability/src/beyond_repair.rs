//! The share φ of failures that are beyond repair, with its doubt.
//!
//! Of a kind: φ is believed to be about s, as firmly as if b failures had been met: gamma of shape s b and rate b. Met since
//! with w units written off over n failures, it is gamma of shape s b + w and rate b + n (Poisson counts with a gamma prior;
//! Gelman and others, Bayesian Data Analysis, 3rd edition, §2.6, from memory): mean (s b + w)/(b + n).
//!
//! Of one unit: where enough of its kind were written off to tell how long units stay ([`crate::kind_life`]), its forecast
//! says with what chance P it is written off within 12 months. With m failures expected in them, φ = −ln(1 − P)/m, so that the
//! chance of being lost in that year, 1 − e^(−φ m), is P. Never above 1: a unit is beyond repair by a failure, so a
//! life that is thought to be over says nothing of a unit that is not expected to fail.
use crate::frailty::Posterior;

/// A share of failures from 0 to 1, with the ends of its 80 % range around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeyondRepair {
    /// Mean.
    pub share: f64,
    /// 1 case in 10 lies below.
    pub low: f64,
    /// 1 case in 10 lies above.
    pub high: f64,
}

impl BeyondRepair {
    fn within(share: f64, low: f64, high: f64) -> Self {
        let share = share.clamp(0.0, 1.0);
        Self {
            share,
            low: low.clamp(0.0, share),
            high: high.clamp(share, 1.0),
        }
    }

    /// Of a kind: believed `share` as firmly as `counts_as` failures, met with `written_off` units over `failures`. `None` for
    /// beliefs that cannot be meant.
    pub fn of_kind(
        (share, counts_as): (f64, f64),
        (written_off, failures): (u32, u32),
    ) -> Option<Self> {
        let sound = (0.0..=1.0).contains(&share) && share > 0.0;
        if !(sound && counts_as.is_finite() && counts_as > 0.0) {
            return None;
        }
        // φ = s z, z gamma around 1 with 1/θ = s b, met n s times as expected.
        let z = Posterior {
            theta: 1.0 / (share * counts_as),
            n: f64::from(written_off),
            mu: share * f64::from(failures),
        };
        Some(Self::within(
            share * z.mean(),
            share * z.quantile(0.1),
            share * z.quantile(0.9),
        ))
    }

    /// Of one unit: written off within 12 months with this chance (and the ends of its 80 % range), over which so many
    /// failures are expected. `None` where none are, or the chance cannot be meant.
    pub fn of_unit((chance, low, high): (f64, f64, f64), expected: f64) -> Option<Self> {
        let sound = [chance, low, high].iter().all(|p| (0.0..1.0).contains(p));
        if !(sound && expected.is_finite() && expected > 0.0) {
            return None;
        }
        let share = |p: f64| -(-p).ln_1p() / expected;
        Some(Self::within(share(chance), share(low), share(high)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-6, "{a} for {b}");
    }

    /// Believed 3 in 100 as firmly as 100 failures: gamma of shape 3. Met 17 over 300 since: (3 + 17)/(100 + 300) = 0.05. A
    /// gamma of shape 1 is exponential: its 10 % and 90 % points are 0.105361 and 2.302585 times its mean (arithmetic).
    #[test]
    fn a_kind_by_hand() {
        let told = BeyondRepair::of_kind((0.03, 100.0), (17, 300)).unwrap();
        near(told.share, 0.05);
        assert!(told.low < 0.05 && 0.05 < told.high);
        let before = BeyondRepair::of_kind((0.025, 40.0), (0, 0)).unwrap();
        near(before.share, 0.025);
        near(before.low, 0.025 * 0.105_360_516);
        near(before.high, 0.025 * std::f64::consts::LN_10);
        // Every failure ended one: a share all the same.
        let all = BeyondRepair::of_kind((0.5, 2.0), (90, 10)).unwrap();
        assert_eq!((all.share, all.high), (1.0, 1.0));
        for bad in [(0.0, 30.0), (1.5, 30.0), (f64::NAN, 30.0), (0.03, 0.0)] {
            assert_eq!(BeyondRepair::of_kind(bad, (1, 10)), None, "{bad:?}");
        }
    }

    /// 1 − e^(−φ m) gives the chance back: −ln(0.92)/0.4 = 0.208454 (arithmetic).
    #[test]
    fn a_unit_by_hand() {
        let told = BeyondRepair::of_unit((0.08, 0.03, 0.15), 0.4).unwrap();
        near(told.share, 0.208_454);
        near(-(-told.share * 0.4).exp_m1(), 0.08);
        assert!(told.low < told.share && told.share < told.high);
        // Hardly expected to fail, its life thought to be over: no more is lost than fails.
        let still = BeyondRepair::of_unit((0.3, 0.2, 0.4), 0.05).unwrap();
        assert_eq!(still.share, 1.0);
        for (chance, expected) in [((1.0, 0.5, 1.0), 0.4), ((0.1, 0.0, 0.2), 0.0)] {
            assert_eq!(BeyondRepair::of_unit(chance, expected), None);
        }
    }
}
