//! The plain method, case by case.
use std::collections::BTreeSet;

use planning::rounds::{PlannedJob, RoundInput, RoundVerdict, WhyNot};
use terms::people::Covers;
use terms::{BuildingId, EngineerId, FirmId};

use crate::estate::{after, day, input, job, plan};

fn why(input: &RoundInput) -> WhyNot {
    let plan = plan(input);
    assert!(plan.placed.is_empty());
    plan.unplaced[0].why.clone()
}

#[test]
fn nothing_to_place() {
    let plan = plan(&input(Vec::new()));
    assert_eq!(plan.verdict, RoundVerdict::NothingToPlace);
    assert!(plan.placed.is_empty() && plan.unplaced.is_empty());
}

#[test]
fn one_job_takes_the_first_working_day_of_its_window() {
    // 25 December is a Friday and 28 December the day in lieu; so Tuesday 29 December.
    let plan = plan(&input(vec![job(1, 5, "2026-12-25", "2027-01-31")]));
    assert_eq!(plan.placed[0].day, day("2026-12-29"));
    assert_eq!(plan.placed[0].start_minute, 8 * 60 + 30);
    assert_eq!(plan.verdict, RoundVerdict::Complete);
    assert_eq!((plan.facts.attendances, plan.facts.gap()), (1, 0));
}

#[test]
fn every_reason_is_told_with_its_numbers() {
    let one = |change: fn(&mut RoundInput)| {
        let mut input = input(vec![job(1, 5, "2026-12-01", "2026-12-04")]);
        change(&mut input);
        why(&input)
    };
    assert_eq!(
        one(|i| i.firms[0].minutes_a_week = 0),
        WhyNot::TooLong {
            minutes: 60,
            longest: 0
        }
    );
    assert_eq!(
        one(|i| i.jobs[0].minutes = 481),
        WhyNot::TooLong {
            minutes: 481,
            longest: 480
        }
    );
    assert!(matches!(
        one(|i| i.jobs[0].needs = vec![Covers::Electric]),
        WhyNot::NobodyQualified { .. }
    ));
    assert!(matches!(
        one(|i| i.engineers[0].qualifications[0].until_on = day("2026-11-30")),
        WhyNot::NobodyQualified { .. }
    ));
    assert!(matches!(
        one(|i| i.engineers.clear()),
        WhyNot::NobodyQualified { .. }
    ));
    assert!(matches!(
        one(|i| i.jobs[0].not_before = Some(day("2026-12-07"))),
        WhyNot::WindowShut { .. }
    ));
    assert_eq!(
        one(|i| {
            i.jobs[0].window_first = day("2026-09-20");
            i.jobs[0].deadline = day("2026-11-22");
        }),
        WhyNot::LateAlready {
            deadline: day("2026-11-22"),
            days: 8
        }
    );
    assert!(matches!(
        one(|i| {
            i.jobs[0].window_first = day("2026-12-05");
            i.jobs[0].deadline = day("2026-12-06");
        }),
        WhyNot::NoWorkingDay { .. }
    ));
    assert!(matches!(
        one(|i| {
            i.jobs[0].window_first = day("2028-01-03");
            i.jobs[0].deadline = day("2028-02-03");
        }),
        WhyNot::OpensLater { .. }
    ));
    assert!(matches!(
        one(|i| {
            let days = (1..=4).map(|n| after(day("2026-11-30"), n));
            i.engineers[0].away = days.collect();
        }),
        WhyNot::HoursFull {
            days: 4,
            engineers: 1,
            ..
        }
    ));
}

#[test]
fn a_duty_waits_for_company_and_a_risk_does_not() {
    let mut jobs = vec![
        job(1, 5, "2026-12-01", "2027-01-31"),
        job(2, 5, "2026-12-16", "2027-02-14"),
    ];
    let shared = plan(&input(jobs.clone()));
    assert_eq!(shared.placed[0].day, day("2026-12-16"));
    assert_eq!(shared.facts.attendances, 1);
    jobs[0].risk_weight = 1.0;
    let apart = plan(&input(jobs));
    assert_eq!(apart.placed[0].day, day("2026-12-01"));
    assert_eq!(apart.facts.attendances, 2);
}

#[test]
fn a_late_job_names_the_first_day_with_room() {
    let plan = plan(&input(vec![job(1, 5, "2026-09-20", "2026-11-22")]));
    assert_eq!(plan.unplaced[0].first_room, Some(day("2026-11-30")));
    assert_eq!(plan.verdict, RoundVerdict::OnlyTheImpossibleLeft);
}

#[test]
fn everything_due_on_one_day_fills_the_day_and_says_what_is_left() {
    let jobs = (0..20)
        .map(|n| job(n, 5, "2026-12-01", "2026-12-01"))
        .collect();
    let plan = plan(&input(jobs));
    // 480 minutes hold seven visits of 60 with 10 between them: 7 × 60 + 6 × 10 = 480.
    assert_eq!(plan.placed.len(), 7);
    assert_eq!(plan.unplaced.len(), 13);
    assert_eq!(plan.verdict, RoundVerdict::HoursShort);
}

#[test]
fn a_building_and_its_stairs_are_bundled() {
    let mut jobs = Vec::new();
    for n in 0..12u128 {
        let mut one = job(n, n % 2, "2026-12-01", "2027-01-31");
        one.minutes = 70;
        (if n % 4 < 2 { "east" } else { "west" }).clone_into(&mut one.stair);
        jobs.push(one);
    }
    let plan = plan(&input(jobs.clone()));
    assert_eq!(plan.facts.attendances, 2);
    assert_eq!(plan.facts.gap(), 0);
    let first: Vec<&str> = plan.placed[..3]
        .iter()
        .map(|v| jobs.iter().find(|j| j.id == v.job).unwrap().stair.as_str())
        .collect();
    assert!(first.windows(2).all(|pair| pair[0] == pair[1]), "{first:?}");
}

#[test]
fn an_early_deadline_pushes_later_ones_out() {
    // A bundle fills the only day of the urgent job before its turn comes.
    let mut jobs: Vec<PlannedJob> = (0..7)
        .map(|n| job(n, 5, "2026-12-01", "2027-01-31"))
        .collect();
    jobs[0].deadline = day("2026-12-01");
    let mut urgent = job(99, 6, "2026-12-01", "2026-12-01");
    urgent.minutes = 90;
    jobs.push(urgent);
    let plan = plan(&input(jobs));
    assert_eq!(plan.verdict, RoundVerdict::Complete);
}

/// 260 units in three blocks, a year of checks and services: the size of the demo estate.
#[test]
fn a_year_of_an_estate_is_placed_whole() {
    let jobs = (0..260u128)
        .map(|n| {
            let first = after(day("2026-11-30"), (n as u64 * 37) % 300);
            let mut one = job(n, n % 3, "2026-12-01", "2026-12-01");
            one.window_first = first;
            one.deadline = after(first, 61);
            one.stair = (n % 9).to_string();
            one
        })
        .collect();
    let mut input = input(jobs);
    input.firms[0].minutes_a_week = 900;
    let plan = plan(&input);
    assert_eq!(plan.verdict, RoundVerdict::Complete);
    let engineers: BTreeSet<EngineerId> = plan.placed.iter().map(|v| v.engineer).collect();
    let firms: BTreeSet<FirmId> = plan.placed.iter().map(|v| v.firm).collect();
    assert_eq!((engineers.len(), firms.len()), (1, 1));
    let buildings: BTreeSet<BuildingId> = input.jobs.iter().map(|j| j.building).collect();
    assert_eq!(buildings.len(), 3);
    // Taken one by one as their windows open they need about an attendance each (measured: 256).
    assert!(plan.facts.attendances < 100, "{:?}", plan.facts);
}
