//! Whether works must be consulted on: the largest single contribution against the threshold, in
//! exact fractions, so that a penny decides and rounding never does.
use serde::{Deserialize, Serialize};

use crate::InspectionError;

/// Cost, tax, shares and the threshold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ThresholdQuery {
    /// Cost without VAT, pence.
    pub cost_ex_vat_pence: i64,
    /// VAT, percent.
    pub vat_percent: f64,
    /// Each leaseholder's share as numerator and denominator.
    pub shares: Vec<(i64, i64)>,
    /// The threshold for any one leaseholder, pence.
    pub threshold_pence: i64,
}

/// The answer; the two money figures are rounded half up for show only.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Threshold {
    /// Cost with VAT, pence.
    pub total_pence: i64,
    /// The largest contribution, pence.
    pub largest_contribution_pence: i64,
    /// Whether the exact largest contribution is over the threshold.
    pub consult: bool,
    /// The highest total that needs no consultation, pence; none if nobody has a share.
    pub highest_total_without_consulting_pence: Option<i64>,
    /// How many contributions are over the threshold.
    pub flats_over: usize,
}

/// Half up, for values not below 0.
fn half_up(num: i128, den: i128) -> Option<i64> {
    i64::try_from((2 * num + den).div_euclid(2 * den)).ok()
}

/// Judges one cost.
///
/// # Errors
/// No shares, a share without a positive denominator, a negative amount, VAT outside 0–100 %, or
/// sums beyond what can be counted.
pub fn section20_threshold(query: &ThresholdQuery) -> Result<Threshold, InspectionError> {
    let wrong = |why: &str| InspectionError::impossible("section 20 threshold", why);
    if query.shares.is_empty() {
        return Err(wrong("there are no shares"));
    }
    let share_limit = 1_000_000_000;
    if query
        .shares
        .iter()
        .any(|s| s.0 < 0 || s.0 > share_limit || s.1 < 1 || s.1 > share_limit)
    {
        return Err(wrong("a share is a fraction of whole numbers, not below 0"));
    }
    if query.cost_ex_vat_pence < 0 || query.threshold_pence < 0 {
        return Err(wrong("money cannot be negative here"));
    }
    if !(0.0..=100.0).contains(&query.vat_percent) {
        return Err(wrong("VAT must lie between 0 and 100 %"));
    }
    // Total = top / bottom exactly; VAT is held to a hundredth of a percent.
    let vat = (query.vat_percent * 100.0).round() as i128;
    let top = i128::from(query.cost_ex_vat_pence) * (10_000 + vat);
    let bottom = 10_000_i128;
    let threshold = i128::from(query.threshold_pence);
    let over = |s: &(i64, i64)| top * i128::from(s.0) > threshold * bottom * i128::from(s.1);
    let largest = query
        .shares
        .iter()
        .max_by(|a, b| {
            (i128::from(a.0) * i128::from(b.1)).cmp(&(i128::from(b.0) * i128::from(a.1)))
        })
        .ok_or_else(|| wrong("there are no shares"))?;
    let too_large = || wrong("the sum is too large");
    let (num, den) = (i128::from(largest.0), i128::from(largest.1));
    Ok(Threshold {
        total_pence: half_up(top, bottom).ok_or_else(too_large)?,
        largest_contribution_pence: half_up(top * num, bottom * den).ok_or_else(too_large)?,
        consult: over(largest),
        highest_total_without_consulting_pence: (num > 0)
            .then(|| i64::try_from(threshold * den / num).ok())
            .flatten(),
        flats_over: query.shares.iter().filter(|s| over(s)).count(),
    })
}
