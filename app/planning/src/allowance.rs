//! How long a search may take, told from outside: this room reads no clock.

/// Seconds a method still has. The caller owns the clock and the stop button.
pub trait Allowance: Sync {
    /// Seconds left; infinite = as long as it takes; zero or less = stop now and hand over what there is.
    fn seconds_left(&self) -> f64;

    /// Whether to stop now.
    fn spent(&self) -> bool {
        self.seconds_left() <= 0.0
    }
}

impl<F: Fn() -> f64 + Sync> Allowance for F {
    fn seconds_left(&self) -> f64 {
        self()
    }
}

/// As long as it takes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unhurried;

impl Allowance for Unhurried {
    fn seconds_left(&self) -> f64 {
        f64::INFINITY
    }
}

/// The first part of another allowance: ends when the whole has `kept` seconds left.
#[derive(Clone, Copy)]
pub struct Part<'a> {
    whole: &'a dyn Allowance,
    kept: f64,
}

impl<'a> Part<'a> {
    /// All but the last `kept` seconds.
    pub fn all_but(whole: &'a dyn Allowance, kept: f64) -> Self {
        Self { whole, kept }
    }

    /// The first `share` (0 to 1) of what is left; of an endless allowance, `endless` seconds are meant
    /// to be enough, so nothing is held back.
    pub fn share(whole: &'a dyn Allowance, share: f64) -> Self {
        let left = whole.seconds_left();
        let kept = if left.is_finite() {
            left * (1.0 - share)
        } else {
            0.0
        };
        Self { whole, kept }
    }

    /// At most `seconds` from now.
    pub fn at_most(whole: &'a dyn Allowance, seconds: f64) -> Self {
        let left = whole.seconds_left();
        let kept = if left.is_finite() {
            (left - seconds).max(0.0)
        } else {
            0.0
        };
        Self { whole, kept }
    }
}

impl Allowance for Part<'_> {
    fn seconds_left(&self) -> f64 {
        self.whole.seconds_left() - self.kept
    }
}
