//! The time of year: how much each month weighs in a forecast over part of a year (FORECAST §7).

/// Calls per month against the monthly mean, January first. Source: the trade file UNITS §4 (common practice, no
/// source): November to February 1.6 to 2.0 times the mean, taken as 1.8, and a peak in the first cold week of October;
/// October at 1.0 and the rest spread evenly over the other seven months are our reading of it.
pub const TRADE: [f64; 12] = [
    1.8, 1.8, REST, REST, REST, REST, REST, REST, REST, 1.0, 1.8, 1.8,
];
const REST: f64 = (12.0 - 4.0 * 1.8 - 1.0) / 7.0;
/// Calls' worth of the trade's spread mixed into a kind's own (FORECAST §7, judgement).
const SMOOTHING: f64 = 24.0;

/// Weight of each month, January first, averaging 1: 12 × the kind's share of calls in it, smoothed with 24 calls spread
/// as the trade has it.
pub fn month_weights(calls: &[u32; 12]) -> [f64; 12] {
    let total: f64 = calls.iter().map(|c| f64::from(*c)).sum::<f64>() + SMOOTHING;
    std::array::from_fn(|i| 12.0 * (f64::from(calls[i]) + SMOOTHING * TRADE[i] / 12.0) / total)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_calls_the_trade_speaks_and_weights_average_one() {
        let none = month_weights(&[0; 12]);
        assert!(none.iter().zip(TRADE).all(|(a, b)| (a - b).abs() < 1e-12));
        let mut calls = [0; 12];
        calls[6] = 240;
        let summer = month_weights(&calls);
        assert!((summer.iter().sum::<f64>() - 12.0).abs() < 1e-9);
        assert!(summer[6] > 10.0 && summer[0] < 0.2);
    }
}
