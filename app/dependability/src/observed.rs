//! Failures as watched, without a model: windows and event times of several units, shared by the curve and the tests.

use crate::prior::{InputError, within};

/// No time and no amount lies beyond.
const FAR: f64 = 1e12;

/// One unit's windows and failures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observed {
    /// (start, end) of each window.
    pub windows: Vec<(f64, f64)>,
    /// (time, amount) of each event; amount 1 counts, a cost adds money up.
    pub events: Vec<(f64, f64)>,
}

impl Observed {
    /// Refuses what cannot be meant.
    ///
    /// # Errors
    /// In words.
    pub fn check(&self) -> Result<(), InputError> {
        for (place, (start, end)) in self.windows.iter().enumerate() {
            within("start of a window", *start, -FAR, FAR)?;
            within("end of a window", *end, -FAR, FAR)?;
            if end < start {
                return Err(InputError::Window(place));
            }
        }
        for (time, amount) in &self.events {
            within("time of an event", *time, -FAR, FAR)?;
            within("amount of an event", *amount, -FAR, FAR)?;
        }
        Ok(())
    }

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
