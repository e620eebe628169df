//! The tests of a mixing valve in a care setting.
use terms::Fate;
use usecases::Error;
use usecases::duties::{self, MixingTest};
use usecases::register::{self, Replacement, UnitFacts};

use crate::duties::{Estate, day};

// Scheme D 08 and three makers' manuals (published pages): 6 to 8, 12 to 15, then 18 to 21 or 24 to 28 weeks after
// fitting. Fitted on 5 January 2026; weeks counted by hand.
#[test]
fn a_care_valve_is_tested_by_what_was_found() {
    for (moved, third) in [
        ([0.4, -0.8], "2026-07-20"),
        ([0.4, 2.5], "2026-06-01"),
        ([1.5, -1.5], "2026-06-01"),
    ] {
        let estate = Estate::new();
        let flat = estate.flat(None);
        let valve = estate.unit("TMV", "EL-001", flat, Some("2026-01-05"));
        let duty = duties::start_mixing_tests(estate.world(), &estate.seat, valve, "v1").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day("2026-03-02")));
        let test = |on: &str, moved_k: f64, once: &str| {
            let form = MixingTest {
                duty,
                on: day(on),
                moved_k,
                evidence: "record 4".to_owned(),
            };
            duties::record_mixing_test(estate.world(), &estate.seat, form, once)
        };
        test("2026-02-20", moved[0], "a").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day("2026-04-20")));
        // Too early for the second, which may first be made on 30 March: it stays due.
        test("2026-03-20", 0.0, "early").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day("2026-04-20")));
        test("2026-04-10", moved[1], "b").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day(third)), "{moved:?}");
        let after = day(third);
        test(third, 0.0, "c").unwrap();
        assert_eq!(
            estate.deadline(valve, "V1"),
            Some(inspection::calendar::add_months(after, 12))
        );
        // The clock's own task leaves what the desk opened.
        duties::refresh(estate.world(), &estate.seat).unwrap();
        assert!(estate.proved(valve, "V1").card.ended_on.is_none());
        assert!(matches!(
            duties::start_mixing_tests(estate.world(), &estate.seat, valve, "v2"),
            Err(Error::Conflict(_))
        ));
    }
    let estate = Estate::new();
    let flat = estate.flat(None);
    let undated = estate.unit("TMV", "EL-009", flat, None);
    assert!(matches!(
        duties::start_mixing_tests(estate.world(), &estate.seat, undated, "v3"),
        Err(Error::Conflict(_))
    ));
}

/// The tests are of a valve: with another they are counted from the day that one came.
#[test]
fn another_valve_begins_its_tests_anew() {
    let estate = Estate::new();
    let flat = estate.flat(None);
    let valve = estate.unit("TMV", "EL-001", flat, Some("2026-01-05"));
    duties::start_mixing_tests(estate.world(), &estate.seat, valve, "v1").unwrap();
    let on = day("2026-11-02");
    let replace = |old, kind: &str, on, once: &str| {
        let form = Replacement {
            old,
            facts: UnitFacts {
                kind: kind.to_owned(),
                serial: String::new(),
                installed: Some((on, on)),
                rated_kw: None,
                litres: None,
                filter_fitted: None,
                reducer_fitted: None,
                warranty_until: None,
                note: String::new(),
            },
            on,
            fate: Fate::WrittenOff,
        };
        register::replace_unit(estate.world(), &estate.seat, form, once).unwrap()
    };
    let second = replace(valve, "TMV", on, "r1");
    // Eight weeks after 2 November 2026 (scheme D 08, published page), counted by hand.
    assert_eq!(estate.deadline(second, "V1"), Some(day("2026-12-28")));
    let other = replace(second, "BC", day("2026-11-20"), "r2");
    let proof = duties::proof(estate.world(), &estate.seat, other).unwrap();
    assert!(proof.duties.iter().all(|d| d.line.rule.code != "V1"));
}
