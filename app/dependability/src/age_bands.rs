//! A kind's failures by the age they came at, against those its fit expects there (FORECAST §8): what shows that an ageing
//! taken from elsewhere is not that of these units.
use crate::history::{HALF_DAY, UnitHistory};
use crate::kind_fit::{Housed, KindFit};
use crate::observed::Observed;
use crate::prior::{InputError, KindPrior};
use crate::within::within;

/// Edges of the bands, years of age; the last band is open (FORECAST §8).
pub const EDGES: [f64; 5] = [0.0, 1.0, 5.0, 10.0, 15.0];
/// An installation known to within this many years is dated: its middle is taken. Others are in no band (judgement).
pub const DATED_WITHIN: f64 = 2.0;
/// 95 % point of the standard normal: the ends of a 90 % interval.
const Z90: f64 = 1.644_853_626_951_472_6;

/// What happened in one band of age.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AgeBand {
    /// From this age, years.
    pub from: f64,
    /// Up to this age; `None`: open.
    pub until: Option<f64>,
    /// Units watched in it.
    pub units: usize,
    /// Unit-years watched in it.
    pub unit_years: f64,
    /// Failures in it.
    pub failures: u32,
    /// Failures the fit expects there: z at the mean of the units there, each building with its own factor.
    pub expected: f64,
    /// θ of the fit.
    pub theta: f64,
}

impl AgeBand {
    /// Observed over expected with its 90 % interval, O/E exp(∓1.645 √((1 + θ ē)/O)) with ē the failures expected a unit
    /// (FORECAST §10); `None` without failures or without any expected.
    pub fn ratio90(&self) -> Option<(f64, f64, f64)> {
        ratio90(
            f64::from(self.failures),
            (self.expected, self.units),
            self.theta,
        )
    }
}

pub(crate) fn ratio90(
    seen: f64,
    (expected, units): (f64, usize),
    theta: f64,
) -> Option<(f64, f64, f64)> {
    (seen > 0.0 && expected > 0.0 && units > 0).then(|| {
        let each = expected / units as f64;
        let reach = (Z90 * ((1.0 + theta * each) / seen).sqrt()).exp();
        let ratio = seen / expected;
        (ratio, ratio / reach, ratio * reach)
    })
}

/// The middle of a unit's installation, where it is known nearly enough.
pub(crate) fn dated(history: &UnitHistory) -> Option<f64> {
    let known = history.installed;
    (known.latest - known.earliest <= DATED_WITHIN)
        .then(|| f64::midpoint(known.earliest, known.latest))
}

/// A unit's windows and failures by its age, windows that meet taken as one; `None` where its installation is not known to
/// within [`DATED_WITHIN`] years.
pub fn by_age(history: &UnitHistory) -> Option<Observed> {
    let installed = dated(history)?;
    let mut windows: Vec<(f64, f64)> = history
        .windows
        .iter()
        .map(|w| {
            (
                (w.from - installed).max(0.0),
                (w.until - installed).max(0.0),
            )
        })
        .filter(|(from, until)| until > from)
        .collect();
    windows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::new();
    for window in windows {
        match joined.last_mut() {
            Some(last) if window.0 - last.1 < 1e-9 => last.1 = last.1.max(window.1),
            _ => joined.push(window),
        }
    }
    Some(Observed {
        windows: joined,
        events: history
            .counted()
            .map(|f| ((f.at - installed).max(HALF_DAY), 1.0))
            .collect(),
    })
}

/// The bands of [`EDGES`] over these units, from their kind's fit. Histories that cannot be are left out.
///
/// # Errors
/// A fit of another version of the kind.
pub fn age_bands(
    prior: &KindPrior,
    fit: &KindFit,
    units: &[Housed<'_>],
) -> Result<Vec<AgeBand>, InputError> {
    fit.fits(prior)?;
    let mut bands: Vec<AgeBand> = EDGES
        .iter()
        .enumerate()
        .map(|(place, from)| AgeBand {
            from: *from,
            until: EDGES.get(place + 1).copied(),
            units: 0,
            unit_years: 0.0,
            failures: 0,
            expected: 0.0,
            theta: fit.theta(),
        })
        .collect();
    for unit in units {
        let (Some(installed), Ok(())) = (
            dated(unit.history),
            unit.history.check(prior.covariates.len()),
        ) else {
            continue;
        };
        let effect = effect_of(fit, unit.building);
        for band in &mut bands {
            add(prior, fit, (unit.history, installed, effect), band)?;
        }
    }
    Ok(bands)
}

/// A building's effect on the log rate as the fit has it; 0 where it has none.
pub(crate) fn effect_of(fit: &KindFit, building: &str) -> f64 {
    let all = fit.buildings.iter().flat_map(|b| &b.effects);
    all.filter(|e| e.building == building).map(|e| e.mean).sum()
}

fn add(
    prior: &KindPrior,
    fit: &KindFit,
    (history, installed, effect): (&UnitHistory, f64, f64),
    band: &mut AgeBand,
) -> Result<(), InputError> {
    let span = (
        installed + band.from,
        installed + band.until.unwrap_or(f64::INFINITY),
    );
    if let Some(met) = within(prior, fit, (history, installed, effect), span)? {
        band.failures += met.failures;
        band.units += 1;
        band.unit_years += met.years;
        band.expected += met.expected;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::{Failure, Installed, Window};
    use crate::kind_fit::fit_kind;

    fn unit(installed: (f64, f64), windows: &[(f64, f64)], failures: &[f64]) -> UnitHistory {
        UnitHistory {
            installed: Installed {
                earliest: installed.0,
                latest: installed.1,
            },
            windows: windows
                .iter()
                .map(|&(from, until)| Window {
                    from,
                    until,
                    x: Vec::new(),
                })
                .collect(),
            renewals: Vec::new(),
            failures: failures
                .iter()
                .map(|at| Failure {
                    part: None,
                    at: *at,
                    between: None,
                })
                .collect(),
            present: Vec::new(),
            merged: 0,
            written_off: false,
        }
    }

    /// By hand: without a record the fit is its prior, rate 0.2 at ten years and β 1.4 (FORECAST §3), so that
    /// 0.2 · 10/1.4 · ((b/10)^1.4 − (a/10)^1.4) failures are expected between the ages a and b.
    #[test]
    fn each_band_has_its_own_years_failures_and_expectation() {
        let prior = KindPrior::around(0.2, 0.7, Vec::new());
        let fit = fit_kind(&prior, &[]).unwrap();
        let old = unit(
            (0.0, 0.0),
            &[(3.0, 7.0), (9.0, 12.0)],
            &[5.0, 6.0, 8.0, 11.0],
        );
        let unsure = unit((0.0, 9.0), &[(9.0, 12.0)], &[10.0]);
        let all = [old, unsure];
        let housed: Vec<Housed<'_>> = all
            .iter()
            .map(|history| Housed {
                history,
                building: "one",
            })
            .collect();
        let bands = age_bands(&prior, &fit, &housed).unwrap();
        let seen: Vec<(f64, u32, usize)> = bands
            .iter()
            .map(|b| (b.unit_years, b.failures, b.units))
            .collect();
        // At five years to the day is still the band below; at eight nobody watched.
        assert_eq!(
            seen,
            [
                (0.0, 0, 0),
                (2.0, 1, 1),
                (3.0, 1, 1),
                (2.0, 1, 1),
                (0.0, 0, 0)
            ]
        );
        let between = |a: f64, b: f64| 2.0 / 1.4 * ((b / 10.0).powf(1.4) - (a / 10.0).powf(1.4));
        for (band, expected) in bands.iter().zip([
            0.0,
            between(3.0, 5.0),
            between(5.0, 7.0) + between(9.0, 10.0),
            between(10.0, 12.0),
            0.0,
        ]) {
            assert!((band.expected - expected).abs() < 1e-9, "{band:?}");
        }
        let (ratio, low, high) = bands[1].ratio90().unwrap();
        let reach = (1.6449 * (1.0 + 0.5 * between(3.0, 5.0)).sqrt()).exp();
        assert!((ratio * between(3.0, 5.0) - 1.0).abs() < 1e-9);
        assert!(
            (high / ratio / reach - 1.0).abs() < 1e-3 && (ratio / low / reach - 1.0).abs() < 1e-3
        );
        assert_eq!(bands[0].ratio90(), None);
    }

    #[test]
    fn windows_that_meet_are_one_by_age() {
        let told = unit((0.0, 1.0), &[(3.0, 4.0), (4.0, 6.0), (8.0, 9.0)], &[3.5]);
        let seen = by_age(&told).unwrap();
        assert_eq!(seen.windows, [(2.5, 5.5), (7.5, 8.5)]);
        assert_eq!(seen.events, [(3.0, 1.0)]);
        assert_eq!(by_age(&unit((0.0, 2.5), &[(3.0, 4.0)], &[])), None);
    }
}
