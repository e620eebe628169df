//! Failures as watched, without a model: windows and event times of several units, shared by the curve and the tests.

/// One unit's windows and failures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observed {
    /// (start, end) of each window.
    pub windows: Vec<(f64, f64)>,
    /// (time, amount) of each event; amount 1 counts, a cost adds money up.
    pub events: Vec<(f64, f64)>,
}

impl Observed {
    /// The earliest window with start ≤ time ≤ end.
    pub fn window_of(&self, time: f64) -> Option<(f64, f64)> {
        self.windows
            .iter()
            .copied()
            .filter(|(start, end)| *start <= time && time <= *end)
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// At risk at a time: start < time ≤ end of some window.
    pub fn at_risk(&self, time: f64) -> bool {
        self.windows
            .iter()
            .any(|(start, end)| *start < time && time <= *end)
    }
}
