//! How many of several things that fail independently are likely to.

/// Expected number with the range that holds eight cases in ten.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likely {
    /// Of how many.
    pub of: usize,
    /// Expected number.
    pub expected: f64,
    /// Low end.
    pub low: usize,
    /// High end.
    pub high: usize,
}

/// The number of events among independent `chances` (each 0 to 1): the law of a sum of unequal coins, worked
/// out coin by coin, P(k) ← P(k)(1 − p) + P(k − 1) p. A doubt common to one building is not in it, so the range is
/// somewhat narrow.
pub(super) fn likely(chances: &[f64]) -> Likely {
    let mut law = vec![1.0];
    for &p in chances {
        let p = p.clamp(0.0, 1.0);
        law.push(0.0);
        for k in (1..law.len()).rev() {
            law[k] = law[k] * (1.0 - p) + law[k - 1] * p;
        }
        law[0] *= 1.0 - p;
    }
    let quantile = |share: f64| {
        let mut sum = 0.0;
        law.iter()
            .position(|mass| {
                sum += mass;
                sum >= share
            })
            .unwrap_or(chances.len())
    };
    Likely {
        of: chances.len(),
        expected: chances.iter().sum(),
        low: quantile(0.1),
        high: quantile(0.9),
    }
}

/// The chance that at least one of several independent things fails.
pub(super) fn any(chances: impl Iterator<Item = f64>) -> f64 {
    1.0 - chances.map(|p| 1.0 - p.clamp(0.0, 1.0)).product::<f64>()
}

#[cfg(test)]
mod tests {
    use super::{any, likely};

    /// Ten coins of chance one half: the binomial table (n = 10, p = 0.5) has P(X ≤ 2) = 0.0547,
    /// P(X ≤ 3) = 0.1719, P(X ≤ 6) = 0.8281, P(X ≤ 7) = 0.9453 (standard binomial tables, from memory).
    #[test]
    fn ten_even_coins_agree_with_the_binomial_table() {
        let ten = likely(&[0.5; 10]);
        assert_eq!((ten.low, ten.high, ten.of), (3, 7, 10));
        assert!((ten.expected - 5.0).abs() < 1e-12);
        let none = likely(&[]);
        assert_eq!((none.low, none.high), (0, 0));
        assert!((any([0.5, 0.5].into_iter()) - 0.75).abs() < 1e-12);
    }
}
