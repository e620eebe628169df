//! Recording drift: a record that is kept more fully from year to year looks like units that age faster (FORECAST §0
//! point 7). A covariate of the calendar year takes it up.
//!
//! Its value is 0 over the twelve months before the reckoning, −1 over the twelve before those, and so on, so that the
//! kind's rate is the rate as recorded now. From now on the last level holds: drift is never carried forward.
use crate::history::{UnitHistory, Window};
use crate::prior::{CovariatePrior, KindPrior};
use crate::verdict::Normal;

/// Code of the covariate.
pub const YEAR: &str = "recording_year";
/// Years before this many share one level: nothing so old is told apart.
const OLDEST: i32 = 40;
/// Units installed within so many years of one another are of one age: how old they are and which year it is say the
/// same (judgement).
const ONE_AGE: f64 = 2.0;

/// The covariate with its prior: N(0, 0.1) on the log rate a year (FORECAST §3, judgement).
pub fn covariate() -> CovariatePrior {
    CovariatePrior {
        code: YEAR.to_owned(),
        effect: Normal { mean: 0.0, sd: 0.1 },
    }
}

/// Where it stands among a kind's covariates.
pub fn place(prior: &KindPrior) -> Option<usize> {
    prior.covariates.iter().position(|c| c.code == YEAR)
}

/// The history with its windows cut at each whole year before `now`, each piece bearing its year at `place`. What stood
/// there before is not read: a history cut at one moment may be cut again at another.
#[must_use]
pub fn by_year(history: &UnitHistory, now: f64, place: usize) -> UnitHistory {
    let mut cut = history.clone();
    cut.windows = whole(history, place)
        .into_iter()
        .flat_map(|window| pieces(window, now, place))
        .collect();
    if let Some(level) = cut.present.get_mut(place) {
        *level = 0.0;
    }
    cut
}

/// Windows that meet and differ at `place` alone, put together again.
fn whole(history: &UnitHistory, place: usize) -> Vec<Window> {
    let mut windows = history.windows.clone();
    windows.sort_by(|a, b| a.from.total_cmp(&b.from));
    let mut joined: Vec<Window> = Vec::new();
    for mut window in windows {
        if let Some(level) = window.x.get_mut(place) {
            *level = 0.0;
        }
        match joined.last_mut() {
            Some(last) if last.until == window.from && last.x == window.x => {
                last.until = window.until;
            }
            _ => joined.push(window),
        }
    }
    joined
}

fn pieces(window: Window, now: f64, place: usize) -> Vec<Window> {
    let mut edges = vec![window.from];
    edges.extend(
        (1..=OLDEST)
            .rev()
            .map(|years| now - f64::from(years))
            .filter(|at| *at > window.from && *at < window.until),
    );
    edges.push(window.until);
    edges
        .windows(2)
        .map(|ends| {
            let ago = (now - f64::midpoint(ends[0], ends[1])).floor();
            let mut x = window.x.clone();
            if let Some(level) = x.get_mut(place) {
                *level = -ago.clamp(0.0, f64::from(OLDEST));
            }
            Window {
                from: ends[0],
                until: ends[1],
                x,
            }
        })
        .collect()
}

/// Whether the units watched are all of one age, so that a record grown fuller and units grown older cannot be told
/// apart.
pub(crate) fn one_age<'a>(histories: impl Iterator<Item = &'a UnitHistory>) -> bool {
    let (mut first, mut last) = (f64::INFINITY, f64::NEG_INFINITY);
    for history in histories.filter(|h| h.watched() > 0.0) {
        first = first.min(history.installed.earliest);
        last = last.max(history.installed.latest);
    }
    last.is_finite() && last - first <= ONE_AGE
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::Installed;

    fn history(windows: &[(f64, f64)]) -> UnitHistory {
        UnitHistory {
            installed: Installed {
                earliest: 2000.0,
                latest: 2000.0,
            },
            windows: windows
                .iter()
                .map(|(from, until)| Window {
                    from: *from,
                    until: *until,
                    x: vec![1.0, 0.0],
                })
                .collect(),
            renewals: Vec::new(),
            failures: Vec::new(),
            present: vec![1.0, 0.0],
            merged: 0,
            written_off: false,
        }
    }

    fn told(cut: &UnitHistory) -> Vec<(f64, f64, f64)> {
        cut.windows
            .iter()
            .map(|w| (w.from, w.until, w.x[1]))
            .collect()
    }

    #[test]
    fn the_last_twelve_months_are_nought_and_earlier_years_count_back() {
        let cut = by_year(&history(&[(2017.25, 2020.5)]), 2020.5, 1);
        assert_eq!(
            told(&cut),
            [
                (2017.25, 2017.5, -3.0),
                (2017.5, 2018.5, -2.0),
                (2018.5, 2019.5, -1.0),
                (2019.5, 2020.5, 0.0)
            ]
        );
        assert!(cut.windows.iter().all(|w| w.x[0] == 1.0));
        assert_eq!(cut.present, [1.0, 0.0]);
        cut.check(2).unwrap();
    }

    #[test]
    fn cut_again_at_another_moment_it_is_as_if_cut_there_only() {
        let plain = history(&[(2010.0, 2014.3), (2015.0, 2020.5)]);
        let twice = by_year(&by_year(&plain, 2020.5, 1), 2020.1, 1);
        assert_eq!(twice, by_year(&plain, 2020.1, 1));
        assert!((twice.watched() - plain.watched()).abs() < 1e-12);
    }

    #[test]
    fn units_installed_together_are_of_one_age() {
        let mut late = history(&[(2010.0, 2014.0)]);
        late.installed.latest = 2001.9;
        assert!(one_age([&history(&[(2010.0, 2014.0)]), &late].into_iter()));
        late.installed.latest = 2002.1;
        assert!(!one_age([&history(&[(2010.0, 2014.0)]), &late].into_iter()));
        assert!(!one_age([].into_iter()));
    }
}
