//! One unit as watched over a stretch of time: failures seen, and expected of such a unit over the same time.
use crate::forecast::Horizon;
use crate::history::UnitHistory;
use crate::kind_fit::KindFit;
use crate::prepared::Prepared;
use crate::prior::{InputError, KindPrior};
use crate::stands_out::Watched;

/// Failures inside the history's windows from `since` on, and those expected at z = 1 in the median building; `None`
/// where it was not watched since.
///
/// # Errors
/// As [`crate::forecast()`].
pub fn watched(
    prior: &KindPrior,
    fit: &KindFit,
    history: &UnitHistory,
    since: f64,
) -> Result<Option<Watched>, InputError> {
    let mut recent = history.clone();
    recent.windows.retain(|w| w.until > since);
    for window in &mut recent.windows {
        window.from = window.from.max(since);
    }
    if recent.watched() <= 0.0 {
        return Ok(None);
    }
    let unit = Prepared::new(prior, fit, &recent)?;
    let none = Horizon { pieces: Vec::new() };
    let elements = unit.elements(&none, &fit.parameters);
    Ok(Some(Watched {
        failures: recent.counted().count() as u32,
        expected: elements.iter().map(|e| e.weight * e.usual).sum(),
    }))
}
