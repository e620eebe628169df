//! The dated letter: what was in force on a day, as known then and as known now, under the head of the audit.
use chrono::{DateTime, Utc};
use terms::RecordKind;
use usecases::Error;
use usecases::duties::{self, Correction};

use super::{
    OWNER, building, estate, nobody_opens, plain, served, signed, whole_sheet, with_letterhead,
};
use crate::work_estate::{AGENT, Loop, fresh};
use terms::JobKind;

fn head(estate: &Loop) -> String {
    let head = estate
        .world()
        .acting(&estate.seat, |tx| Ok::<_, Error>(tx.chain_head_text()?))
        .unwrap();
    head.chars().take(24).collect()
}

fn later(estate: &Loop, at: &str) {
    let at: DateTime<Utc> = at.parse().unwrap();
    estate.app.database.clock.set(at);
}

#[test]
fn each_duty_is_proved_as_known_that_day_and_as_known_now() {
    let estate = estate();
    with_letterhead(&estate);
    let job = served(&estate, &whole_sheet());
    let number = signed(&estate, job, RecordKind::GasSafety);
    let then = head(&estate);
    later(&estate, "2026-12-10T09:00:00Z");
    let duty = estate.duty(estate.boiler, "G1");
    let row = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.completions_of(&[duty], false)?)
        })
        .unwrap()
        .remove(0);
    let never = Correction {
        duty,
        row: row.id,
        on: None,
        check_complete: false,
        evidence: String::new(),
        reason: "another flat's record".to_owned(),
        gas: duties::GasPaper::default(),
    };
    duties::correct(estate.world(), &estate.seat_of(AGENT), never, &fresh()).unwrap();

    let owner = estate.client(OWNER);
    let flat = format!("/prove/flat/{}?on=2026-11-25", estate.flat);
    let page = plain(&owner.page(&flat));
    for said in [
        "Flat 14, Alder House: what was in force on 25 November 2026",
        "as known then: on Wednesday 25 November 2026, 23:59.",
        "Gas safety check of the combi gas boiler",
        "done on 25 November 2026 by Anna Arrow of Firm A, registration number 200417.",
        &format!("Gas safety record {number}, issued on 25 November 2026."),
        // A first check: twelve months on (rule W1, law, from a public guidance page).
        "It holds until 25 November 2027.",
        "Yearly service of the gas boiler",
        &then,
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    assert!(
        !page.contains("AH-15-1"),
        "the flat beside it is not spoken of"
    );
    let page = plain(&owner.page(&format!("{flat}&known=now")));
    assert!(
        page.contains("no evidence of gas safety check was on record"),
        "the correction counts in what is known now: {page}"
    );
    assert!(
        !page.contains(&then),
        "another head stands under it: {page}"
    );

    let block = format!("/prove/building/{}", building(&estate));
    let page = plain(&owner.page(&format!("{block}?on=2026-11-25")));
    assert!(
        page.contains("AH-14-1") && page.contains("AH-15-1"),
        "{page}"
    );
    let page = plain(&owner.page(&format!("{block}?on=2026-11-24")));
    assert!(
        page.contains("Nothing was on record here yet on that day."),
        "{page}"
    );
    let wrong = owner.get(&format!("{block}?on=2027-01-01"));
    assert_eq!(wrong.status(), 422);
    let text = wrong.text().unwrap();
    assert!(text.contains("That day has not come yet.") && text.contains("2027-01-01"));
    assert!(estate.count("estate.audit_entries WHERE act = 'proof made'") >= 5);
}

#[test]
fn tries_and_letters_stand_in_the_proof_without_a_name() {
    let estate = estate();
    with_letterhead(&estate);
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Check, estate.boiler, vec![duty]);
    nobody_opens(&estate, job, (0, 10));
    let agent = estate.client(AGENT);
    let sent = agent.post(
        &format!("/jobs/{job}/letters/access_1"),
        &[
            ("once", "p1"),
            ("shown", "yes"),
            ("why", "Gas safety check"),
            ("who", "Anna Arrow"),
            ("minutes", "30"),
            ("how", "by_hand"),
            ("sent_on", "2026-11-25"),
            ("sent_time", "10:00"),
        ],
    );
    assert_eq!(sent.status(), 303);
    let page = plain(
        &estate
            .client(OWNER)
            .page(&format!("/prove/flat/{}", estate.flat)),
    );
    for said in [
        "Nobody opened on Wednesday 25 November 2026, 10:00 by Anna Arrow (card through the door left).",
        "Sent: first letter by hand on 25 November 2026.",
        "no evidence of gas safety check was on record.",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    assert!(!page.contains("Quill"), "no resident's name leaves with it");
}
