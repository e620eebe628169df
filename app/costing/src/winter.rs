//! The winter we would have had: what happened, met with what would have been spared had the advice been followed.
//!
//! A failure after the day a unit was advised to be replaced, and could have been, would not have happened to that unit;
//! the new one would have failed as its kind does, m times over the days left, at the mean of what a failure took. The
//! spared sum is Σ c over those failures less m c̄. Failures fall by chance, so the sum that luck might as well have made
//! lies around it with variance Σ c² + m E[c²] (compound Poisson, each sum standing for itself; from memory).
use serde::{Deserialize, Serialize};

/// With fewer failures in the whole winter than these, nothing is said (as with forecasts: model/FORECAST §10).
pub const LEAST_FAILURES: usize = 30;
/// 80 % of a normal law lie within this many standard deviations.
const EIGHTY: f64 = 1.281_551_565_544_6;

/// One failure of the winter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WinterFailure {
    /// Days without heat or hot water.
    pub cold_days: f64,
    /// Pounds paid for it.
    pub paid: f64,
    /// Whether the unit would have been replaced before that day.
    pub spared: bool,
}

/// A unit that would have been replaced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WouldBeNew {
    /// m: failures expected of the new one over the days left of the winter.
    pub expected: f64,
    /// Pounds a year by which the new one, kept its best life, costs more to buy than nothing: its price spread over it.
    pub price_a_year: f64,
    /// Pounds to fit it.
    pub price: f64,
}

/// A figure with the range that holds 8 cases in 10.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ranged {
    /// The figure.
    pub mid: f64,
    /// 1 case in 10 is lower.
    pub low: f64,
    /// 1 case in 10 is higher.
    pub high: f64,
}

/// What the winter would have been.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Winter {
    /// Failures that happened.
    pub failures: usize,
    /// Of them, those that would have been spared.
    pub spared: usize,
    /// Units that would have been replaced.
    pub replaced: usize,
    /// Cold days that happened.
    pub cold_days: f64,
    /// Cold days fewer; below nought: more.
    pub cold_fewer: Ranged,
    /// Pounds paid for failures.
    pub paid: f64,
    /// Pounds fewer for failures.
    pub paid_fewer: Ranged,
    /// Pounds for fitting the new units.
    pub fitting: f64,
    /// The year's share of that, each price spread over the unit's best life.
    pub fitting_a_year: f64,
}

/// Replays a winter. `None` below [`LEAST_FAILURES`] failures.
pub fn replay(failures: &[WinterFailure], new: &[WouldBeNew]) -> Option<Winter> {
    if failures.len() < LEAST_FAILURES {
        return None;
    }
    let expected: f64 = new.iter().map(|n| n.expected).sum();
    let of = |what: fn(&WinterFailure) -> f64| ranged(failures, expected, what);
    Some(Winter {
        failures: failures.len(),
        spared: failures.iter().filter(|f| f.spared).count(),
        replaced: new.len(),
        cold_days: failures.iter().map(|f| f.cold_days).sum(),
        cold_fewer: of(|f| f.cold_days),
        paid: failures.iter().map(|f| f.paid).sum(),
        paid_fewer: of(|f| f.paid),
        fitting: new.iter().map(|n| n.price).sum(),
        fitting_a_year: new.iter().map(|n| n.price_a_year).sum(),
    })
}

/// Σ spared c − m c̄ with its range.
fn ranged(failures: &[WinterFailure], expected: f64, what: fn(&WinterFailure) -> f64) -> Ranged {
    let count = failures.len().max(1) as f64;
    let mean = failures.iter().map(what).sum::<f64>() / count;
    let square = failures.iter().map(|f| what(f).powi(2)).sum::<f64>() / count;
    let (mut spared, mut variance) = (0.0, expected * square);
    for failure in failures.iter().filter(|f| f.spared) {
        spared += what(failure);
        variance += what(failure).powi(2);
    }
    let (mid, reach) = (spared - expected * mean, EIGHTY * variance.sqrt());
    Ranged {
        mid,
        low: mid - reach,
        high: mid + reach,
    }
}
