//! n needed of N fitted: how often too few units are left to feed a branch, with a stated share of failures that take all
//! of them at once.
//!
//! Unit i fails at rate λ_i; a share c of failures has a common cause (β-factor model of IEC 61508-6, annex D, from memory),
//! so that alone it fails at λ_i(1 − c) and all fail together at c times the mean rate. Each failure lasts R. With a_i = 1/(1 +
//! λ_i(1 − c)R) the chance that unit i runs, the branch is lost
//!
//! ν = Σ_i λ_i(1 − c) a_i P(exactly n − 1 of the others run) + c λ̄ P(at least n run)
//!
//! times a year: the frequency with which a steady system of independently repaired units leaves the state "at least n run".
use numerics::draws::antithetic_normals;
use numerics::special::normal_cdf;
use serde::{Deserialize, Serialize};

use crate::forecast::Horizon;
use crate::history::UnitHistory;
use crate::kind_fit::KindFit;
use crate::prepared::Prepared;
use crate::prior::{InputError, KindPrior, within};
use crate::standing::Standing;

/// What a branch needs of its feeders.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Need {
    /// Units needed at once.
    pub needed: usize,
    /// Share of failures that take all feeders at once, 0 to 1.
    pub common: f64,
    /// How long a failed unit stands still, years.
    pub repair: f64,
}

/// One unit that feeds the branch.
#[derive(Clone, Copy, Debug)]
pub struct Feeder<'a> {
    /// Prior of its kind.
    pub prior: &'a KindPrior,
    /// Its kind's fit.
    pub fit: &'a KindFit,
    /// Its history.
    pub history: &'a UnitHistory,
    /// Where it stands.
    pub standing: &'a Standing,
}

/// How likely the branch is lost over a horizon.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Loss {
    /// Chance of at least one loss.
    pub chance: f64,
    /// 80 % interval of that chance, the doubt of parameters and of each unit's own rate in it.
    pub chance80: (f64, f64),
    /// Share of the losses that come of a common cause.
    pub by_common: f64,
}

/// Losses a year from the units' own part and from common causes, for rates a year.
pub fn losses_a_year(rates: &[f64], need: Need) -> (f64, f64) {
    if need.needed == 0 || need.needed > rates.len() {
        return (0.0, 0.0);
    }
    let own: Vec<f64> = rates.iter().map(|r| r * (1.0 - need.common)).collect();
    let runs: Vec<f64> = own.iter().map(|r| 1.0 / (1.0 + r * need.repair)).collect();
    let alone = (0..own.len())
        .map(|i| {
            let others: Vec<f64> = (0..runs.len())
                .filter(|j| *j != i)
                .map(|j| runs[j])
                .collect();
            own[i] * runs[i] * running(&others)[need.needed - 1]
        })
        .sum();
    let enough: f64 = running(&runs)[need.needed..].iter().sum();
    let mean = rates.iter().sum::<f64>() / rates.len() as f64;
    (alone, need.common * mean * enough)
}

/// Chances that exactly 0, 1, … of the units run.
pub(crate) fn running(runs: &[f64]) -> Vec<f64> {
    let mut law = vec![1.0];
    for a in runs {
        let mut next = vec![0.0; law.len() + 1];
        for (k, p) in law.iter().enumerate() {
            next[k] += p * (1.0 - a);
            next[k + 1] += p * a;
        }
        law = next;
    }
    law
}

/// The chance that the branch is lost within the horizon: the mean over 64 draws, in each of which every unit's own rate
/// is drawn once.
///
/// # Errors
/// A need that cannot be meant; as [`crate::forecast()`].
pub fn loss(feeders: &[Feeder<'_>], need: Need, horizon: &Horizon) -> Result<Loss, InputError> {
    within(
        "units needed",
        need.needed as f64,
        1.0,
        feeders.len() as f64,
    )?;
    within("share of common causes", need.common, 0.0, 1.0)?;
    within("time to repair", need.repair, 0.0, 10.0)?;
    let years = horizon.years();
    within("horizon", years, 1e-3, 100.0)?;
    let mut rates: Vec<Vec<f64>> = Vec::new();
    for (place, feeder) in feeders.iter().enumerate() {
        rates.push(rates_of(feeder, (place, feeders.len()), horizon)?);
    }
    let draws = rates.first().map_or(0, Vec::len);
    let (mut chances, mut alone, mut common) = (Vec::new(), 0.0, 0.0);
    for draw in 0..draws {
        let here: Vec<f64> = rates.iter().map(|r| r[draw]).collect();
        let (a, c) = losses_a_year(&here, need);
        alone += a;
        common += c;
        chances.push(-(-(a + c) * years).exp_m1());
    }
    let mean = chances.iter().sum::<f64>() / chances.len().max(1) as f64;
    chances.sort_by(f64::total_cmp);
    let at = |q: f64| {
        let place = (q * chances.len() as f64) as usize;
        chances.get(place).copied().unwrap_or(mean)
    };
    Ok(Loss {
        chance: mean,
        chance80: (at(0.1), at(0.9)),
        by_common: if alone + common > 0.0 {
            common / (alone + common)
        } else {
            0.0
        },
    })
}

/// A unit's own failures a year, once in each draw.
pub(crate) fn rates_of(
    feeder: &Feeder<'_>,
    (place, of): (usize, usize),
    horizon: &Horizon,
) -> Result<Vec<f64>, InputError> {
    let unit = Prepared::new(feeder.prior, feeder.fit, feeder.history)?;
    let base = unit.ahead(horizon);
    let draws = &feeder.standing.draws;
    let normals = antithetic_normals(of, draws.len() / 2);
    let rate = |(i, p): (usize, &Vec<f64>)| {
        // The order is turned so that a unit's own draw does not go along with the parameters'.
        let normal = &normals[(27 * i + 13) % normals.len()];
        let q = normal_cdf(normal[place]).clamp(1e-6, 1.0 - 1e-6);
        let elements = unit.elements_with(horizon, &base, p).into_iter();
        elements
            .map(|e| e.weight * e.posterior.quantile(q) * e.ahead)
            .sum::<f64>()
            / horizon.years()
    };
    Ok(draws.iter().enumerate().map(rate).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    fn need(needed: usize, common: f64) -> Need {
        Need {
            needed,
            common,
            repair: 0.1,
        }
    }

    /// Against the balance equations of the chain "k of N alike run", solved as a linear system.
    #[test]
    fn alike_units_meet_the_balance_equations() {
        let (rate, mend) = (2.0, 10.0);
        for (n, needed) in [(1, 1), (2, 1), (3, 2), (4, 2), (5, 5)] {
            // Down with k: rate k, up with n − k: mend (n − k).
            let mut q = DMatrix::<f64>::zeros(n + 1, n + 1);
            for k in 0..=n {
                let (down, up) = (rate * k as f64, mend * (n - k) as f64);
                q[(k, k)] -= down + up;
                if k > 0 {
                    q[(k - 1, k)] += down;
                }
                if k < n {
                    q[(k + 1, k)] += up;
                }
            }
            q.row_mut(0).fill(1.0);
            let mut right = DVector::zeros(n + 1);
            right[0] = 1.0;
            let steady = q.lu().solve(&right).unwrap();
            let wanted = steady[needed] * rate * needed as f64;
            let (alone, common) = losses_a_year(&vec![rate; n], need(needed, 0.0));
            assert!((alone - wanted).abs() < 1e-12, "{needed} of {n}");
            assert_eq!(common, 0.0);
        }
    }

    #[test]
    fn one_of_one_fails_as_its_unit_whatever_the_common_share() {
        for c in [0.0, 0.1, 1.0] {
            let need = Need {
                repair: 0.0,
                ..need(1, c)
            };
            let (alone, common) = losses_a_year(&[0.3], need);
            assert!((alone + common - 0.3).abs() < 1e-12);
        }
        assert_eq!(losses_a_year(&[0.3], need(2, 0.1)), (0.0, 0.0));
    }

    #[test]
    fn a_common_cause_undoes_a_spare() {
        let rates = [0.2, 0.2];
        let total = |c: f64| {
            let (a, b) = losses_a_year(&rates, need(1, c));
            a + b
        };
        assert!(total(0.0) < 0.01 && total(0.1) > 2.0 * total(0.0));
        assert!((total(1.0) - 0.2).abs() < 1e-9);
    }
}
