//! How many failures more would turn an advice to keep into one to replace.
//!
//! The multiplier Z of a unit's failures is gamma with mean 1 and variance s. Had n failures more been met, with no
//! further time watched, its mean would be 1 + s n (gamma of shape 1/s and rate 1/s with Poisson counts: the shape grows
//! by n; Gelman and others, Bayesian Data Analysis, 3rd edition, §2.6, from memory). By the same rule with n failures less
//! it would be 1 − s n, as long as that is above nought: a unit that met none of them cannot have met fewer.
use serde::{Deserialize, Serialize};

use crate::case::CheckedCase;
use crate::rates::Discounts;
use crate::weigh::{Levers, weigh_at};

/// More than these are not looked for: a unit that failed so often would be spoken of long before.
const MOST: u32 = 6;

/// What it takes to turn the advice.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FurtherFailures {
    /// n, the fewest failures more (or less).
    pub count: u32,
    /// 1 + s n (or 1 − s n): how many times as often it would then be expected to fail.
    pub times: f64,
    /// Failures expected in the coming year then.
    pub in_year: f64,
    /// Advantage of replacing now then, pounds; above nought, or not above it with failures less.
    pub advantage: f64,
}

/// The fewest failures more at which replacing now becomes the cheaper course, its `advantage` being known; `None` when it is
/// the cheaper course already, when nothing can be compared, when s = 0 (no failure teaches anything), or when more than six
/// would be needed.
pub(crate) fn further_failures(
    checked: &CheckedCase,
    table: &Discounts,
    advantage: Option<f64>,
) -> Option<FurtherFailures> {
    let s = checked.case().old.frailty_var;
    if s <= 0.0 || advantage? > 0.0 {
        return None;
    }
    (1..=MOST).find_map(|count| {
        let met = had(checked, table, count, 1.0 + s * f64::from(count))?;
        (met.advantage > 0.0).then_some(met)
    })
}

/// How many failures less are looked at where so many are on record: as far as 1 − s n stays above nought, six at the most;
/// none when s = 0. Short of `on_record` nothing may be said of a unit that had met none of them.
pub fn fewer_tried(frailty_var: f64, on_record: u32) -> u32 {
    if frailty_var <= 0.0 {
        return 0;
    }
    (1..=MOST.min(on_record))
        .take_while(|count| 1.0 - frailty_var * f64::from(*count) > 0.0)
        .last()
        .unwrap_or(0)
}

/// The fewest failures less at which keeping becomes the cheaper course; `None` when it is so already, when nothing can be
/// compared, when s = 0, or when no number that the unit can have met does it. Whether so many are on record is for the
/// caller to see: the case does not count them.
pub(crate) fn fewer_failures(
    checked: &CheckedCase,
    table: &Discounts,
    advantage: Option<f64>,
) -> Option<FurtherFailures> {
    let s = checked.case().old.frailty_var;
    if s <= 0.0 || advantage? <= 0.0 {
        return None;
    }
    (1..=MOST)
        .map(|count| (count, 1.0 - s * f64::from(count)))
        .take_while(|(_, times)| *times > 0.0)
        .find_map(|(count, times)| {
            let met = had(checked, table, count, times)?;
            (met.advantage <= 0.0).then_some(met)
        })
}

/// The same question with the unit failing `times` as often.
fn had(
    checked: &CheckedCase,
    table: &Discounts,
    count: u32,
    times: f64,
) -> Option<FurtherFailures> {
    let levers = Levers {
        faults_old: times,
        ..Levers::default()
    };
    let first = checked.faults_old().first().copied().unwrap_or(0.0);
    Some(FurtherFailures {
        count,
        times,
        in_year: first * times,
        advantage: weigh_at(checked, &levers, table).advantage()?,
    })
}
