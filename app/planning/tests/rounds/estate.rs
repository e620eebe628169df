//! A small estate to plan for.
use chrono::{Days, NaiveDate};
use planning::rounds::{
    Demands, PlainRounds, PlannedEngineer, PlannedFirm, PlannedJob, Promise, RoundInput, RoundPlan,
    RoundPlanner, WorkingDay, audit,
};
use terms::people::{Covers, Qualification};
use uuid::Uuid;

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn after(first: NaiveDate, days: u64) -> NaiveDate {
    first.checked_add_days(Days::new(days)).unwrap()
}

pub fn id<T: From<Uuid>>(number: u128) -> T {
    T::from(Uuid::from_u128(number))
}

pub fn engineer(number: u128, firm: u128, covers: &[Covers]) -> PlannedEngineer {
    PlannedEngineer {
        id: id(number),
        firm: id(firm),
        minutes_a_week: 2_000,
        qualifications: covers
            .iter()
            .map(|covers| Qualification {
                covers: *covers,
                number: "invented".to_owned(),
                from_on: day("2020-01-01"),
                until_on: day("2030-01-01"),
            })
            .collect(),
        away: Vec::new(),
        short: Vec::new(),
    }
}

pub fn firm(number: u128, minutes_a_week: u32) -> PlannedFirm {
    PlannedFirm {
        id: id(number),
        minutes_a_week,
        buildings: None,
        week: None,
    }
}

pub fn job(number: u128, building: u128, first: &str, last: &str) -> PlannedJob {
    PlannedJob {
        id: id(number),
        building: id(building),
        stair: String::new(),
        window_first: day(first),
        deadline: day(last),
        not_before: None,
        minutes: 60,
        needs: vec![Covers::Gas],
        risk_weight: 0.0,
        firm: None,
        promise: None,
        demands: Demands::default(),
    }
}

/// Monday 30 November 2026, one firm with one engineer for gas.
pub fn input(jobs: Vec<PlannedJob>) -> RoundInput {
    let holidays = [
        "2026-12-25",
        "2026-12-28",
        "2027-01-01",
        "2027-03-26",
        "2027-03-29",
    ];
    RoundInput {
        ways: Vec::new(),
        from: day("2026-11-30"),
        until: day("2027-11-29"),
        bank_holidays: holidays.iter().map(|text| day(text)).collect(),
        hours: WorkingDay::default(),
        heating_seasons: Vec::new(),
        extra: Vec::new(),
        daylight: std::collections::BTreeMap::new(),
        firms: vec![firm(1, 2_000)],
        engineers: vec![engineer(10, 1, &[Covers::Gas])],
        jobs,
    }
}

pub fn plan(input: &RoundInput) -> RoundPlan {
    let plan = PlainRounds.plan(input);
    assert_eq!(audit(input, &plan), [], "{plan:?}");
    plan
}

pub fn promised(mut job: PlannedJob, on: &str, start_minute: u32) -> PlannedJob {
    job.promise = Some(Promise {
        day: day(on),
        start_minute,
        firm: id(1),
        engineer: id(10),
        second: None,
    });
    job
}
