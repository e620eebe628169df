//! The page of an advice tells the facts of its own day whenever it is read, and counts what it says it counts.
use chrono::TimeDelta;
use terms::unit::FailureRecord;
use terms::{AdviceId, FailureId, FunctionLost, JobKind, JobState, Pence};
use uuid::Uuid;

use super::estate::{Estate, blocks};

fn failed(estate: &Estate, on: &str, pence: i64) {
    let record = FailureRecord {
        id: FailureId(Uuid::nil()),
        unit: estate.unit,
        part: Some("pump".to_owned()),
        function_lost: Some("hot_water".to_owned()),
        happened_on: on.parse().unwrap(),
        happened_until: None,
        found_at_service: false,
        no_fault_found: false,
        cost: Some(Pence(pence)),
        job: None,
        same_as: String::new(),
        words: String::new(),
        recorded_at: chrono::DateTime::default(),
    };
    estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.add_failure(&record, None)?))
        .unwrap();
}

/// What stands under "The facts", as its landlord reads it.
fn facts(estate: &Estate, id: AdviceId) -> String {
    let page = estate
        .app
        .signed_in("landlord@test")
        .page(&format!("/advice/{id}"));
    let (_, after) = page.split_once("id=\"facts\"").unwrap();
    let (section, _) = after.split_once("</section>").unwrap();
    blocks(section).join("\n")
}

#[test]
fn a_page_read_later_tells_the_facts_of_its_day() {
    let estate = Estate::new();
    failed(&estate, "2026-03-02", 18_000);
    failed(&estate, "2025-10-11", 9_550);
    let id = estate.advised(estate.job(), 41_200);
    let then = facts(&estate, id);
    for said in [
        "Two failures on record in 36 months",
        "One day with heat or hot water lost, by one job",
        // Both were brought in without a job, so no clock ran for them.
        "Heat or hot water was lost in both failures; for how long is on record for none of them.",
        "2 March 2026",
        "11 October 2025",
        "£180.00",
        // 180.00 + 95.50
        "£275.50",
    ] {
        assert!(then.contains(said), "“{said}” is not in {then}");
    }
    assert!(
        then.find("2 March 2026") < then.find("11 October 2025"),
        "the latest first: {then}"
    );
    // The job stays open, the boiler fails again and an old failure is written down late: the page says what was known.
    estate.app.database.clock.advance(TimeDelta::days(40));
    failed(&estate, "2026-12-20", 30_000);
    failed(&estate, "2026-01-05", 20_000);
    assert_eq!(facts(&estate, id), then);
}

#[test]
fn a_leak_is_no_day_without_heat() {
    let estate = Estate::new();
    let leak = store::jobs::NewJob {
        kind: JobKind::Repair,
        building: estate.building,
        space: estate.flat,
        unit: Some(estate.unit),
        function_lost: Some(FunctionLost::Leak),
        words: "a drip".to_owned(),
        source: "call",
        covers: "gas".to_owned(),
        minutes: 60,
        due_at: None,
        due_why: String::new(),
        duties: Vec::new(),
    };
    let job = estate
        .world()
        .acting(&estate.seat, |tx| {
            let (id, _) = tx.add_job(&leak)?;
            let mut job = tx.hold_job(id)?;
            job.state = JobState::WaitingForDecision;
            job.firm = Some(estate.firm);
            tx.save_job(&job)?;
            Ok(id)
        })
        .unwrap();
    let said = facts(&estate, estate.advised(job, 41_200));
    assert!(
        said.contains("None of its jobs says that heat or hot water was lost"),
        "{said}"
    );
}

/// The trial of 29 November 2026: what follows when nobody answers was looked for in vain.
#[test]
fn what_follows_when_nobody_answers_is_said_until_somebody_does() {
    let estate = Estate::new();
    let id = estate.advised(estate.job(), 41_200);
    let page = || {
        let page = estate
            .app
            .signed_in("landlord@test")
            .page(&format!("/advice/{id}"));
        blocks(&page).join("\n")
    };
    let waiting = page();
    assert!(
        waiting.contains("If nobody answers: The quote lapses after 4 December 2026"),
        "{waiting}"
    );
    let answer = estate.app.signed_in("landlord@test").post(
        &format!("/advice/{id}/decide"),
        &[("choice", "another_quote"), ("reason", "Too dear.")],
    );
    assert_eq!(answer.status(), 303);
    assert!(!page().contains("If nobody answers"));
}
