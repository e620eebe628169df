//! Published repair histories come in as lists, and the fit of what the register then says has the stated values.
//!
//! valve_seat: Nelson 1995, as `valveSeat` in the R package survival; lhd_hydraulic: Kumar, Klefsjö and Granholm 1989.
//! One unit of their time is one day. The answers and tolerances are those of the reference cases, computed outside.
use std::fmt::Write;
use std::path::{Path, PathBuf};

use chrono::{NaiveDate, TimeDelta};
use serde_json::{Value, json};
use tests::reference::{Report, run_folder};

use crate::import::{Estate, block};

/// A case with its windows and events, ages in days.
struct Case {
    whole: Value,
    windows: Vec<(String, i64)>,
    events: Vec<(String, i64)>,
}

fn cells(path: &Path) -> Vec<Vec<String>> {
    csv::Reader::from_path(path)
        .unwrap()
        .records()
        .map(|r| r.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

/// Whole days only: the register keeps days.
fn days(cell: &str) -> i64 {
    let number: f64 = cell.parse().unwrap();
    assert!(number.fract() == 0.0, "{cell} is no whole day");
    number as i64
}

fn case(folder: &Path, id: &str) -> Option<Case> {
    let text = std::fs::read_to_string(folder.join("cases.json")).ok()?;
    let all: Value = serde_json::from_str(&text).unwrap();
    let whole = all["cases"]
        .as_array()?
        .iter()
        .find(|c| c["id"] == id)?
        .clone();
    let file = |role: &str| cells(&folder.join(whole["files"][role].as_str().unwrap()));
    let windows = file("windows")
        .into_iter()
        .map(|row| {
            assert_eq!(days(&row[1]), 0, "every unit is seen from its first day");
            (row[0].clone(), days(&row[2]))
        })
        .collect();
    let events = file("events")
        .into_iter()
        .map(|row| (row[0].clone(), days(&row[1])))
        .collect();
    Some(Case {
        whole,
        windows,
        events,
    })
}

/// The two lists as somebody would send them. Each unit was fitted so that its record ends today.
fn lists(case: &Case, today: NaiveDate) -> (String, String) {
    let fitted = |end: i64| today - TimeDelta::days(end);
    let mut units = "Unit number;Flat;Kind;Fitted;Records since\n".to_owned();
    for (unit, end) in &case.windows {
        let day = fitted(*end);
        writeln!(
            units,
            "{unit};Plant room;PB;{};{}",
            day.format("%d/%m/%Y"),
            day.format("%d/%m/%Y")
        )
        .unwrap();
    }
    let mut history = "Unit number,Date,What,Words\n".to_owned();
    for (n, (unit, age)) in case.events.iter().enumerate() {
        let end = case.windows.iter().find(|w| w.0 == *unit).unwrap().1;
        let day = fitted(end) + TimeDelta::days(*age);
        writeln!(history, "{unit},{day},failure,repair {}", n + 1).unwrap();
    }
    (units, history)
}

/// Imports a case, reads it back from the register as ages, and has the reference runner judge it.
fn judge(case: &Case) {
    let estate = Estate::bare();
    block(estate.world(), &estate.seat, "Works", (1, 1));
    let today = estate.world().now().date_naive();
    let (units, history) = lists(case, today);
    let (came, happened) = (
        estate.bring_in("units.csv", &units),
        estate.bring_in("history.csv", &history),
    );
    assert_eq!(came.new as usize, case.windows.len());
    assert_eq!(happened.new as usize, case.events.len());

    let folder = std::env::temp_dir().join(format!("riserward-{}", uuid::Uuid::new_v4().simple()));
    std::fs::create_dir_all(&folder).unwrap();
    let (mut windows, mut events) = ("unit,start,end\n".to_owned(), "unit,time\n".to_owned());
    for unit in estate.units() {
        let (fitted, until) = unit.installed.unwrap();
        assert_eq!(fitted, until);
        let age = |day: NaiveDate| (day - fitted).num_days();
        writeln!(
            windows,
            "{},{},{}",
            unit.number,
            age(unit.watched_from),
            age(today)
        )
        .unwrap();
        for failure in estate.history(unit.id).failures {
            writeln!(events, "{},{}", unit.number, age(failure.happened_on)).unwrap();
        }
    }
    std::fs::write(folder.join("windows.csv"), windows).unwrap();
    std::fs::write(folder.join("events.csv"), events).unwrap();
    let mut whole = case.whole.clone();
    whole["files"] = json!({"windows": "windows.csv", "events": "events.csv"});
    let cases = json!({"schema": "reliability-cases-2", "cases": [whole]});
    std::fs::write(folder.join("cases.json"), cases.to_string()).unwrap();
    let mut report = Report::default();
    run_folder(&folder, &mut report).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!(report.counts(), (1, 0, 0), "{report}");
}

fn here() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/reliability")
}

#[test]
fn valve_seats_come_in_as_lists_and_the_fit_has_the_published_values() {
    let case = case(&here(), "valve_seat").expect("the copy in tests/reference");
    // 41 engines and 48 replacements (Nelson 1995; R package survival, valveSeat).
    assert_eq!((case.windows.len(), case.events.len()), (41, 48));
    judge(&case);
}

#[test]
fn loader_hydraulics_come_in_as_lists_and_the_fit_has_the_stated_values() {
    // The data may not be copied into the repository: they are read where the shared cases lie, or named as missing.
    let shared = std::env::var("RISERWARD_REFERENCE").map_or_else(
        |_| here().join("../../../../shared/reference"),
        PathBuf::from,
    );
    let Some(case) = case(&shared.join("reliability"), "lhd_hydraulic") else {
        eprintln!(
            "lhd_hydraulic was not run: no shared cases at {}",
            shared.display()
        );
        return;
    };
    assert_eq!(case.windows.len(), 6);
    judge(&case);
}
