//! What happened to a unit in a stretch of time, and what its kind's fit expects there.
use crate::forecast::Horizon;
use crate::history::{Failure, UnitHistory};
use crate::kind_fit::KindFit;
use crate::prepared::Prepared;
use crate::prior::{InputError, KindPrior};
use crate::record::ALPHA;

/// How much of a failure lies after `from` and up to `until`; `first`: nothing lies before.
fn share(history: &UnitHistory, failure: &Failure, (from, until): (f64, f64), first: bool) -> f64 {
    let whole = || f64::from(failure.at <= until && (failure.at > from || first));
    let Some((begun, ended)) = failure.between else {
        return whole();
    };
    let watched = |from: f64, until: f64| -> f64 {
        let windows = history.windows.iter();
        windows
            .map(|w| (w.until.min(until).min(ended) - w.from.max(from).max(begun)).max(0.0))
            .sum()
    };
    let all = watched(f64::NEG_INFINITY, f64::INFINITY);
    if all <= 0.0 {
        return whole();
    }
    let from = if first { f64::NEG_INFINITY } else { from };
    watched(from, until) / all
}

/// One unit in one stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Within {
    /// Years it was watched there, above 0.
    pub years: f64,
    /// Its failures there; one of no known day by the middle of what is known of it.
    pub failures: u32,
    /// The same, one of no known day shared out over the watched part of what is known of it.
    pub shared: f64,
    /// Failures the fit expects there: z at the mean of the units there, its building with its own factor.
    pub expected: f64,
}

/// A unit fitted at `installed`, whose building has this effect on the log rate, after `from` and up to `until`; all on the
/// axis of its history, years. `None` where it was not watched there.
///
/// # Errors
/// A history that cannot be, or a fit of another version of the kind.
pub(crate) fn within(
    prior: &KindPrior,
    fit: &KindFit,
    (history, installed, effect): (&UnitHistory, f64, f64),
    (from, until): (f64, f64),
) -> Result<Option<Within>, InputError> {
    let mut inside = history.clone();
    inside.installed.earliest = installed;
    inside.installed.latest = installed;
    inside
        .windows
        .retain(|w| w.from < until && w.until > from.max(installed));
    for window in &mut inside.windows {
        window.from = window.from.max(from);
        window.until = window.until.min(until);
    }
    // What lies before the middle of a doubtful installation cannot be given an age.
    inside.failures.retain(|f| f.at >= installed);
    inside.renewals.retain(|r| r.at >= installed);
    let years: f64 = inside.windows.iter().map(|w| w.until - w.from).sum();
    if years <= 0.0 {
        return Ok(None);
    }
    let failed = history
        .counted()
        .filter(|f| f.at <= until && (f.at > from || from <= installed));
    let middle: f64 = inside
        .windows
        .iter()
        .map(|w| (w.until - w.from) * f64::midpoint(w.from, w.until))
        .sum::<f64>()
        / years;
    let failures = failed.count() as u32;
    let shared = history
        .counted()
        .map(|f| share(history, f, (from, until), from <= installed))
        .sum();
    let unit = Prepared::new(prior, fit, &inside)?;
    let mut p = fit.parameters.clone();
    p[ALPHA] += effect;
    let usual: f64 = unit
        .elements(&Horizon { pieces: Vec::new() }, &p)
        .iter()
        .map(|e| e.weight * e.usual)
        .sum();
    // Where bad units go sooner those still there at an age are the better ones: z has the mean 1/(1 + θ H_T) there.
    let stayed = prior
        .sooner
        .map_or(0.0, |law| law.cumulative(middle - installed));
    Ok(Some(Within {
        years,
        failures,
        shared,
        expected: usual / (1.0 + fit.theta() * stayed),
    }))
}
