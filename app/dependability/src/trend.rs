//! Do failures come faster with age? Tests that compare each failure's time with the middle of its window.
//!
//! Pooled tests assume identical units; the generalised Laplace test does not and is the one to show (FORECAST §0
//! point 9; Kvaløy and Lindqvist 2020). It wants at least ten units with failures.
use numerics::special::{chi2_two_sided, normal_cdf};

use crate::observed::Observed;

/// A statistic with its degrees of freedom and two-sided chance under no trend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChiSquared {
    /// Statistic.
    pub value: f64,
    /// Degrees of freedom.
    pub df: u32,
    /// Two-sided p-value.
    pub p: f64,
}

/// Laplace's statistic Σ(t − mid)/√(Σ length²/12), standard normal for identical units without trend.
pub fn laplace(units: &[Observed]) -> Option<f64> {
    let (mut sum, mut spread) = (0.0, 0.0);
    for unit in units {
        for (t, (start, end)) in unit
            .events
            .iter()
            .filter_map(|e| Some((e.0, unit.window_of(e.0)?)))
        {
            sum += t - f64::midpoint(start, end);
            spread += (end - start).powi(2) / 12.0;
        }
    }
    (spread > 0.0).then(|| sum / spread.sqrt())
}

/// The heterogeneity-robust Laplace statistic ΣU_u/√(ΣU_u²) and its two-sided p-value.
pub fn robust_laplace(units: &[Observed]) -> Option<(f64, f64)> {
    let scores: Vec<f64> = units
        .iter()
        .map(|unit| {
            let timed = unit
                .events
                .iter()
                .filter_map(|e| Some((e.0, unit.window_of(e.0)?)));
            timed
                .map(|(t, (start, end))| t - f64::midpoint(start, end))
                .sum()
        })
        .collect();
    let spread: f64 = scores.iter().map(|u| u * u).sum();
    (spread > 0.0).then(|| {
        let z = scores.iter().sum::<f64>() / spread.sqrt();
        (z, 2.0 * normal_cdf(-z.abs()))
    })
}

/// The military-handbook statistic 2 Σ ln(T_u/t), chi-squared with 2N degrees of freedom, for units watched from age 0.
/// `None` if a unit was not, or without failures.
pub fn handbook(units: &[Observed]) -> Option<ChiSquared> {
    let mut sum = 0.0;
    let mut n = 0;
    for unit in units {
        let [(start, end)] = unit.windows.as_slice() else {
            return None;
        };
        if *start != 0.0 {
            return None;
        }
        for (t, _) in unit.events.iter().filter(|e| e.0 > 0.0 && e.0 <= *end) {
            sum += end.ln() - t.ln();
            n += 1;
        }
    }
    (n > 0).then(|| ChiSquared {
        value: 2.0 * sum,
        df: 2 * n,
        p: chi2_two_sided(f64::from(2 * n), 2.0 * sum),
    })
}

/// Are the units alike? Σ (n − rate·T)²/(rate·T) over the units watched with rate = N/ΣT: (rate, statistic, degrees of
/// freedom: one less than the units in the sum).
pub fn alike(units: &[Observed]) -> Option<(f64, f64, u32)> {
    let seen: Vec<(f64, f64)> = units
        .iter()
        .map(|u| {
            let time: f64 = u.windows.iter().map(|(start, end)| end - start).sum();
            (
                u.events
                    .iter()
                    .filter(|e| u.window_of(e.0).is_some())
                    .count() as f64,
                time,
            )
        })
        // A unit watched for no time at all says nothing, neither in the sum nor in its degrees of freedom.
        .filter(|(_, time)| *time > 0.0)
        .collect();
    let (n, time) = seen.iter().fold((0.0, 0.0), |(n, t), u| (n + u.0, t + u.1));
    let rate = n / time;
    (n > 0.0 && time > 0.0).then(|| {
        let chi2 = seen
            .iter()
            .map(|(n, t)| (n - rate * t).powi(2) / (rate * t))
            .sum();
        (rate, chi2, (seen.len() as u32).saturating_sub(1))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(until: f64, failures: usize) -> Observed {
        Observed {
            windows: vec![(0.0, until)],
            events: vec![(until / 2.0, 1.0); failures],
        }
    }

    /// Worked by hand: 6 failures in 6 years are 1 a year; (1 − 2)²/2 + (5 − 4)²/4 = 0.75 over two units.
    #[test]
    fn a_unit_never_watched_is_in_neither_the_sum_nor_its_degrees_of_freedom() {
        let two = [unit(2.0, 1), unit(4.0, 5)];
        assert_eq!(alike(&two), Some((1.0, 0.75, 1)));
        let three = [unit(2.0, 1), unit(0.0, 0), unit(4.0, 5)];
        assert_eq!(alike(&three), alike(&two));
        // A failure on the one day of a window of no length is no failure in any time watched.
        assert_eq!(
            alike(&[unit(0.0, 1), unit(2.0, 1), unit(4.0, 5)]),
            alike(&two)
        );
    }
}
