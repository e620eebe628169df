//! The model tried on published repair histories, where nobody here chose what happened.
//!
//! One rule for all, fixed before any was run: the longest age is called 10 years, origins stand at 3, 4 … 9 tenths of
//! it, the period is a tenth. No figure is published for these machines, so the prior is one failure a machine in ten
//! years, give or take a factor of e² (sd 2 on the log); ageing and difference between units as FORECAST §3. No drift of
//! recording is asked about: who published them kept one record throughout.
use std::collections::BTreeMap;

use crate::history::{Failure, Installed, UnitHistory, Window};
use crate::judgement::{Case, Judgement, judge};
use crate::kind_fit::Housed;
use crate::prior::KindPrior;
use crate::rolling::{Trial, roll};

/// Names of the sets, as their files begin, and what they are.
pub const SETS: [(&str, &str); 5] = [
    ("valve_seat", "valve seats of 41 diesel engines"),
    ("proschan_odd", "air conditioning of 7 aircraft"),
    ("mettas_zhao", "6 repairable systems"),
    ("lhd_hydraulic", "hydraulics of 6 loaders"),
    ("vehicle_windows1", "vehicles seen in windows"),
];

/// Reads the two tables of a set: unit, start and end of each window; unit and age of each failure. A heading stands over
/// each. Every cell must be there and be meant: none is taken for nought, or for its neighbour.
///
/// # Errors
/// The table, row and column that cannot be read, counted from 1 with the heading as row 1.
pub fn histories(windows: &str, events: &str) -> Result<Vec<UnitHistory>, String> {
    let windows = table::<2>("windows", windows)?;
    let longest = windows.iter().map(|(_, _, r)| r[1]).fold(0.0, f64::max);
    if longest <= 0.0 {
        return Err("windows: no unit is watched for any time".to_owned());
    }
    let scale = 10.0 / longest;
    let mut units: BTreeMap<String, UnitHistory> = BTreeMap::new();
    for (_, name, row) in &windows {
        let unit = units.entry(name.clone()).or_insert_with(|| UnitHistory {
            installed: Installed {
                earliest: 0.0,
                latest: 0.0,
            },
            windows: Vec::new(),
            renewals: Vec::new(),
            failures: Vec::new(),
            present: Vec::new(),
            merged: 0,
            written_off: false,
        });
        unit.windows.push(Window {
            from: row[0] * scale,
            until: row[1] * scale,
            x: Vec::new(),
        });
    }
    for (at, name, row) in table::<1>("events", events)? {
        let unit = units.get_mut(&name).ok_or_else(|| {
            format!("events, row {at}, column 1: unit {name} failed but was never watched")
        })?;
        let at = row[0] * scale;
        unit.failures.push(Failure {
            part: None,
            at,
            between: None,
        });
    }
    Ok(units.into_values().collect())
}

/// Row, name and the `N` numbers after it; columns after those are not read.
fn table<const N: usize>(what: &str, text: &str) -> Result<Vec<(usize, String, [f64; N])>, String> {
    let rows = text.lines().enumerate().skip(1);
    rows.filter(|(_, line)| !line.trim().is_empty())
        .map(|(place, line)| {
            let row = place + 1;
            let cells: Vec<&str> = line
                .split(',')
                .map(|cell| cell.trim().trim_matches('"'))
                .collect();
            let wrong =
                |column: usize, why: &str| format!("{what}, row {row}, column {column}: {why}");
            let cell = |column: usize| match cells.get(column - 1) {
                Some(cell) if !cell.is_empty() => Ok(*cell),
                _ => Err(wrong(column, "nothing stands there")),
            };
            let name = cell(1)?.to_owned();
            let mut numbers = [0.0; N];
            for (n, number) in numbers.iter_mut().enumerate() {
                let (column, told) = (n + 2, cell(n + 2)?);
                *number = told
                    .parse()
                    .ok()
                    .filter(|v: &f64| v.is_finite() && *v >= 0.0)
                    .ok_or_else(|| wrong(column, &format!("“{told}” is no age")))?;
            }
            Ok((row, name, numbers))
        })
        .collect()
}

/// Rolls and judges; every machine is a group. Nothing is known of where they stood, so no effect of a place is asked
/// about.
pub fn judged(histories: &[UnitHistory]) -> Option<Judgement> {
    let prior = KindPrior::around(0.1, 2.0, Vec::new());
    let origins: Vec<f64> = (3..10).map(f64::from).collect();
    let housed: Vec<Housed<'_>> = histories
        .iter()
        .map(|history| Housed {
            history,
            building: "",
        })
        .collect();
    // No machine of these was written off, and no life of any is stated.
    let trial = Trial {
        prior: &prior,
        life: None,
        years: 1.0,
    };
    let cases: Vec<Case> = roll(&trial, &housed, &origins)
        .ok()?
        .into_iter()
        .map(|one| Case {
            group: one.unit.to_string(),
            unit: one.unit.to_string(),
            scored: one.scored,
        })
        .collect();
    judge(&cases)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOWS: &str = "unit,start,end\nA,0,20\n\nB,5,10\n";
    const EVENTS: &str = "unit,age\nA,4\n\"B\", 6\n";

    #[test]
    fn the_longest_age_is_called_ten_years() {
        let read = histories(WINDOWS, EVENTS).unwrap();
        let told: Vec<(f64, f64, f64)> = read
            .iter()
            .map(|u| (u.windows[0].from, u.windows[0].until, u.failures[0].at))
            .collect();
        assert_eq!(told, [(0.0, 10.0, 2.0), (2.5, 5.0, 3.0)]);
    }

    #[test]
    fn a_cell_that_is_missing_or_bad_is_refused_with_its_row_and_column() {
        for (windows, events, why) in [
            (
                "unit,start,end\nA,0\n",
                EVENTS,
                "windows, row 2, column 3: nothing stands there",
            ),
            (
                "unit,start,end\nA,0,20\nB,,10\n",
                EVENTS,
                "windows, row 3, column 2: nothing stands there",
            ),
            (
                "unit,start,end\nA,0,twenty\n",
                EVENTS,
                "windows, row 2, column 3: “twenty” is no age",
            ),
            (
                "unit,start,end\n,0,20\n",
                EVENTS,
                "windows, row 2, column 1: nothing stands there",
            ),
            (
                WINDOWS,
                "unit,age\nA,4\nB\n",
                "events, row 3, column 2: nothing stands there",
            ),
            (
                WINDOWS,
                "unit,age\nA,inf\n",
                "events, row 2, column 2: “inf” is no age",
            ),
            (
                WINDOWS,
                "unit,age\nC,4\n",
                "events, row 2, column 1: unit C failed but was never watched",
            ),
            (
                "unit,start,end\n",
                "unit,age\n",
                "windows: no unit is watched for any time",
            ),
        ] {
            assert_eq!(histories(windows, events), Err(why.to_owned()));
        }
    }
}
