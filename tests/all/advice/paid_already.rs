//! What somebody else pays already: a repeat the firm answers for, a warranty that still runs.
use terms::JobState;

use super::estate::{Estate, blocks};

#[test]
fn the_same_within_thirty_days_is_settled_with_the_firm_before_anybody_pays() {
    let estate = Estate::new();
    let world = estate.world();
    let first = estate.job();
    let number = world
        .acting(&estate.seat, |tx| {
            let mut job = tx.hold_job(first)?;
            (job.state, job.closed_at) = (JobState::Done, Some(tx.at()));
            tx.save_job(&job)?;
            Ok(job.number)
        })
        .unwrap();
    let job = estate.job();
    let id = estate.advised(job, 10_000);
    let agent = estate.app.signed_in("agent@test");
    let page = agent.page(&format!("/advice/{id}"));
    assert!(page.contains("name=\"asked_firm\""), "{page}");
    let engineer = estate.app.signed_in("engineer@test");
    let ahead = engineer.post(&format!("/advice/{id}/go-ahead"), &[("once", "g")]);
    assert_eq!(
        ahead.status(),
        409,
        "nobody goes ahead on site with a repeat"
    );
    let at = format!("/advice/{id}/decide");
    let repair = [("choice", "repair"), ("reason", "Cheap."), ("how", "page")];
    let refused = agent.post(&at, &repair);
    assert_eq!(refused.status(), 422);
    let text = refused.text().unwrap();
    assert!(
        text.contains("ask the firm first") && text.contains(&number),
        "{text}"
    );
    assert_eq!(estate.job_now(job).state, JobState::WaitingForDecision);
    let asked = [repair[0], repair[1], repair[2], ("asked_firm", "yes")];
    assert_eq!(agent.post(&at, &asked).status(), 303);
    assert_eq!(estate.job_now(job).state, JobState::Taken);
}

#[test]
fn what_its_own_warranty_still_pays_speaks_for_a_repair() {
    let estate = Estate::new();
    let job = estate.job();
    let bare = estate.stored(estate.advised(job, 41_200));
    assert_eq!(bare.inputs["case"]["old"]["warranty_years"], 0.0);
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(estate.unit)?;
            card.warranty_until = "2029-05-25".parse().ok();
            Ok(tx.state_unit(estate.unit, &card, None)?)
        })
        .unwrap();
    let covered = estate.stored(estate.advised(job, 41_200));
    assert!(
        covered.limit > bare.limit,
        "{:?} {:?}",
        covered.limit,
        bare.limit
    );
    // From 25 November 2026 it is two years and a half.
    let years = covered.inputs["case"]["old"]["warranty_years"]
        .as_f64()
        .unwrap();
    assert!((years - 2.5).abs() < 0.02, "{years}");
    let lines = covered.inputs["lines"].as_array().unwrap();
    let line = lines.iter().find(|l| l["code"] == "warranty_left").unwrap();
    assert!(
        line["source"]
            .as_str()
            .unwrap()
            .contains("until 25 May 2029")
    );
    // The yearly service its maker asks for is overdue: the maker need not pay any more.
    let duty = uuid::Uuid::new_v4();
    estate.app.database.as_owner(&format!(
        "SET app.estate_id = '{e}';
         INSERT INTO estate.duties (estate_id, id, rule_code, unit_id, building_id, made_at)
           VALUES ('{e}', '{duty}', 'G4', '{u}', '{b}', now());
         INSERT INTO estate.duty_completions (estate_id, id, duty_id, check_complete, result, next_deadline, reason, happened_on,
             recorded_at, recorded_by)
           VALUES ('{e}', '{id}', '{duty}', false, '', '2026-09-01', 'start', '2025-09-01', now(), '{id}')",
        e = estate.seat.estate(),
        u = estate.unit,
        b = estate.building,
        id = uuid::Uuid::new_v4(),
    ));
    let lapsed = estate.stored(estate.advised(job, 41_200));
    assert_eq!(lapsed.inputs["case"]["old"]["warranty_years"], 0.0);
    assert_eq!(lapsed.limit, bare.limit);
    let lines = lapsed.inputs["lines"].as_array().unwrap();
    let line = lines.iter().find(|l| l["code"] == "warranty_left").unwrap();
    assert!(line["source"].as_str().unwrap().contains("is overdue"));
}

#[test]
fn inside_a_warranty_the_maker_is_asked_before_anybody_pays() {
    let estate = Estate::new();
    let world = estate.world();
    world
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(estate.unit)?;
            card.warranty_until = "2028-03-14".parse().ok();
            Ok(tx.state_unit(estate.unit, &card, None)?)
        })
        .unwrap();
    let job = estate.job();
    let id = estate.advised(job, 10_000);
    let agent = estate.app.signed_in("agent@test");
    let page = blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    assert!(page.contains("in warranty until 14 March 2028"), "{page}");
    let engineer = estate.app.signed_in("engineer@test");
    let ahead = engineer.post(&format!("/advice/{id}/go-ahead"), &[("once", "g")]);
    assert_eq!(
        ahead.status(),
        409,
        "nobody goes ahead on site inside a warranty"
    );
    let at = format!("/advice/{id}/decide");
    let repair = [("choice", "repair"), ("reason", "Cheap."), ("how", "page")];
    let refused = agent.post(&at, &repair);
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text()
            .unwrap()
            .contains("ask its maker before anybody pays")
    );
    let asked = [repair[0], repair[1], repair[2], ("asked_maker", "yes")];
    assert_eq!(agent.post(&at, &asked).status(), 303);
    assert_eq!(estate.job_now(job).state, JobState::Taken);
}
