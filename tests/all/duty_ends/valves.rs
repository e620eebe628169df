//! The tests of a mixing valve in a care setting.
use usecases::Error;
use usecases::duties::{self, MixingTest};

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
