//! A unit's doubt, parted into what it shares with others and what is its own.
use crate::frailty::Posterior;
use crate::standing::Factor;

/// 10 and 90 % points of a normal law lie so many standard deviations from its mean.
const TENTH: f64 = 1.2816;

/// What a unit's forecast leaves open of its rate, in three independent factors of mean 1.
///
/// The rate is L = z m: z, given the record and the parameters, is Gamma of CV² v_p = θ/(1 + nθ) and nobody else's; the
/// rest, m with the parameters and the building's effect in it, all units of the kind there share. With v the CV² of L
/// as the forecast has it, independent factors give
///
/// (1 + v) = (1 + v_p) exp(s²), so that s² = ln((1 + v)/(1 + v_p)) is the variance of the shared part on the log scale.
///
/// Of it the building's share is s_b = sd(e)/(1 + θμ), at most s: a unit's own record of n failures where μ were expected
/// moves against the effect, d ln(ẑ m)/de = 1 − θμ/(1 + θμ). The kind has what is left, s_k² = s² − s_b². sd(e) is taken
/// from the 80 % range of exp(e). A doubtful date of installation is private and counted with the shared part, which
/// makes the rare winters rather worse than better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// CV² of what is the unit's own.
    pub own: f64,
    /// Standard deviation of ln rate shared with the kind's units in the building.
    pub building: f64,
    /// Standard deviation of ln rate shared with all units of the kind.
    pub kind: f64,
}

impl Doubt {
    /// Parts the CV² of a unit's rate, given its z and its building's factor.
    pub fn of(whole: f64, z: &Posterior, building: Option<Factor>) -> Self {
        // A mixture may be fitted by a law a little narrower than z alone: then nothing is left to share.
        let own = z.inv_size().min(whole);
        let shared = ((1.0 + whole) / (1.0 + own)).ln().max(0.0);
        let effect = building.map_or(0.0, |f| (f.high / f.low).ln() / (2.0 * TENTH));
        let felt = effect / (1.0 + z.theta * z.mu);
        let here = if felt.is_finite() {
            felt.powi(2).clamp(0.0, shared)
        } else {
            0.0
        };
        Self {
            own,
            building: here.sqrt(),
            kind: (shared - here).sqrt(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn z() -> Posterior {
        Posterior {
            theta: 0.5,
            n: 2.0,
            mu: 1.0,
        }
    }

    #[test]
    fn the_parts_make_the_whole() {
        let factor = Factor {
            mean: 1.0,
            low: (-0.4 * TENTH).exp(),
            high: (0.4 * TENTH).exp(),
        };
        let parts = Doubt::of(0.6, &z(), Some(factor));
        // θ/(1 + nθ) = 0.25; s_b = 0.4/1.5.
        assert!((parts.own - 0.25).abs() < 1e-12 && (parts.building - 0.4 / 1.5).abs() < 1e-12);
        let shared = (parts.building.powi(2) + parts.kind.powi(2)).exp();
        assert!(((1.0 + parts.own) * shared - 1.6).abs() < 1e-12);
    }

    #[test]
    fn a_building_has_no_more_than_what_is_shared_and_a_narrow_law_shares_nothing() {
        let wide = Factor {
            mean: 1.0,
            low: 0.01,
            high: 100.0,
        };
        let parts = Doubt::of(0.3, &z(), Some(wide));
        assert!(parts.kind == 0.0 && (parts.building.powi(2).exp() * 1.25 - 1.3).abs() < 1e-12);
        let narrow = Doubt::of(0.1, &z(), Some(wide));
        assert_eq!((narrow.own, narrow.building, narrow.kind), (0.1, 0.0, 0.0));
        let none = Factor { low: 0.0, ..wide };
        assert_eq!(Doubt::of(0.3, &z(), Some(none)).building, 0.0);
    }
}
