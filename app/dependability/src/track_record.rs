//! Past forecasts met with what happened, on the facts as recorded by the day of scoring (FORECAST §10).
//!
//! Days are whole numbers from any epoch; the caller says on which day a forecast's period ends (the same date a year on).
use numerics::CountLaw;

use crate::score::Scored;

/// A forecast as it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Issued {
    /// Day it was made; the period starts the day after.
    pub made_on: i64,
    /// Last day of the period.
    pub until: i64,
    /// The unit.
    pub unit: String,
    /// Our law, then the baselines', in an order the caller keeps.
    pub laws: Vec<CountLaw>,
}

/// A fault with the day it was entered.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The unit.
    pub unit: String,
    /// Day it happened.
    pub happened_on: i64,
    /// Day it was recorded.
    pub recorded_on: i64,
}

/// A unit's end.
#[derive(Clone, Debug, PartialEq)]
pub struct Removal {
    /// The unit.
    pub unit: String,
    /// Day it was removed.
    pub removed_on: i64,
}

/// One forecast met with its outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct Met {
    /// Its place in the list of forecasts.
    pub place: usize,
    /// Scored under each law, in the forecast's order; means cut to the days exposed.
    pub scored: Vec<Scored>,
}

/// What can be scored by a day, and how many forecasts still wait.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Forecasts whose period is over.
    pub met: Vec<Met>,
    /// Forecasts whose period is not.
    pub pending: usize,
}

/// Scores every forecast whose period ended by `scored_on`. A removal inside the period ends it on that day and
/// multiplies all means by the share of days exposed (sizes unchanged). Only faults recorded by `scored_on` count.
pub fn meet(issued: &[Issued], faults: &[Fault], removals: &[Removal], scored_on: i64) -> Record {
    let mut record = Record::default();
    for (place, forecast) in issued.iter().enumerate() {
        if forecast.until > scored_on {
            record.pending += 1;
            continue;
        }
        let inside = |day: i64| day > forecast.made_on && day <= forecast.until;
        let until = removals
            .iter()
            .filter(|r| r.unit == forecast.unit && inside(r.removed_on))
            .map(|r| r.removed_on)
            .fold(forecast.until, i64::min);
        let exposed =
            (until - forecast.made_on) as f64 / (forecast.until - forecast.made_on) as f64;
        let observed = faults
            .iter()
            .filter(|f| f.unit == forecast.unit && f.recorded_on <= scored_on)
            .filter(|f| f.happened_on > forecast.made_on && f.happened_on <= until)
            .count() as u64;
        let scored = forecast
            .laws
            .iter()
            .map(|law| Scored {
                law: CountLaw {
                    mean: law.mean * exposed,
                    ..*law
                },
                observed,
            })
            .collect();
        record.met.push(Met { place, scored });
    }
    record
}

/// Faults of the 365 days up to a forecast that were known when it was made.
pub fn known_last_year(forecast: &Issued, faults: &[Fault]) -> usize {
    faults
        .iter()
        .filter(|f| f.unit == forecast.unit && f.recorded_on <= forecast.made_on)
        .filter(|f| f.happened_on > forecast.made_on - 365 && f.happened_on <= forecast.made_on)
        .count()
}
