//! Real repair histories by rolling origin.
//!
//! One rule for all, fixed before any was run: the longest age is called 10 years, origins stand at 3, 4 … 9 tenths of
//! it, the period is a tenth. No figure is published for these machines, so the prior is one failure a machine in ten
//! years, give or take a factor of e² (sd 2 on the log); ageing and difference between units as FORECAST §3.
use std::collections::BTreeMap;
use std::path::Path;

use dependability::judgement::{Case, Judgement, judge};
use dependability::rolling::roll;
use dependability::{Failure, Installed, KindPrior, UnitHistory, Window};

/// Name of the files and what they are.
pub const SETS: [(&str, &str); 5] = [
    ("valve_seat", "valve seats, 41 diesel engines"),
    ("proschan_odd", "air conditioning, 7 aircraft"),
    ("mettas_zhao", "6 repairable systems"),
    ("lhd_hydraulic", "hydraulics, 6 loaders"),
    ("vehicle_windows1", "vehicles seen in windows"),
];

/// Reads NAME_windows.csv and NAME_events.csv; `None` where they are not there.
pub fn read(folder: &Path, name: &str) -> Option<Vec<UnitHistory>> {
    let rows = |file: &str| -> Option<Vec<Vec<String>>> {
        let path = folder.join(format!("{name}_{file}.csv"));
        let mut reader = csv::Reader::from_path(path).ok()?;
        let rows = reader.records().filter_map(Result::ok);
        Some(
            rows.map(|r| r.iter().map(str::to_owned).collect())
                .collect(),
        )
    };
    let number = |text: &String| text.parse::<f64>().unwrap_or(f64::NAN);
    let windows = rows("windows")?;
    let longest = windows.iter().map(|r| number(&r[2])).fold(0.0, f64::max);
    let scale = 10.0 / longest;
    let mut units: BTreeMap<String, UnitHistory> = BTreeMap::new();
    for row in &windows {
        let unit = units.entry(row[0].clone()).or_insert_with(|| UnitHistory {
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
            from: number(&row[1]) * scale,
            until: number(&row[2]) * scale,
            x: Vec::new(),
        });
    }
    for row in rows("events")? {
        let at = number(&row[1]) * scale;
        let failure = Failure { part: None, at };
        units.get_mut(&row[0])?.failures.push(failure);
    }
    Some(units.into_values().collect())
}

/// Rolls and judges; every machine is a group.
pub fn judged(histories: &[UnitHistory]) -> Option<Judgement> {
    let prior = KindPrior::around(0.1, 2.0, Vec::new());
    let origins: Vec<f64> = (3..10).map(f64::from).collect();
    let cases: Vec<Case> = roll(&prior, histories, &origins, 1.0)
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
