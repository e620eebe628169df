//! Straight maps from values to drawing units, and round steps for axes.

/// A straight map: `from.0..from.1` onto `to.0..to.1`. Not finite values land on the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linear {
    from: (f64, f64),
    to: (f64, f64),
}

impl Linear {
    /// Maps `from` onto `to`; an empty or broken `from` maps everything onto the start.
    pub fn new(from: (f64, f64), to: (f64, f64)) -> Self {
        Self { from, to }
    }

    /// Where `value` lands.
    pub fn at(self, value: f64) -> f64 {
        let length = self.from.1 - self.from.0;
        if !value.is_finite() || !length.is_finite() || length.abs() < f64::EPSILON {
            return self.to.0;
        }
        self.to.0 + (value - self.from.0) / length * (self.to.1 - self.to.0)
    }
}

/// A step of 1, 2, 2.5 or 5 times a power of ten that parts `length` into at most `most` pieces.
pub fn step(length: f64, most: u32) -> f64 {
    if !length.is_finite() || length <= 0.0 {
        return 1.0;
    }
    let rough = length / f64::from(most.max(1));
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 2.5, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|&step| step >= rough * 0.999)
        .unwrap_or(10.0 * power)
}

/// Multiples of a round step from `low` to `high`, at most about `most` of them.
pub fn ticks(low: f64, high: f64, most: u32) -> Vec<f64> {
    let step = step(high - low, most);
    if !low.is_finite() || !high.is_finite() || high <= low {
        return Vec::new();
    }
    let first = (low / step).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last.min(first + 100))
        .map(|k| k as f64 * step)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_steps() {
        assert_eq!(step(5_206.0, 6), 1_000.0);
        assert_eq!(step(0.0, 6), 1.0);
        assert_eq!(step(f64::NAN, 6), 1.0);
        assert_eq!(
            ticks(0.0, 500.0, 5),
            [0.0, 100.0, 200.0, 300.0, 400.0, 500.0]
        );
        assert_eq!(ticks(-150.0, 400.0, 4), [0.0, 200.0, 400.0]);
        assert!(ticks(3.0, 3.0, 4).is_empty());
        assert_eq!(Linear::new((0.0, 0.0), (5.0, 9.0)).at(7.0), 5.0);
        assert_eq!(Linear::new((0.0, 10.0), (0.0, 100.0)).at(f64::NAN), 0.0);
        assert_eq!(Linear::new((0.0, 10.0), (100.0, 0.0)).at(2.5), 75.0);
    }
}
