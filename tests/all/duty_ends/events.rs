//! Events: what follows from each, by when, and how it ends.
use inspection::calendar::date_words;
use terms::SpaceId;
use usecases::duties::{self, EnterEvent, EventDone, TakeBackEvent};
use usecases::{Error, founding};

use super::fields;
use crate::duties::{Estate, day};

fn event(estate: &Estate, happening: &str, space: Option<SpaceId>, on: &str) -> EnterEvent {
    EnterEvent {
        happening: happening.to_owned(),
        building: estate.building,
        space,
        on: day(on),
        period_days: None,
        words: String::new(),
    }
}

// Days after an event: trade file on duties, table 2 and section 3 (law text and published pages), counted by hand.
#[test]
fn an_event_raises_what_follows_with_its_day() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let enter = |form: EnterEvent, once: &str| {
        duties::enter_event(estate.world(), &estate.seat, form, once)
    };
    // A tenancy begins on 1 December: the record before or on it, the alarms on the day.
    assert_eq!(
        enter(
            event(&estate, "tenancy_begins", Some(flat), "2026-12-01"),
            "t1"
        )
        .unwrap()
        .len(),
        2
    );
    enter(
        event(&estate, "tenancy_begins", Some(flat), "2026-12-01"),
        "t1",
    )
    .unwrap();
    let cases = [
        ("gas_check_made", "2026-02-12", "2026-03-12"),
        ("dangerous_gas_fitting", "2026-02-12", "2026-02-26"),
        ("council_asks", "2026-11-20", "2026-11-27"),
        ("wiring_put_right", "2026-11-01", "2026-11-29"),
        ("flat_empty", "2026-11-20", "2026-11-27"),
    ];
    for (n, (happening, on, _)) in cases.iter().enumerate() {
        enter(event(&estate, happening, Some(flat), on), &format!("c{n}")).unwrap();
    }
    // Faults found on 4 August: 28 days starting with that day end on 31 August; a report may shorten, here to 14.
    let report = EnterEvent {
        period_days: Some(14),
        ..event(&estate, "wiring_inspected", Some(flat), "2026-08-04")
    };
    enter(report, "w").unwrap();
    let lines = duties::event_lines(estate.world(), &estate.seat).unwrap();
    assert_eq!(lines.len(), 2 + 5 + 2, "each once");
    let due = |code: &str| {
        let line = lines.iter().find(|l| l.duty.event == code).unwrap();
        assert!(
            line.duty.sentence.contains(&date_words(line.duty.due_on)),
            "{}",
            line.duty.sentence
        );
        assert!(!line.basis.is_empty() && !line.status.is_empty());
        line.duty.due_on
    };
    assert_eq!(due("gas_record_to_new_tenant"), day("2026-12-01"));
    assert_eq!(due("alarm_test_new_tenancy"), day("2026-12-01"));
    for (code, (_, _, by)) in [
        "gas_record_to_existing_tenant",
        "riddor_report",
        "eicr_copy_to_council",
        "eicr_proof_to_tenant",
        "void_first_flush",
    ]
    .iter()
    .zip(cases)
    {
        assert_eq!(due(code), day(by), "{code}");
    }
    assert_eq!(due("eicr_remedy"), day("2026-08-17"));
    assert_eq!(due("eicr_copy_to_tenant"), day("2026-09-01"));
    let late = lines
        .iter()
        .find(|l| l.duty.event == "riddor_report")
        .unwrap();
    // From 26 February to 25 November 2026, by hand: 2 + 31 + 30 + 31 + 30 + 31 + 31 + 30 + 31 + 25.
    assert_eq!(late.days_late, 272);
}

#[test]
fn an_event_is_done_with_evidence_or_taken_back_with_a_reason() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let world = estate.world();
    let ids = duties::enter_event(
        world,
        &estate.seat,
        event(&estate, "tenancy_begins", Some(flat), "2026-11-24"),
        "t1",
    )
    .unwrap();
    let done = |id, on: &str, evidence: &str, once: &str| {
        let form = EventDone {
            id,
            on: day(on),
            evidence: evidence.to_owned(),
        };
        duties::event_done(world, &estate.seat, form, once)
    };
    assert_eq!(
        fields(done(ids[0], "2026-11-26", " ", "d1").unwrap_err()),
        ["on", "evidence"]
    );
    done(ids[0], "2026-11-25", "handed over, signed for", "d2").unwrap();
    done(ids[0], "2026-11-25", "handed over, signed for", "d2").unwrap();
    assert!(matches!(
        done(ids[0], "2026-11-25", "again", "d3"),
        Err(Error::Conflict(_))
    ));
    let back = |reason: &str, once: &str| {
        let form = TakeBackEvent {
            id: ids[1],
            reason: reason.to_owned(),
        };
        duties::take_back_event(world, &estate.seat, form, once)
    };
    assert_eq!(fields(back("", "b1").unwrap_err()), ["reason"]);
    back("the tenancy fell through", "b2").unwrap();
    let lines = duties::event_lines(world, &estate.seat).unwrap();
    assert_eq!(lines.len(), 1, "what was taken back is not due");
    assert_eq!(
        lines[0].days_late, 1,
        "done a day late, and that stays said"
    );
    let nowhere = event(&estate, "tenancy_begins", None, "2026-11-24");
    assert_eq!(
        fields(duties::enter_event(world, &estate.seat, nowhere, "n1").unwrap_err()),
        ["space"]
    );
    let moon = event(&estate, "moon_landing", Some(flat), "2026-11-24");
    assert_eq!(
        fields(duties::enter_event(world, &estate.seat, moon, "n2").unwrap_err()),
        ["happening"]
    );
    let stranger = founding::found_estate(world, "Other Estate", false).unwrap();
    let theirs = event(&estate, "flat_empty", Some(flat), "2026-11-24");
    assert!(matches!(
        duties::enter_event(world, &stranger, theirs, "s1"),
        Err(Error::NotFound(_))
    ));
    assert!(duties::event_lines(world, &stranger).unwrap().is_empty());
}
