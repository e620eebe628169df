//! Rolling origins: what would have been said at a moment in the past with what had happened by then, met with what
//! came after (FORECAST §10).
//!
//! A register brought in yesterday can be tried at once on its own past. It is not the same as a forecast frozen at the
//! time: facts entered late are known here earlier than they were, and the page says so.
use std::collections::BTreeMap;

use crate::baselines::{Baselines, Said, next_count};
use crate::forecast::Horizon;
use crate::history::UnitHistory;
use crate::kind_fit::{Housed, fit_kind_in_buildings};
use crate::kind_life::{Ended, KindLife, LifeEnd, fit_life};
use crate::prior::{InputError, KindPrior};
use crate::recording;
use crate::score::Scored;
use crate::standing::Standing;

/// A kind as it is tried.
#[derive(Clone, Copy, Debug)]
pub struct Trial<'a> {
    /// What was believed of it before.
    pub prior: &'a KindPrior,
    /// Its stated life, median and shape: whether units that fail more are written off sooner is asked at each origin, of
    /// what was on record then, as at night. `None`: nothing is stated, and it is not asked.
    pub life: Option<(f64, f64)>,
    /// Years each forecast is for.
    pub years: f64,
}

impl Trial<'_> {
    /// The prior with the law by which units that fail more are written off sooner, where the record of an origin chose it;
    /// a stated life that cannot be meant costs only that, as at night.
    fn knowing(&self, known: &[UnitHistory]) -> KindPrior {
        let ended: Vec<Ended<'_>> = known
            .iter()
            .map(|history| Ended {
                history,
                // One taken out while working is censored as one that serves still.
                end: if history.written_off {
                    LifeEnd::WrittenOff
                } else {
                    LifeEnd::Serving
                },
            })
            .collect();
        let life = self
            .life
            .and_then(|(median, shape)| fit_life(median, shape, &ended).ok());
        KindPrior {
            sooner: life.as_ref().and_then(KindLife::sooner),
            ..self.prior.clone()
        }
    }
}

/// One unit at one origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Rolled {
    /// Its place in the list of histories.
    pub unit: usize,
    /// The origin's place in the list of origins.
    pub origin: usize,
    /// What was said each way, and what happened; means cut to the time exposed.
    pub scored: Said<Scored>,
}

/// The history as known at a moment: windows cut there, later failures and renewals gone, the covariates
/// from then on those of its end.
#[must_use]
pub fn known_at(history: &UnitHistory, at: f64) -> UnitHistory {
    let mut known = history.clone();
    known.windows.retain(|w| w.from < at);
    for window in &mut known.windows {
        window.until = window.until.min(at);
    }
    known.failures.retain(|f| f.at <= at);
    known.renewals.retain(|r| r.at <= at);
    // What holds from then on is what held at its end, whatever came later.
    let last = known
        .windows
        .iter()
        .max_by(|a, b| a.until.total_cmp(&b.until));
    if let Some(x) = last.map(|w| w.x.clone()) {
        known.present = x;
    }
    known.written_off &= history.seen_until() <= at;
    known.installed.latest = known.installed.latest.min(at).max(known.installed.earliest);
    known
}

/// Years of (from, until] in which the unit was watched.
fn exposed(history: &UnitHistory, from: f64, until: f64) -> f64 {
    let windows = history.windows.iter();
    windows
        .map(|w| (w.until.min(until) - w.from.max(from)).max(0.0))
        .sum()
}

/// At each origin fits the kind, as it is fitted at night (effects of buildings, drift of recording and what write-offs say
/// among it), and the baselines on what was known, and meets what they say of the next years with what happened. A unit
/// takes part at an origin when it was watched just before and at some time after it; it counts for the share of the period
/// it was watched. Histories that cannot be are left out.
///
/// # Errors
/// A prior with numbers that cannot be meant.
pub fn roll(
    trial: &Trial<'_>,
    units: &[Housed<'_>],
    origins: &[f64],
) -> Result<Vec<Rolled>, InputError> {
    let years = trial.years;
    let year = recording::place(trial.prior);
    let mut rolled = Vec::new();
    for (origin, &at) in origins.iter().enumerate() {
        let until = at + years;
        let known: Vec<UnitHistory> = units
            .iter()
            .map(|unit| known_at(unit.history, at))
            .map(|known| match year {
                Some(place) => recording::by_year(&known, at, place),
                None => known,
            })
            .collect();
        let housed: Vec<Housed<'_>> = units
            .iter()
            .zip(&known)
            .map(|(unit, history)| Housed { history, ..*unit })
            .collect();
        let prior = &trial.knowing(&known);
        let fit = fit_kind_in_buildings(prior, &housed)?;
        let mut buildings: BTreeMap<&str, Vec<&UnitHistory>> = BTreeMap::new();
        for unit in &housed {
            let own = buildings.entry(unit.building).or_default();
            own.push(unit.history);
        }
        let mut standings = BTreeMap::new();
        for (building, own) in &buildings {
            standings.insert(*building, Standing::of(prior, &fit, building, own)?);
        }
        let baselines = Baselines::fit(prior, &known)?;
        let horizon = Horizon::next(at, years);
        for (unit, (whole, known)) in units.iter().zip(&known).enumerate() {
            let (whole, building) = (whole.history, whole.building);
            let watched = exposed(whole, at, until) / years;
            let before = whole.windows.iter().any(|w| w.from < at && w.until >= at);
            let standing = standings.get(building);
            let (true, true, Some(standing)) = (watched > 0.0, before, standing) else {
                continue;
            };
            let said = next_count(prior, &fit, (known, standing), &horizon)
                .and_then(|ours| baselines.beside(ours, known, &horizon));
            let Ok(said) = said else {
                continue;
            };
            let after = whole.counted().filter(|f| f.at > at && f.at <= until);
            let observed = after.count() as u64;
            let scored = said.map(|law| Scored {
                law: numerics::CountLaw {
                    mean: law.mean * watched,
                    ..law
                },
                observed,
            });
            rolled.push(Rolled {
                unit,
                origin,
                scored,
            });
        }
    }
    Ok(rolled)
}
