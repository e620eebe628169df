//! Open jobs the round finds a time for, and work for two: what is asked of a flat holds for them too, the page shows each on
//! whose day it is. Estates invented; 25 November 2026 is today.
use chrono::{Datelike, NaiveTime};
use terms::{JobKind, Role, UnitId};
use usecases::plan::{self, PlannedVisit, RoundWish, Times};
use usecases::work;

use crate::duties::{Estate, day};
use crate::plan_demands::{crew, faultless, place, tank, visits};
use crate::plan_estate::{Old, person};
use crate::support::TestApp;

/// The ids of the days and of what stands on them, each once.
fn ids_are_unique(page: &str) {
    let ids = page.split(" id=\"").skip(1);
    let ids = ids.filter_map(|rest| rest.split('"').next());
    let sorts = ["v-", "call-", "job-", "day-"];
    let mut ids: Vec<&str> = ids
        .filter(|id| sorts.iter().any(|sort| id.starts_with(sort)))
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert!(all > 1 && ids.len() == all, "{all} ids, {ids:?}");
}

/// The tank's inspection takes two: it stands on the days of both, and an open job that is to do it asks for two as well.
#[test]
fn work_for_two_stands_on_both_days_and_an_open_job_for_it_asks_for_two() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    let unit = tank(&estate);
    crew(&estate, 2);
    place(&estate, "p1");
    let looked = |found: &[PlannedVisit]| -> Option<PlannedVisit> {
        let mut all = found.iter();
        let found = all.find(|v| v.parts.iter().any(|p| p.rule.code == "L7"));
        found.cloned()
    };
    let visit = looked(&visits(&estate)).expect("L7 is wanted");
    let on = visit.row.on_day.expect("two come");
    let agent = app.signed_in("agent@test");
    let first = agent.page(&format!("/rounds?from={on}"));
    ids_are_unique(&first);
    for id in [
        format!("v-{}", visit.visit),
        format!("v-{}-with", visit.visit),
    ] {
        assert!(first.contains(&format!("id=\"{id}\"")), "{id}: {first}");
    }
    let job = work::OpenJob {
        kind: JobKind::Check,
        space: visit.unit.space,
        unit: Some(unit),
        words: "look into the tank".to_owned(),
        due_on: None,
        duties: visit.parts.iter().map(|p| p.duty).collect(),
        minutes: Some(60),
    };
    let job = work::open_job(estate.world(), &estate.seat, job, "j1").unwrap();
    place(&estate, "p2");
    faultless(&estate);
    assert!(looked(&visits(&estate)).is_none(), "it is left to the job");
    let found = plan::rounds(estate.world(), &estate.seat).unwrap();
    let call = found.calls.iter().find(|(card, _)| card.id == job);
    let stand = call.expect("it is in the round").1.place.expect("a time");
    assert!(stand.second.is_some_and(|second| second != stand.engineer));
    let second = agent.page("/rounds");
    ids_are_unique(&second);
    assert!(
        second.contains(&format!("id=\"call-{job}-with\"")),
        "{second}"
    );
    assert!(second.contains("Two come: "), "{second}");
}

/// When somebody opens, and from when on, is asked of a flat: of every unit there, and of an open job there too. By hand:
/// from 1 December on, Thursdays from 9 to 11, is 3 December; the job was to be done by 27 November.
#[test]
fn an_open_job_keeps_to_what_is_asked_of_its_flat_and_one_past_its_time_is_said() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    let flat = estate.flat(Some(true));
    let boiler = estate.unit("CB", "EL-001", flat, None);
    let cylinder = estate.unit("UV", "EL-002", flat, None);
    for rule in ["G1", "G4", "H1"] {
        estate.start(boiler, rule, "2027-02-20");
    }
    estate.start(cylinder, "U1", "2027-02-25");
    crew(&estate, 1);
    let at = |hour: u32| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let opens = |unit: UnitId, weekday: u32| RoundWish::Access {
        unit,
        times: Times {
            weekdays: vec![weekday],
            from: at(9),
            until: at(11),
        },
        why: "night shifts".to_owned(),
    };
    let held = RoundWish::NotBefore {
        unit: cylinder,
        from: day("2026-12-01"),
        why: "in hospital".to_owned(),
    };
    for (wish, once) in [
        (opens(boiler, 1), "a1"),
        (opens(cylinder, 3), "a2"),
        (held, "a3"),
    ] {
        plan::ask_of_rounds(estate.world(), &estate.seat, wish, once).unwrap();
    }
    let repair = work::OpenJob {
        kind: JobKind::Repair,
        space: flat,
        unit: None,
        words: "no hot water".to_owned(),
        due_on: Some(day("2026-11-27")),
        duties: Vec::new(),
        minutes: Some(60),
    };
    let job = work::open_job(estate.world(), &estate.seat, repair, "j1").unwrap();
    place(&estate, "p1");
    faultless(&estate);
    let found = plan::rounds(estate.world(), &estate.seat).unwrap();
    let access = found.asks.iter().filter(|a| a.ask.what == "access");
    assert_eq!(access.count(), 1, "the last word of a flat stands");
    let call = found.calls.iter().find(|(card, _)| card.id == job).unwrap();
    let stand = call.1.place.expect("it has a time");
    assert_eq!(stand.day, day("2026-12-03"));
    assert!((540..=600).contains(&stand.start), "{}", stand.start);
    for visit in &found.visits {
        let on = visit.row.on_day.expect("it has a day");
        assert!(
            on >= day("2026-12-01") && on.weekday().num_days_from_monday() == 3,
            "{on}"
        );
    }
    let page = app.signed_in("agent@test").page("/rounds");
    assert!(page.contains("It is past its time, "), "{page}");
    let late = "to be done by Friday 27 November; Thursday 3 December is proposed.";
    assert!(page.replace('\u{a0}', " ").contains(late), "{page}");
    ids_are_unique(&page);
}

/// A fault without a date is seen to within a week; work that is no fault waits until the resident was told, a week; what names
/// a day keeps it. By hand: today is Wednesday 25 November 2026.
#[test]
fn only_a_fault_without_a_date_is_pressed_and_a_near_date_is_kept() {
    let estate = Estate::new();
    crew(&estate, 1);
    let open = |kind: JobKind, due: Option<&str>, once: &str| {
        let job = work::OpenJob {
            kind,
            space: estate.flat(Some(true)),
            unit: None,
            words: "see to it".to_owned(),
            due_on: due.map(day),
            duties: Vec::new(),
            minutes: Some(60),
        };
        work::open_job(estate.world(), &estate.seat, job, once).unwrap()
    };
    let fault = open(JobKind::Repair, None, "j1");
    let near = open(JobKind::Survey, Some("2026-11-30"), "j2");
    let undated = open(JobKind::Survey, None, "j3");
    let far = open(JobKind::Survey, Some("2027-06-30"), "j4");
    place(&estate, "p1");
    faultless(&estate);
    let found = plan::rounds(estate.world(), &estate.seat).unwrap();
    let on = |job| {
        let call = found.calls.iter().find(|(card, _)| card.id == job);
        let call = &call.expect("it is in the round").1;
        call.place
            .unwrap_or_else(|| panic!("no day: {:?}", call.why))
            .day
    };
    assert!(on(fault) <= day("2026-12-02"), "{}", on(fault));
    assert!(on(near) <= day("2026-11-30"), "{}", on(near));
    let told = day("2026-12-02");
    assert!(on(undated) >= told, "{}", on(undated));
    assert!(on(undated) <= day("2026-12-29"), "{}", on(undated));
    assert!((told..=day("2027-06-30")).contains(&on(far)), "{}", on(far));
}

/// What follows a programme comes in its year and outside the heating season, and a later year's not at all; nothing else moves
/// for it.
#[test]
fn a_job_of_a_programme_waits_for_its_year() {
    let old = Old::new(6);
    let estate = &old.estate;
    old.money(7_000, 500, "m");
    let card = old.planned("p").plan.unwrap();
    let lines = card.made.proven.programme.years.iter();
    let planned: Vec<(i32, UnitId)> = lines
        .flat_map(|line| line.replacements.iter().map(|r| (line.year, r.unit)))
        .collect();
    let next = *planned
        .iter()
        .find(|(year, _)| *year == 2027)
        .expect("one in 2027");
    let later = *planned
        .iter()
        .find(|(year, _)| *year > 2027)
        .expect("one later");
    let duty = old.units[5];
    for rule in ["G1", "G4", "H1"] {
        estate.start(duty, rule, "2027-02-20");
    }
    crew(estate, 1);
    place(estate, "p1");
    let standing = |estate: &Estate| -> Vec<_> {
        let of = |v: &PlannedVisit| (v.row.on_day, v.row.start_minute);
        visits(estate).iter().map(of).collect()
    };
    let before = standing(estate);
    let (world, seat) = (estate.world(), &estate.seat);
    plan::adopt_plan(world, seat, (card.id, "so agreed".to_owned()), "a1").unwrap();
    let open =
        |unit: UnitId, once: &str| plan::open_planned_job(world, seat, (card.id, unit), once);
    let (soon, far) = (open(next.1, "o1").unwrap(), open(later.1, "o2").unwrap());
    place(estate, "p2");
    faultless(estate);
    let found = plan::rounds(world, seat).unwrap();
    let call = |job| found.calls.iter().find(|(card, _)| card.id == job);
    assert!(call(far).is_none(), "{later:?} waits for its year");
    let call = &call(soon).expect("its year is in the round").1;
    let on = call
        .place
        .unwrap_or_else(|| panic!("no day: {:?}", call.why))
        .day;
    assert!(
        (day("2027-04-01")..=day("2027-09-30")).contains(&on),
        "{on}"
    );
    assert_eq!(standing(estate), before, "nothing moves for it");
}
