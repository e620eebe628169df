//! What work asks of its day, through the use cases: two people, heat off, one visit in a flat, a firm's hours, access.
//! Estates invented; 25 November 2026 is today.
use chrono::{Datelike, NaiveTime};
use terms::{Covers, EngineerId, FirmId, JobKind, Qualification, Role, UnitId};
use usecases::founding::{self, NewEngineer};
use usecases::plan::{self, Because, PlannedVisit, RoundWish, Times};
use usecases::{Error, work};

use crate::duties::{Estate, day};
use crate::plan::engineer;
use crate::plan_estate::person;
use crate::support::TestApp;

/// One firm with so many engineers, each for gas, water and unvented.
pub fn crew(estate: &Estate, count: usize) -> (FirmId, Vec<EngineerId>) {
    let world = estate.world();
    let firm = founding::add_firm(world, estate.seat.estate(), "Copper & Sons", 2400).unwrap();
    let paper = |covers| Qualification {
        covers,
        number: "1234".to_owned(),
        from_on: day("2024-01-01"),
        until_on: day("2030-01-01"),
    };
    let people = (0..count).map(|n| {
        let new = NewEngineer {
            firm,
            name: format!("Fitter {n}"),
            account: None,
            qualifications: [Covers::Gas, Covers::Water, Covers::Unvented]
                .map(paper)
                .to_vec(),
            instruments: Vec::new(),
        };
        founding::add_engineer(world, &new).unwrap()
    });
    (firm, people.collect())
}

pub fn visits(estate: &Estate) -> Vec<PlannedVisit> {
    plan::rounds(estate.world(), &estate.seat).unwrap().visits
}

pub fn faultless(estate: &Estate) {
    let breaches = plan::round_breaches(estate.world(), &estate.seat).unwrap();
    assert!(breaches.is_empty(), "{breaches:?}");
}

pub fn place(estate: &Estate, once: &str) {
    plan::place_visits(estate.world(), &estate.seat, once).unwrap();
}

pub fn tank(estate: &Estate) -> UnitId {
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CT", "EL-T", flat, None);
    // A tank is looked into by two: one stays outside (the shipped rule L7).
    for rule in ["L7", "L6", "L4", "L1"] {
        estate.start(unit, rule, "2027-02-15");
    }
    unit
}

#[test]
fn a_tank_gets_two_people_of_one_firm_at_one_time_and_with_one_it_says_so() {
    let estate = Estate::new();
    tank(&estate);
    let (firm, _) = crew(&estate, 1);
    place(&estate, "p1");
    let looked = |visits: &[PlannedVisit]| -> PlannedVisit {
        let found = visits
            .iter()
            .find(|v| v.parts.iter().any(|p| p.rule.code == "L7"));
        found.cloned().expect("L7 is wanted")
    };
    let alone = looked(&visits(&estate));
    assert!(alone.asks.pair);
    let why = alone
        .row
        .unplaced_why
        .clone()
        .expect("one alone is not sent");
    assert!(why.contains("two of one firm"), "{why}");
    let new = NewEngineer {
        firm,
        name: "Mate".to_owned(),
        account: None,
        qualifications: Vec::new(),
        instruments: Vec::new(),
    };
    let mate = founding::add_engineer(estate.world(), &new).unwrap();
    place(&estate, "p2");
    faultless(&estate);
    let both = looked(&visits(&estate));
    assert!(both.row.on_day.is_some());
    assert_eq!(both.row.second, Some(mate), "the qualified one leads");
    assert!(
        both.because.contains(&Because::Two(mate)),
        "{:?}",
        both.because
    );
    // Nothing moves when nothing changed, and the job says that two come.
    assert!(
        plan::place_visits(estate.world(), &estate.seat, "p3")
            .unwrap()
            .unchanged
    );
    let job = plan::offer_visit(estate.world(), &estate.seat, both.visit, "o1").unwrap();
    let words = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.job(job)?.words))
        .unwrap();
    assert!(words.contains("two come together"), "{words}");
    place(&estate, "p4");
    faultless(&estate);
    assert_eq!(looked(&visits(&estate)).row.second, Some(mate));
}

/// Plant-room boilers: their service puts heat off (the shipped rules G5 and P3). The season is 1 October to 31 March.
#[test]
fn heat_off_lies_outside_the_season_except_where_the_last_day_forces_it_and_then_it_is_said() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    for (number, deadline) in [
        ("EL-SPRING", "2027-05-20"),
        ("EL-AUTUMN", "2027-10-20"),
        ("EL-FORCED", "2027-02-10"),
    ] {
        let flat = estate.flat(Some(true));
        let unit = estate.unit("PB", number, flat, None);
        for rule in ["G5", "P3", "H5"] {
            estate.start(unit, rule, deadline);
        }
    }
    crew(&estate, 1);
    place(&estate, "p1");
    faultless(&estate);
    let all = visits(&estate);
    let off = |number: &str| -> &PlannedVisit {
        let found = all
            .iter()
            .find(|v| v.unit.number == number && v.asks.heat_off);
        found.expect("heat goes off for G5")
    };
    let on = |number: &str| off(number).row.on_day.expect("it has a day");
    assert!(on("EL-SPRING") >= day("2027-04-01"), "{}", on("EL-SPRING"));
    assert!(on("EL-AUTUMN") <= day("2027-09-30"), "{}", on("EL-AUTUMN"));
    assert!(off("EL-SPRING").because.contains(&Because::OutsideSeason));
    let forced = off("EL-FORCED");
    assert!(on("EL-FORCED") <= forced.row.deadline);
    assert!(
        forced.because.contains(&Because::SeasonForced),
        "{:?}",
        forced.because
    );
    let page = app
        .signed_in("agent@test")
        .page("/rounds")
        .replace('\u{a0}', " ");
    let last = forced.row.deadline.format("%-d %B %Y");
    let why =
        format!("Heat goes off, in the heating season: its last day, {last}, leaves no other.");
    for said in [why.as_str(), "is the fullest"] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    // Once it is promised it is the promise that keeps it there, not its last day.
    plan::offer_visit(estate.world(), &estate.seat, forced.visit, "o1").unwrap();
    let all = visits(&estate);
    let promised = all.iter().find(|v| v.visit == forced.visit).unwrap();
    let because = &promised.because;
    assert!(because.contains(&Because::SeasonPromised), "{because:?}");
    assert!(!because.contains(&Because::SeasonForced), "{because:?}");
}

#[test]
fn two_units_in_a_flat_are_one_visit() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let boiler = estate.unit("CB", "EL-001", flat, None);
    let cylinder = estate.unit("UV", "EL-002", flat, None);
    for rule in ["G1", "G4", "H1"] {
        estate.start(boiler, rule, "2027-02-20");
    }
    estate.start(cylinder, "U1", "2027-02-25");
    crew(&estate, 2);
    place(&estate, "p1");
    faultless(&estate);
    let all = visits(&estate);
    let of = |unit: UnitId| all.iter().find(|v| v.unit.id == unit).unwrap();
    let (a, b) = (of(boiler), of(cylinder));
    assert_eq!(
        (a.row.on_day, a.row.engineer),
        (b.row.on_day, b.row.engineer)
    );
    let (first, then) = if a.row.start_minute < b.row.start_minute {
        (a, b)
    } else {
        (b, a)
    };
    assert_eq!(
        first.row.start_minute.unwrap() + first.minutes,
        then.row.start_minute.unwrap(),
        "no way between two units of one flat"
    );
    assert!(
        a.because
            .contains(&Because::SameFlat(vec!["EL-002".to_owned()]))
    );
}

#[test]
fn a_firm_states_its_hours_and_a_flat_its_access_and_the_round_keeps_to_both() {
    let estate = Estate::new();
    let mut units = Vec::new();
    for n in 0..6_u32 {
        let flat = estate.flat(Some(true));
        let unit = estate.unit("CB", &format!("EL-{n:03}"), flat, None);
        for rule in ["G1", "G4", "H1"] {
            estate.start(unit, rule, &format!("2027-02-{:02}", 10 + n));
        }
        units.push(unit);
    }
    let (firm, _) = crew(&estate, 1);
    let at = |hour: u32| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let times = |weekdays: &[u32], from: u32, until: u32| Times {
        weekdays: weekdays.to_vec(),
        from: at(from),
        until: at(until),
    };
    let ask =
        |wish: RoundWish, once: &str| plan::ask_of_rounds(estate.world(), &estate.seat, wish, once);
    let hours = |times: Times| RoundWish::Hours {
        firm,
        times,
        why: "their own week".to_owned(),
    };
    for (wrong, field) in [
        (times(&[], 8, 12), "hours_days"),
        (times(&[1], 12, 8), "hours_until"),
    ] {
        match ask(hours(wrong), "x") {
            Err(Error::Invalid(wrongs)) => assert_eq!(wrongs[0].field, field),
            other => panic!("{other:?}"),
        }
    }
    ask(hours(times(&[0], 7, 9)), "h1").unwrap();
    // Tuesday and Thursday mornings; what was stated before falls.
    ask(hours(times(&[1, 3], 8, 12)), "h2").unwrap();
    let access = RoundWish::Access {
        unit: units[2],
        times: times(&[3], 9, 11),
        why: "night shifts".to_owned(),
    };
    ask(access, "a1").unwrap();
    place(&estate, "p1");
    faultless(&estate);
    let found = plan::rounds(estate.world(), &estate.seat).unwrap();
    assert_eq!(found.asks.len(), 2);
    for visit in &found.visits {
        let (on, start) = (visit.row.on_day.unwrap(), visit.row.start_minute.unwrap());
        assert!(
            [1, 3].contains(&on.weekday().num_days_from_monday()),
            "{on}"
        );
        assert!(start >= 480 && start + visit.minutes <= 720);
        if visit.unit.id == units[2] {
            assert_eq!(on.weekday().num_days_from_monday(), 3);
            assert!(start >= 540 && start + visit.minutes <= 660);
            assert!(visit.because.contains(&Because::Access));
        }
    }
}

/// One visit of 90 minutes and its way fill the firm's week of 120: an urgent job finds its time with one move.
#[test]
fn an_urgent_job_without_a_day_finds_one_with_the_fewest_moves_and_the_reason_names_it() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    for number in ["EL-001", "EL-002"] {
        let flat = estate.flat(Some(true));
        let unit = estate.unit("CB", number, flat, None);
        for rule in ["G1", "G4", "H1"] {
            estate.start(unit, rule, "2026-11-10");
        }
    }
    let who = engineer(&estate, "Copper & Sons", 150, &[Covers::Gas, Covers::Water]);
    place(&estate, "p1");
    let cold = estate.flat(Some(true));
    let urgent = work::OpenJob {
        kind: JobKind::Repair,
        space: cold,
        unit: None,
        words: "water through the ceiling".to_owned(),
        due_on: Some(day("2026-11-27")),
        duties: Vec::new(),
        minutes: Some(60),
    };
    let job = work::open_job(estate.world(), &estate.seat, urgent, "j1").unwrap();
    // There is room tomorrow, so nothing moves.
    let placing = plan::place_visits(estate.world(), &estate.seat, "p2").unwrap();
    assert_eq!(placing.moved, 0);
    faultless(&estate);
    let stand = |estate: &Estate| {
        let found = plan::rounds(estate.world(), &estate.seat).unwrap();
        let call = found.calls.iter().find(|(card, _)| card.id == job);
        call.expect("the job is in the round")
            .1
            .place
            .expect("it has a time")
    };
    assert_eq!(stand(&estate).day, day("2026-11-26"));
    // With the engineer away until Monday it needs the week of 30 November, which one visit fills.
    let away = RoundWish::Away {
        engineer: who,
        from: day("2026-11-26"),
        until: day("2026-11-27"),
        why: "not well".to_owned(),
    };
    plan::ask_of_rounds(estate.world(), &estate.seat, away, "a1").unwrap();
    plan::place_visits(estate.world(), &estate.seat, "p3").unwrap();
    faultless(&estate);
    let at = stand(&estate);
    let allowed = day("2026-11-30")..=day("2026-12-02");
    assert!(allowed.contains(&at.day), "{at:?}");
    let found = plan::rounds(estate.world(), &estate.seat).unwrap();
    assert_eq!(
        found.moves.len(),
        2,
        "the job itself, and one visit: {:?}",
        found.moves
    );
    let moved = found.moves.iter().find(|line| line.visit != job.0).unwrap();
    assert!(moved.why.contains("it made room for J-"), "{}", moved.why);
    assert!(moved.to.is_some());
    // The call counts in the firm's week like any visit: each with ten minutes' way.
    let loads: i64 = found.weeks.iter().map(|w| w.minutes).sum();
    let placed = found.visits.iter().filter(|v| v.row.on_day.is_some());
    let visits: i64 = placed.map(|v| i64::from(v.minutes) + 10).sum();
    assert_eq!(loads, visits + 60 + 10);
    let fullest = found.fullest.expect("a week has work").load;
    let share = |w: &plan::WeekLoad| w.minutes * 1_000 / w.given.max(1);
    assert!(found.weeks.iter().all(|w| share(w) <= share(&fullest)));
    let page = app.signed_in("agent@test").page("/rounds");
    assert!(
        page.contains("not booked yet: this time is proposed for it"),
        "{page}"
    );
    let late = page.split("id=\"late-").nth(1).expect("the job is late");
    assert!(late.contains("to be done by"), "{late}");
}
