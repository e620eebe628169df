//! How often a unit is expected to fail in each of the years to come.
//!
//! The level is the unit's forecast (its own history with its kind's); its growth with age is that of its parts'
//! clocks at the kind's shapes and shares: hazard of a part at clock age a = 0.9 × share × (a/10)^(shape − 1), the last
//! tenth staying with the never-renewed remainder. Renewals still to come are not reckoned with, so the later
//! years lean towards more failures.
use std::collections::BTreeMap;

use dependability::frailty::Posterior;
use dependability::prior::{PARTS_SHARE, REMAINDER_SHAPE, T0};
use dependability::{KindPrior, PartClock, PartPrior};
use terms::trade::{Kind, PartShare};

/// Clock ages of a unit today, in years.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Clocks {
    /// Since it was fitted.
    pub unit: f64,
    /// Since a part was renewed; parts not named run with the unit.
    pub parts: BTreeMap<String, f64>,
}

/// The prior of a kind as the forecast uses it.
pub(crate) fn prior_of(kind: &Kind, shares: &[PartShare]) -> KindPrior {
    let parts = shares
        .iter()
        .map(|s| PartPrior {
            code: s.code.clone(),
            share: s.share,
            shape: s.shape,
            clock: match s.clock.as_str() {
                "event" => PartClock::Event,
                "unit" => PartClock::Unit,
                _ => PartClock::Part,
            },
        })
        .collect();
    KindPrior::around(kind.rate_10y, kind.rate_sd_log, parts)
}

/// (age/10)^(shape − 1).
fn at(age: f64, shape: f64) -> f64 {
    (age.max(0.01) / T0).powf(shape - 1.0)
}

/// The prior's relative hazard `ahead` years from now (any level; only ratios are used).
fn pressure(prior: &KindPrior, clocks: &Clocks, ahead: f64) -> f64 {
    if prior.parts.is_empty() {
        return at(clocks.unit + ahead, prior.ln_beta.mean.exp());
    }
    let parts: f64 = by_part(prior, clocks, ahead).iter().sum();
    PARTS_SHARE * parts + remainder(prior, clocks, ahead)
}

/// What each part has of it, before the parts' share of the whole; none for a kind without parts.
pub(super) fn by_part(prior: &KindPrior, clocks: &Clocks, ahead: f64) -> Vec<f64> {
    prior
        .parts
        .iter()
        .zip(prior.shares())
        .map(|(part, share)| match part.clock {
            PartClock::Event => share,
            PartClock::Unit => share * at(clocks.unit + ahead, part.shape),
            PartClock::Part => {
                let age = clocks.parts.get(&part.code).copied();
                share * at(age.unwrap_or(clocks.unit) + ahead, part.shape)
            }
        })
        .collect()
}

/// What the never-renewed remainder has of it.
pub(super) fn remainder(prior: &KindPrior, clocks: &Clocks, ahead: f64) -> f64 {
    if prior.parts.is_empty() {
        return 0.0;
    }
    (1.0 - PARTS_SHARE) * at(clocks.unit + ahead, REMAINDER_SHAPE)
}

/// The clocks once a part has been renewed.
pub(super) fn once_renewed(clocks: &Clocks, part: Option<&str>) -> Clocks {
    let mut after = clocks.clone();
    if let Some(part) = part {
        after.parts.insert(part.to_owned(), 0.0);
    }
    after
}

/// Expected failures of the unit that stands there, year by year from now. `expected_12m` is its forecast as it
/// stands, before the repair in question; `renewed` is the part that repair would renew.
pub(crate) fn old_unit(
    prior: &KindPrior,
    clocks: &Clocks,
    expected_12m: f64,
    renewed: Option<&str>,
    years: u32,
) -> Vec<f64> {
    let now = pressure(prior, clocks, 0.5);
    let after = once_renewed(clocks, renewed);
    (0..years)
        .map(|i| {
            let then = pressure(prior, &after, f64::from(i) + 0.5);
            if now > 0.0 {
                expected_12m * then / now
            } else {
                expected_12m
            }
        })
        .collect()
}

/// Expected failures of a unit with these clocks by its kind alone, over the next 12 months.
pub(crate) fn by_kind(prior: &KindPrior, clocks: &Clocks) -> f64 {
    prior.rate_10y * pressure(prior, clocks, 0.5)
}

/// Expected failures of a new unit in its year 1, 2, …
pub(crate) fn new_unit(prior: &KindPrior, years: u32) -> Vec<f64> {
    (0..years)
        .map(|i| prior.rate_at(f64::from(i) + 0.5))
        .collect()
}

/// Variance of the gamma multiplier whose 10 % and 90 % points stand in the same ratio as the rates behind the two
/// ends of a chance's 80 % interval: rate = −ln(1 − chance). `None` when the interval says nothing.
pub(crate) fn frailty_variance(low: f64, high: f64) -> Option<f64> {
    let rate = |chance: f64| -(1.0 - chance.clamp(0.0, 1.0 - 1e-9)).ln();
    let (low, high) = (rate(low), rate(high));
    if !(low > 0.0 && high > low) {
        return None;
    }
    let wanted = high / low;
    let ratio = |theta: f64| {
        let z = Posterior {
            theta,
            n: 0.0,
            mu: 0.0,
        };
        z.quantile(0.9) / z.quantile(0.1)
    };
    let (mut from, mut to) = (1e-5_f64.ln(), 20.0_f64.ln());
    for _ in 0..60 {
        let middle = f64::midpoint(from, to);
        if ratio(middle.exp()) < wanted {
            from = middle;
        } else {
            to = middle;
        }
    }
    Some(f64::midpoint(from, to).exp())
}

/// The same for a unit no forecast was made for: θ at its prior's centre, and the doubt of the kind's level
/// (log-normal): (1 + θ) e^(sd²) − 1.
pub(crate) fn variance_by_kind(prior: &KindPrior) -> f64 {
    let theta = prior.ln_theta.mean.exp();
    (1.0 + theta) * prior.rate_sd_log.powi(2).exp() - 1.0
}

/// Years by which 8 in 10 units of a kind have been replaced: the longest life reckoned with. From the Weibull
/// law of its life, with the stated median and shape.
pub(crate) fn longest_life(kind: &Kind) -> u32 {
    let scale = kind.life_median_years / 2.0_f64.ln().powf(1.0 / kind.life_shape);
    let years = scale * 5.0_f64.ln().powf(1.0 / kind.life_shape);
    if years.is_finite() {
        years.floor().clamp(1.0, 60.0) as u32
    } else {
        1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn prior() -> KindPrior {
        let part = |code: &str, share, shape, clock| PartPrior {
            code: code.into(),
            share,
            shape,
            clock,
        };
        KindPrior::around(
            0.18,
            0.7,
            vec![
                part("pump", 0.5, 2.0, PartClock::Part),
                part("board", 0.5, 1.0, PartClock::Event),
            ],
        )
    }

    #[test]
    fn a_first_set_of_clocks_follows_the_kinds_own_rate() {
        let (prior, clocks) = (
            prior(),
            Clocks {
                unit: 12.0,
                parts: BTreeMap::new(),
            },
        );
        assert!((by_kind(&prior, &clocks) - prior.rate_at(12.5)).abs() < 1e-12);
        let years = old_unit(&prior, &clocks, by_kind(&prior, &clocks), None, 3);
        for (i, expected) in years.iter().enumerate() {
            assert!((expected - prior.rate_at(12.5 + i as f64)).abs() < 1e-12);
        }
    }

    #[test]
    fn a_renewed_part_starts_young_and_ages_again() {
        let clocks = Clocks {
            unit: 12.0,
            parts: BTreeMap::new(),
        };
        let (kept, renewed) = (
            old_unit(&prior(), &clocks, 0.3, None, 10),
            old_unit(&prior(), &clocks, 0.3, Some("pump"), 10),
        );
        assert!((kept[0] - 0.3).abs() < 1e-12, "year 1 is the forecast");
        assert!(renewed.iter().zip(&kept).all(|(a, b)| a < b));
        assert!(renewed.windows(2).all(|pair| pair[0] < pair[1]));
    }

    #[test]
    fn the_variance_is_read_back_from_the_interval_it_makes() {
        for theta in [0.05, 0.3, 1.0] {
            let z = Posterior {
                theta,
                n: 0.0,
                mu: 0.0,
            };
            let chance = |p| 1.0 - (-0.4 * z.quantile(p)).exp();
            let read = frailty_variance(chance(0.1), chance(0.9)).unwrap_or(0.0);
            assert!(
                (read - theta).abs() < 1e-6 * theta.max(1.0),
                "{theta} {read}"
            );
        }
        assert_eq!(frailty_variance(0.3, 0.3), None);
        assert_eq!(frailty_variance(0.0, 0.3), None);
    }
}
