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
use crate::rolling::roll;

/// Names of the sets, as their files begin, and what they are.
pub const SETS: [(&str, &str); 5] = [
    ("valve_seat", "valve seats of 41 diesel engines"),
    ("proschan_odd", "air conditioning of 7 aircraft"),
    ("mettas_zhao", "6 repairable systems"),
    ("lhd_hydraulic", "hydraulics of 6 loaders"),
    ("vehicle_windows1", "vehicles seen in windows"),
];

/// Reads the two tables of a set: unit, start and end of each window; unit and age of each failure. A heading stands over
/// each.
///
/// # Errors
/// The line that cannot be read.
pub fn histories(windows: &str, events: &str) -> Result<Vec<UnitHistory>, String> {
    let windows = table(windows)?;
    let longest = windows.iter().map(|(_, r)| r[1]).fold(0.0, f64::max);
    let scale = 10.0 / longest;
    let mut units: BTreeMap<String, UnitHistory> = BTreeMap::new();
    for (name, row) in &windows {
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
        });
        unit.windows.push(Window {
            from: row[0] * scale,
            until: row[1] * scale,
            x: Vec::new(),
        });
    }
    for (name, row) in table(events)? {
        let unit = units
            .get_mut(&name)
            .ok_or_else(|| format!("unit {name} failed but was never watched"))?;
        let at = row[0] * scale;
        unit.failures.push(Failure { part: None, at });
    }
    Ok(units.into_values().collect())
}

/// Name and the two numbers after it; a table of two columns gives its one number twice.
fn table(text: &str) -> Result<Vec<(String, [f64; 2])>, String> {
    let rows = text.lines().skip(1).filter(|line| !line.trim().is_empty());
    rows.map(|line| {
        let mut cells = line.split(',').map(|cell| cell.trim().trim_matches('"'));
        let name = cells.next().unwrap_or_default().to_owned();
        let wrong = || format!("“{line}” cannot be read");
        let mut number = || {
            let cell = cells.next()?;
            cell.parse::<f64>().ok().filter(|v| v.is_finite())
        };
        let first = number().ok_or_else(wrong)?;
        Ok((name, [first, number().unwrap_or(first)]))
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
    let cases: Vec<Case> = roll(&prior, &housed, &origins, 1.0)
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
