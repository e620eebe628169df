//! When a unit went without a service: a covariate that starts where the lapse does (FORECAST §7).
//!
//! x is 1 more than 13 months after the last service on record (twelve and a month of grace, judgement), until the next one;
//! 0 before the first service on record, of which the register says nothing. What comes of it is an association: homes
//! that nobody gets into, and landlords who care little, have both more lapses and more failures.
use chrono::{Months, NaiveDate};
use dependability::{UnitHistory, Window};

use super::season::axis;

/// What a service is called among the work on record.
pub(super) const SERVICE: &str = "service";
/// The rules of `DUTIES.csv` that ask for a service, not for a check or a look.
pub(super) const SERVICE_DUTIES: [&str; 7] = ["G4", "G5", "Y1", "Y2", "Y6", "U1", "N5"];
/// Months after a service from which it has lapsed.
const LAPSED_AFTER: u32 = 13;

/// First moments of lapses and their ends, on the histories' axis, until `today`; a last one without an end holds on.
pub(super) fn lapses(serviced: &[NaiveDate], today: NaiveDate) -> Vec<(f64, Option<f64>)> {
    let mut days = serviced.to_vec();
    days.retain(|day| *day <= today);
    days.sort_unstable();
    let next = days.iter().skip(1).map(|day| Some(*day)).chain([None]);
    days.iter()
        .zip(next)
        .filter_map(|(day, next)| {
            let lapsed = day.checked_add_months(Months::new(LAPSED_AFTER))?;
            let until = next.unwrap_or(today);
            (lapsed < until).then(|| (axis(lapsed), next.map(axis)))
        })
        .collect()
}

/// The history with its windows cut where a lapse begins and ends, each piece bearing 1 or 0 at `place`; what holds from now
/// on is what holds at the end.
pub(super) fn in_lapse(
    history: &UnitHistory,
    lapses: &[(f64, Option<f64>)],
    place: usize,
) -> UnitHistory {
    let mut cut = history.clone();
    cut.windows = history
        .windows
        .iter()
        .flat_map(|window| pieces(window, lapses, place))
        .collect();
    if let Some(x) = cut.present.get_mut(place) {
        *x = f64::from(u8::from(lapses.last().is_some_and(|l| l.1.is_none())));
    }
    cut
}

fn pieces(window: &Window, lapses: &[(f64, Option<f64>)], place: usize) -> Vec<Window> {
    let mut edges = vec![window.from, window.until];
    let moments = lapses.iter().flat_map(|l| [Some(l.0), l.1]).flatten();
    edges.extend(moments.filter(|at| *at > window.from && *at < window.until));
    edges.sort_by(f64::total_cmp);
    edges
        .windows(2)
        .map(|ends| {
            let middle = f64::midpoint(ends[0], ends[1]);
            let lapsed = lapses
                .iter()
                .any(|(from, until)| *from < middle && until.is_none_or(|until| middle < until));
            let mut x = window.x.clone();
            if let Some(x) = x.get_mut(place) {
                *x = f64::from(u8::from(lapsed));
            }
            Window {
                from: ends[0],
                until: ends[1],
                x,
            }
        })
        .collect()
}

/// Failures of a history in windows in which its service had lapsed.
pub(super) fn failures_in(history: &UnitHistory, place: usize) -> u32 {
    let lapsed = |at: f64| {
        // A failure on a shared boundary takes the earlier window, as the likelihood has it (FORECAST §1).
        let mut holding: Vec<&Window> = history
            .windows
            .iter()
            .filter(|w| (w.from..=w.until).contains(&at))
            .collect();
        holding.sort_by(|a, b| a.from.total_cmp(&b.from));
        let first = holding.first();
        first.is_some_and(|w| w.x.get(place).is_some_and(|x| *x > 0.5))
    };
    history.counted().filter(|f| lapsed(f.at)).count() as u32
}

#[cfg(test)]
mod tests {
    use dependability::{Failure, Installed};

    use super::*;

    fn on(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    fn watched(windows: &[(NaiveDate, NaiveDate)], failures: &[NaiveDate]) -> UnitHistory {
        UnitHistory {
            installed: Installed {
                earliest: axis(on(2010, 1, 1)),
                latest: axis(on(2010, 1, 1)),
            },
            windows: windows
                .iter()
                .map(|(from, until)| Window {
                    from: axis(*from),
                    until: axis(*until),
                    x: vec![1.0, 0.0],
                })
                .collect(),
            renewals: Vec::new(),
            failures: failures
                .iter()
                .map(|day| Failure {
                    part: None,
                    at: axis(*day),
                    between: None,
                })
                .collect(),
            present: vec![1.0, 0.0],
            merged: 0,
            written_off: false,
        }
    }

    #[test]
    fn a_lapse_begins_thirteen_months_after_a_service_and_ends_with_the_next() {
        let today = on(2026, 11, 25);
        let days = [on(2022, 3, 1), on(2021, 2, 1), on(2024, 3, 1)];
        let found = lapses(&days, today);
        // February 2021 to March 2022 is 13 months to the day; two years follow, and nothing after March 2024.
        assert_eq!(
            found,
            [
                (axis(on(2023, 4, 1)), Some(axis(on(2024, 3, 1)))),
                (axis(on(2025, 4, 1)), None)
            ]
        );
        assert!(lapses(&[], today).is_empty());
        assert!(lapses(&[on(2026, 1, 1)], today).is_empty());
        // One entered for a day to come has not happened.
        assert!(lapses(&[on(2027, 1, 1)], today).is_empty());
    }

    #[test]
    fn windows_are_cut_where_it_begins_and_ends_and_hold_as_much_time() {
        let today = on(2026, 11, 25);
        let history = watched(
            &[(on(2022, 1, 1), on(2023, 6, 1)), (on(2024, 1, 1), today)],
            &[
                on(2023, 5, 1),
                on(2024, 2, 1),
                on(2024, 6, 1),
                on(2026, 1, 1),
            ],
        );
        let lapses = lapses(&[on(2022, 3, 1), on(2024, 3, 1)], today);
        let cut = in_lapse(&history, &lapses, 1);
        let states: Vec<f64> = cut.windows.iter().map(|w| w.x[1]).collect();
        assert_eq!(states, [0.0, 1.0, 1.0, 0.0, 1.0]);
        assert!(cut.windows.iter().all(|w| w.x[0] == 1.0));
        assert!((cut.watched() - history.watched()).abs() < 1e-9);
        assert_eq!(cut.present, [1.0, 1.0]);
        assert_eq!(failures_in(&cut, 1), 3);
        assert_eq!(cut.check(2), Ok(()));
        let none = in_lapse(&history, &[], 1);
        assert_eq!(none, history);
    }
}
