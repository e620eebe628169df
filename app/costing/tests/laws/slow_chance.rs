//! The chance with every wave's transform made anew, as its formula stands, beside the one that carries it forward.
use costing::FaultCost;
use costing::chance::{CostLaw, FailureCosts, YearOfFailures, chance_above_nought};
use proptest::prelude::*;

use crate::cases::cost;

type Complex = (f64, f64);

fn polar(modulus: f64, phase: f64) -> Complex {
    (modulus * phase.cos(), modulus * phase.sin())
}

fn times(a: Complex, b: Complex) -> Complex {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

/// φ_c(t).
fn of_one(law: &CostLaw, t: f64) -> Complex {
    let cost = match law {
        CostLaw::Fixed(cost) => return polar(1.0, t * cost),
        CostLaw::Drawn(cost) => cost,
    };
    let squared = cost.repair_cv * cost.repair_cv;
    let repair = if squared * cost.repair_mean > 0.0 {
        let (scaled, shape) = (t * cost.repair_mean * squared, 1.0 / squared);
        polar(
            (-0.5 * shape * (scaled * scaled).ln_1p()).exp(),
            shape * scaled.atan() + t * cost.disruption,
        )
    } else {
        polar(1.0, t * (cost.repair_mean + cost.disruption))
    };
    let turned = polar(cost.emergency_share, t * cost.emergency_premium);
    times(repair, (1.0 - cost.emergency_share + turned.0, turned.1))
}

/// φ_D(t).
fn of_all(costs: &FailureCosts, t: f64) -> Complex {
    let (mut re, mut im) = (0.0, 0.0);
    for year in &costs.years {
        let one = of_one(&year.law, year.discount * t);
        re += year.expected * (one.0 - 1.0);
        im += year.expected * one.1;
    }
    let s = costs.frailty_var;
    if s > 0.0 {
        let (re, im) = (1.0 - s * re, -s * im);
        polar((-re.hypot(im).ln() / s).exp(), -im.atan2(re) / s)
    } else {
        polar(re.exp(), im)
    }
}

struct Slow {
    step: f64,
    values: Vec<Complex>,
    mass: f64,
}

impl Slow {
    fn above(&self, y: f64, width: f64) -> f64 {
        let mut sum = 0.0;
        for (k, value) in self.values.iter().enumerate() {
            let place = k as f64 + 0.5;
            let reach = width * self.step * place;
            if reach > 6.5 {
                break;
            }
            let part = times(*value, polar(1.0, -place * self.step * y)).1;
            sum += part * (-0.5 * reach * reach).exp() / (std::f64::consts::PI * place);
        }
        self.mass / 2.0 + sum
    }
}

fn largest(costs: &FailureCosts) -> f64 {
    let telling = costs.years.iter();
    telling
        .filter(|y| y.expected > 0.0 && y.law.mean() > 0.0)
        .map(|y| {
            let (mean, square) = (y.law.mean(), y.law.mean_square());
            y.discount * (mean + (square - mean * mean).max(0.0).sqrt())
        })
        .fold(0.0, f64::max)
}

fn slowly(advantage: f64, old: &FailureCosts, new: &FailureCosts) -> f64 {
    let bar = old.mean() - new.mean() - advantage;
    let nothing = old.nothing() * new.nothing();
    let exact = if 0.0 > bar { nothing } else { 0.0 };
    let mass = 1.0 - nothing;
    if mass < 1e-9 {
        return exact;
    }
    let deviation = (old.variance() + new.variance()).sqrt();
    let largest = largest(old).max(largest(new));
    if advantage.abs() > 40.0 * deviation + 40.0 * largest {
        return if advantage > 0.0 { 1.0 } else { 0.0 };
    }
    let step = std::f64::consts::TAU / (advantage.abs() + 25.0 * deviation + 12.0 * largest);
    let mut width = deviation.max(largest) / 50.0;
    for attempt in 0..4 {
        let count = ((4.5 / (width * step)).ceil() as usize).clamp(64, 400_000);
        let values = (0..count)
            .map(|k| {
                let u = (k as f64 + 0.5) * step;
                let both = times(of_all(old, u), of_all(new, -u));
                (both.0 - nothing, both.1)
            })
            .collect();
        let slow = Slow { step, values, mass };
        let (narrow, wide) = (slow.above(bar, width), slow.above(bar, 2.0 * width));
        let window =
            |w: f64| slow.above(bar - w * width, width) - slow.above(bar + w * width, width);
        let lump = 2.0 * window(5.0) - window(10.0);
        if (narrow - wide).abs() < 3e-4 && lump.abs() < 1e-3 {
            return (exact + narrow).clamp(0.0, 1.0);
        }
        if attempt == 3 {
            return (exact + slow.above(bar + 5.0 * width, width)).clamp(0.0, 1.0);
        }
        width /= 4.0;
    }
    exact
}

fn side() -> impl Strategy<Value = FailureCosts> {
    let year = (0.0..1.5f64, 0.0..1.0f64);
    let years = prop::collection::vec(year, 0..12);
    (
        years,
        cost(),
        0.0..60.0f64,
        0u32..8,
        prop_oneof![Just(0.0), 0.001..1.5f64],
    )
        .prop_map(|(years, cost, excess, inside, frailty_var)| FailureCosts {
            years: (0u32..)
                .zip(years)
                .map(|(i, (expected, off))| YearOfFailures {
                    expected,
                    discount: 0.965_f64.powf(f64::from(i) + off),
                    law: if i < inside {
                        CostLaw::Fixed(excess)
                    } else {
                        CostLaw::Drawn(cost)
                    },
                })
                .collect(),
            frailty_var,
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn carried_forward_or_made_anew_the_chance_is_the_same(old in side(), new in side(), off in -2.0..2.0f64) {
        let deviation = (old.variance() + new.variance()).sqrt();
        let advantage = off * deviation;
        let (quick, slow) = (chance_above_nought(advantage, &old, &new), slowly(advantage, &old, &new));
        prop_assert!((quick - slow).abs() < 1e-12, "{} for {}", quick, slow);
    }
}

/// A price that hardly varies, one that varies wildly, one that is always the same: series of many terms, of too many, of none.
#[test]
fn however_the_price_varies() {
    for repair_cv in [0.0, 0.01, 0.1, 0.35, 1.0, 1.9, 6.0] {
        let cost = FaultCost {
            repair_mean: 240.0,
            repair_cv,
            emergency_share: 0.15,
            emergency_premium: 110.0,
            disruption: 20.0,
        };
        let old = FailureCosts {
            years: (0..9)
                .map(|i| YearOfFailures {
                    expected: 0.6,
                    discount: 0.965_f64.powi(i),
                    law: CostLaw::Drawn(cost),
                })
                .collect(),
            frailty_var: 0.3,
        };
        let none = FailureCosts::default();
        for advantage in [-700.0, -50.0, 0.5, 300.0] {
            let (quick, slow) = (
                chance_above_nought(advantage, &old, &none),
                slowly(advantage, &old, &none),
            );
            assert!(
                (quick - slow).abs() < 1e-12,
                "{repair_cv} {advantage}: {quick} for {slow}"
            );
        }
    }
}
