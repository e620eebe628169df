//! What happened to units, from a list.
use chrono::NaiveDate;
use terms::Pence;
use usecases::import::ListKind;

use super::estate::{Estate, HISTORY, UNITS, on};

#[test]
fn history_comes_in_parted_by_semicolons() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let preview = estate.look("history.csv", HISTORY.as_bytes());
    assert_eq!((preview.kind, preview.delimiter), (ListKind::History, ';'));
    assert_eq!(preview.doubts.before_watch, 0);
    assert_eq!(estate.bring_in("history.csv", HISTORY).new, 7);
    let b1 = estate.history(estate.unit("B1").id);
    let seen: Vec<(&str, Option<&str>, Option<&str>)> = b1
        .failures
        .iter()
        .map(|f| {
            (
                f.same_as.as_str(),
                f.part.as_deref(),
                f.function_lost.as_deref(),
            )
        })
        .collect();
    assert_eq!(
        seen,
        [
            ("a", Some("diverter_valve"), Some("hot_water")),
            ("a", None, Some("hot_water")),
            ("", Some("fan"), Some("heating_and_hot_water")),
        ]
    );
    let fan = &b1.failures[2];
    assert_eq!(
        (fan.happened_on, fan.happened_until),
        (on("2021-03-01"), Some(on("2021-03-31")))
    );
    assert!(fan.found_at_service && !fan.no_fault_found);
    let parts: Vec<(&str, NaiveDate, bool)> = b1
        .parts
        .iter()
        .map(|p| (p.part.as_str(), p.fitted_on, p.planned))
        .collect();
    assert_eq!(
        parts,
        [
            ("diverter_valve", on("2019-11-25"), false),
            ("pump", on("2023-02-28"), true)
        ],
        "fitted on a day of failure: not planned"
    );
    let paid: Vec<(&str, Option<Pence>)> = b1
        .services
        .iter()
        .map(|s| (s.what.as_str(), s.cost))
        .collect();
    assert_eq!(
        paid,
        [
            ("repair", Some(Pence(31_000))),
            ("service", Some(Pence(125_000)))
        ]
    );
    let b4 = estate.history(estate.unit("B4").id);
    assert!(b4.failures[0].no_fault_found);
    let same = estate.look("history.csv", format!("{HISTORY}\n").as_bytes());
    assert_eq!((same.counts.same, same.counts.coming()), (7, 0));
}
