//! Rounds through their use cases: placed inside windows and hours, stable, moved, offered.
use std::collections::BTreeSet;

use chrono::Datelike;
use terms::{Covers, EngineerId, JobState, Qualification};
use usecases::founding::{self, NewEngineer};
use usecases::plan::{self, MoveVisit};
use usecases::{Error, work};

use crate::duties::{Estate, day};

fn qualified(covers: &[Covers]) -> Vec<Qualification> {
    covers
        .iter()
        .map(|&covers| Qualification {
            covers,
            number: "1234".to_owned(),
            from_on: day("2024-01-01"),
            until_on: day("2030-01-01"),
        })
        .collect()
}

pub fn engineer(estate: &Estate, firm: &str, minutes: i32, covers: &[Covers]) -> EngineerId {
    let world = estate.world();
    let firm = founding::add_firm(world, estate.seat.estate(), firm, minutes).unwrap();
    let new = NewEngineer {
        firm,
        name: "A. Fitter".to_owned(),
        account: None,
        qualifications: qualified(covers),
        instruments: Vec::new(),
    };
    founding::add_engineer(world, &new).unwrap()
}

/// Twenty flats with boilers whose checks fall due over the year, one late, one without evidence.
pub fn estate() -> Estate {
    let estate = Estate::new();
    for n in 0..20_u32 {
        let flat = estate.flat(Some(true));
        let unit = estate.unit("CB", &format!("EL-{n:03}"), flat, None);
        let deadline = match n {
            0 => "2026-11-10".to_owned(),
            1 => continue,
            _ => format!("2027-{:02}-{:02}", 1 + n % 10, 1 + n),
        };
        for rule in ["G1", "G4", "H1"] {
            estate.start(unit, rule, &deadline);
        }
    }
    estate
}

#[test]
fn every_visit_stands_inside_its_window_and_the_firms_hours() {
    let estate = estate();
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    let placing = plan::place_visits(estate.world(), &estate.seat, "p1").unwrap();
    assert!(!placing.unchanged);
    assert_eq!(placing.unplaced, 0);
    assert_eq!(placing.placed, 20, "check, service and water share a visit");
    let breaches = plan::round_breaches(estate.world(), &estate.seat).unwrap();
    assert!(breaches.is_empty(), "{breaches:?}");

    let view = plan::rounds(estate.world(), &estate.seat).unwrap();
    assert_eq!(view.visits.len(), 20);
    for visit in &view.visits {
        let on = visit.row.on_day.unwrap();
        assert!(visit.row.window_first <= on && on <= visit.row.deadline);
        assert!(on > day("2026-11-25"));
        assert!(on.weekday().number_from_monday() <= 5);
        // 30 + 45 + 15 minutes: the three rules of a combi boiler.
        assert_eq!((visit.parts.len(), visit.minutes), (3, 90));
    }
    let pressing: BTreeSet<&str> = view
        .visits
        .iter()
        .filter(|v| v.row.on_day.unwrap() <= day("2026-12-23"))
        .map(|v| v.unit.number.as_str())
        .collect();
    assert!(pressing.contains("EL-000") && pressing.contains("EL-001"));
}

#[test]
fn placing_again_changes_nothing_and_the_same_post_does_nothing_twice() {
    let estate = estate();
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    let place = |once: &str| plan::place_visits(estate.world(), &estate.seat, once).unwrap();
    let first = place("p1");
    assert_eq!(place("p1"), first);
    let again = place("p2");
    assert!(again.unchanged);
    assert_eq!(again.round, first.round);
    // The next day still holds every visit where it was.
    let places = || -> BTreeSet<_> {
        plan::rounds(estate.world(), &estate.seat)
            .unwrap()
            .visits
            .iter()
            .map(|v| (v.unit.number.clone(), v.row.on_day, v.row.start_minute))
            .collect()
    };
    let before = places();
    estate.go_to("2026-11-26");
    place("p3");
    let kept = before.intersection(&places()).count();
    assert!(kept >= 18, "{kept} of 20 stayed");
}

#[test]
fn without_the_right_engineer_or_hours_the_reason_is_said() {
    let estate = estate();
    engineer(&estate, "Wet Only", 1200, &[Covers::Water]);
    let placing = plan::place_visits(estate.world(), &estate.seat, "p1").unwrap();
    assert!(placing.unplaced >= 20);
    let view = plan::rounds(estate.world(), &estate.seat).unwrap();
    let gas = view
        .visits
        .iter()
        .find(|v| v.parts.iter().any(|p| p.rule.code == "G1"))
        .unwrap();
    let why = gas.row.unplaced_why.as_deref().unwrap();
    assert!(
        why.contains("qualification") && why.contains("gas work"),
        "{why}"
    );
    let breaches = plan::round_breaches(estate.world(), &estate.seat).unwrap();
    assert!(breaches.is_empty(), "{breaches:?}");
}

#[test]
fn a_visit_moves_within_its_rules_and_a_pinned_one_stays() {
    let estate = estate();
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    plan::place_visits(estate.world(), &estate.seat, "p1").unwrap();
    let visit_of = |number: &str| {
        plan::rounds(estate.world(), &estate.seat)
            .unwrap()
            .visits
            .into_iter()
            .find(|v| v.unit.number == number)
            .unwrap()
    };
    // 12 is the thirteenth flat: due 13 March 2027, the service's round fourteen days either way.
    let visit = visit_of("EL-012");
    assert_eq!(visit.row.deadline, day("2027-03-13"));
    let form = |to: &str| MoveVisit {
        visit: visit.visit,
        day: day(to),
        start: None,
        engineer: None,
        pin: true,
    };
    let moved = |to: &str| plan::move_visit(estate.world(), &estate.seat, form(to), to);
    for (to, word) in [
        ("2027-03-15", "Its days run from"),
        ("2027-03-07", "Sunday"),
        ("2026-11-25", "Its days run from"),
    ] {
        match moved(to) {
            Err(Error::Invalid(wrongs)) => {
                assert_eq!(wrongs[0].field, "day");
                assert!(wrongs[0].sentence.contains(word), "{}", wrongs[0].sentence);
            }
            other => panic!("{to}: {other:?}"),
        }
    }
    moved("2027-03-09").unwrap();
    let now = visit_of("EL-012");
    assert_eq!(now.row.on_day, Some(day("2027-03-09")));
    assert!(now.row.pinned);
    plan::place_visits(estate.world(), &estate.seat, "p2").unwrap();
    assert_eq!(visit_of("EL-012").row.on_day, Some(day("2027-03-09")));
    let breaches = plan::round_breaches(estate.world(), &estate.seat).unwrap();
    assert!(breaches.is_empty(), "{breaches:?}");
}

#[test]
fn an_offered_visit_is_a_job_at_its_time_and_stays_there() {
    let estate = estate();
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    plan::place_visits(estate.world(), &estate.seat, "p1").unwrap();
    let view = plan::rounds(estate.world(), &estate.seat).unwrap();
    let first = view.visits.first().unwrap();
    let offer = |once: &str| plan::offer_visit(estate.world(), &estate.seat, first.visit, once);
    let job = offer("o1").unwrap();
    assert_eq!(offer("o1").unwrap(), job, "the same post, the same job");
    assert!(matches!(offer("o2"), Err(Error::Conflict(_))));
    let shown = work::job_view(estate.world(), &estate.seat, job).unwrap();
    assert_eq!(shown.job.state, JobState::Offered);
    assert_eq!(shown.job.covers, "gas water");
    assert_eq!(shown.job.minutes, 90);

    plan::place_visits(estate.world(), &estate.seat, "p2").unwrap();
    let after = plan::rounds(estate.world(), &estate.seat).unwrap();
    let same = after
        .visits
        .iter()
        .find(|v| v.visit == first.visit)
        .unwrap();
    assert_eq!(same.row.job, Some(job));
    assert_eq!(
        (same.row.on_day, same.row.start_minute),
        (first.row.on_day, first.row.start_minute)
    );
    let move_it = MoveVisit {
        visit: first.visit,
        day: day("2026-12-10"),
        start: None,
        engineer: None,
        pin: false,
    };
    assert!(matches!(
        plan::move_visit(estate.world(), &estate.seat, move_it, "m"),
        Err(Error::Conflict(_))
    ));
    // Another estate has no such visit.
    let other = founding::found_estate(estate.world(), "Other Estate", false).unwrap();
    assert!(matches!(
        plan::offer_visit(estate.world(), &other, first.visit, "x"),
        Err(Error::NotFound(_))
    ));
    assert!(plan::rounds(estate.world(), &other).unwrap().card.is_none());
}
