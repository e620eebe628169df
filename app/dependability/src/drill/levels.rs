//! Return levels and return periods with the doubt of a finite number of winters.
use serde::{Deserialize, Serialize};

use crate::score::{Z95, wilson};

/// Winters for which a level is told.
const ONCE_IN: [u32; 5] = [2, 5, 10, 20, 50];

/// So many homes or more, once in so many winters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Level {
    /// Once in this many winters …
    pub once_in: u32,
    /// … the worst night has at least this many.
    pub homes: u32,
    /// 95 % interval from the number of winters simulated.
    pub ci95: (u32, u32),
}

/// How rare something is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rarity {
    /// Winters in which it happened.
    pub happened: usize,
    /// Winters simulated.
    pub of: usize,
    /// 95 % interval of its chance in a winter (Wilson).
    pub ci95: (f64, f64),
}

impl Rarity {
    pub(crate) fn of(happened: usize, of: usize) -> Self {
        Self {
            happened,
            of,
            ci95: wilson(happened as f64, of as f64, Z95).unwrap_or((0.0, 1.0)),
        }
    }

    /// Chance in one winter.
    pub fn chance(&self) -> f64 {
        self.happened as f64 / self.of as f64
    }

    /// Once in so many winters; `None` where it never happened.
    pub fn once_in(&self) -> Option<f64> {
        (self.happened > 0).then(|| 1.0 / self.chance())
    }

    /// The same with its 95 % interval; the far end is open where it never happened.
    pub fn once_in_ci95(&self) -> (f64, Option<f64>) {
        let (low, high) = self.ci95;
        (1.0 / high, (self.happened > 0).then(|| 1.0 / low))
    }
}

/// Homes that the worst night reaches in at least a share p of the winters, for each p = 1/T; the interval is where the
/// level lies at p ± 1.96 √(p(1 − p)/N).
pub(super) fn levels(worst: &[u32]) -> Vec<Level> {
    let mut sorted = worst.to_vec();
    sorted.sort_unstable_by(|a, b| b.cmp(a));
    let n = sorted.len() as f64;
    let at = |p: f64| {
        let place = (p.clamp(0.0, 1.0) * n).ceil().max(1.0) as usize - 1;
        sorted.get(place).or(sorted.last()).copied().unwrap_or(0)
    };
    ONCE_IN
        .iter()
        .map(|&once_in| {
            let p = 1.0 / f64::from(once_in);
            let reach = Z95 * (p * (1.0 - p) / n).sqrt();
            Level {
                once_in,
                homes: at(p),
                ci95: (at(p + reach), at(p - reach)),
            }
        })
        .collect()
}
