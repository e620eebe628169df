//! What makes a record whole: a draft names each gap, answers fill it, signing keeps it, corrections are said.
use terms::{JobKind, RecordKind};
use usecases::Error;
use usecases::duties::{self, Correction};
use usecases::visit::{PaperSource, PaperVisit, paper_visit};

use super::{at, building, estate, plain, served, signed, whole_sheet, with_letterhead};
use crate::visit_sheet::good_service;
use crate::work_estate::{AGENT, ANNA, fresh};

#[test]
fn a_draft_names_each_gap_and_is_never_issued() {
    let estate = estate();
    // The sheet as it was before the record was asked for: no places, no defects, no confirmation.
    let job = served(&estate, &good_service());
    let anna = estate.client(ANNA);
    let path = at(job, "gas_safety_record");
    let page = plain(&anna.page(&path));
    for gap in [
        "Draft, not a gas safety record",
        "Where this stands: combi gas boiler.",
        "Where this stands: its flue.",
        "Whether any safety defect was found",
        "regulation 26(9) were examined",
        "The name of the landlord or agent",
        "The address of the landlord or agent",
    ] {
        assert!(page.contains(gap), "“{gap}” is not named: {page}");
    }
    assert!(!page.contains("Sign and issue it"), "nothing to press yet");
    let early = anna.post(
        &format!("{path}/issue"),
        &[("once", "early"), ("signature", "Anna Arrow")],
    );
    assert_eq!(early.status(), 422);
    assert!(early.text().unwrap().contains("it is not a record yet"));
    assert_eq!(estate.count("estate.issued_records"), 0);
}

#[test]
fn answers_and_letterhead_fill_the_gaps_and_signing_happens_once() {
    let estate = estate();
    let job = served(&estate, &good_service());
    let (anna, agent) = (estate.client(ANNA), estate.client(AGENT));
    let path = at(job, "gas_safety_record");
    let bare = agent.post("/letterhead", &[("once", "l0"), ("name", "Tansy & Rook")]);
    assert_eq!(bare.status(), 422);
    let page = bare.text().unwrap();
    assert!(page.contains("Tansy &#38; Rook") || page.contains("Tansy &amp; Rook"));
    let stated = agent.post(
        "/letterhead",
        &[
            ("once", "l1"),
            ("name", "Tansy & Rook"),
            ("address", "2 Long Street, Alderton"),
        ],
    );
    assert_eq!(stated.status(), 303);
    let answers = [
        ("once", "a1"),
        ("gc.1.where", "Kitchen cupboard"),
        ("gc.2.where", "Kitchen wall"),
        ("gc_defects", "none"),
        ("gc_26_9", "yes"),
        // What the sheet said stands: a later answer does not change it.
        ("gc.1.result", "unsafe"),
    ];
    let stranger = agent.post(&format!("{path}/add"), &answers);
    assert_eq!(stranger.status(), 404, "the desk did not write this sheet");
    assert_eq!(anna.post(&format!("{path}/add"), &answers).status(), 303);
    assert_eq!(anna.post(&format!("{path}/add"), &answers).status(), 303);
    assert_eq!(
        estate.count("estate.sheets WHERE closes"),
        2,
        "a repeated post adds nothing"
    );
    let page = anna.page(&path);
    assert!(
        page.contains("Nothing is missing") && page.contains("safe to use"),
        "{page}"
    );
    let unsigned = anna.post(
        &format!("{path}/issue"),
        &[("once", "i0"), ("signature", " ")],
    );
    assert_eq!(unsigned.status(), 422);
    let sign = |once: &str| {
        anna.post(
            &format!("{path}/issue"),
            &[("once", once), ("signature", "A. Arrow")],
        )
        .status()
    };
    assert_eq!(sign("i1"), 303);
    assert_eq!(sign("i1"), 303, "the same form again");
    assert_eq!(sign("i2"), 409, "a second record of the same check");
    assert_eq!(estate.count("estate.issued_records"), 1);
    assert_eq!(
        estate.count("estate.audit_entries WHERE act = 'record issued'"),
        1
    );
    let late = anna.post(&format!("{path}/add"), &[("once", "a2"), ("gc_26_9", "no")]);
    assert_eq!(late.status(), 409, "what was issued stands");
    let page = plain(&agent.page(&path));
    for said in ["J-00001/1", "A. Arrow", "Wednesday 25 November 2026, 07:40"] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    for place in [format!("/jobs/{job}"), format!("/units/{}", estate.boiler)] {
        let page = agent.page(&place);
        assert!(page.contains(&path), "{place} leads to the record");
    }
    let kept = anna.page(&format!("/sheet/{job}/kept"));
    assert!(
        kept.contains("See the gas safety record J-00001/1"),
        "{kept}"
    );
}

#[test]
fn a_corrected_fact_is_said_and_the_record_shows_what_was_known() {
    let estate = estate();
    with_letterhead(&estate);
    let job = served(&estate, &whole_sheet());
    signed(&estate, job, RecordKind::GasSafety);
    let agent = estate.client(AGENT);
    let path = at(job, "gas_safety_record");
    assert!(!agent.page(&path).contains("Corrected since"));
    let duty = estate.duty(estate.boiler, "G1");
    let row = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.completions_of(&[duty], false)?)
        })
        .unwrap()
        .remove(0);
    let correction = Correction {
        duty,
        row: row.id,
        on: None,
        check_complete: false,
        evidence: String::new(),
        reason: "another flat's record".to_owned(),
        gas: duties::GasPaper::default(),
    };
    duties::correct(estate.world(), &estate.seat_of(AGENT), correction, &fresh()).unwrap();
    let block = building(&estate);
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut card = tx.building(block)?;
            "9 Alder Way".clone_into(&mut card.address);
            Ok::<_, Error>(tx.state_building(block, &card)?)
        })
        .unwrap();
    let page = plain(&agent.page(&path));
    for said in [
        "Corrected since",
        "not on record as done",
        "Flat 14, Alder House, 1 Alder Way",
        "on record now is “Flat 14, Alder House, 9 Alder Way”",
        "every item; next by 25 November 2027",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
}

#[test]
fn a_visit_typed_in_from_paper_is_a_copy_until_its_engineer_signs() {
    let estate = estate();
    with_letterhead(&estate);
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let form = PaperVisit {
        job,
        source: PaperSource::Paper,
        arrived_at: "2026-11-25T07:00:00Z".parse().unwrap(),
        left_at: None,
        firm: Some(estate.firm_a),
        engineer: Some(estate.anna),
        sheet: whole_sheet(),
    };
    paper_visit(estate.world(), &estate.seat_of(AGENT), form, &fresh()).unwrap();
    let path = at(job, "service_sheet");
    let page = estate.client(AGENT).page(&path);
    assert!(page.contains("this page is a copy") && !page.contains("Sign and issue it"));
    assert!(
        estate
            .client(ANNA)
            .page(&path)
            .contains("Sign and issue it")
    );
    assert_eq!(signed(&estate, job, RecordKind::Service), "J-00001/1");
}

#[test]
fn a_service_sheet_owes_every_reading_or_the_reason_it_was_not_taken() {
    let estate = estate();
    let sheet = whole_sheet()
        .with("r.inhibitor_ppm", "")
        .with("no.inhibitor", "no test kit in the van");
    let job = served(&estate, &sheet);
    let page = plain(&estate.client(ANNA).page(&at(job, "service_sheet")));
    assert!(page.contains("not taken: no test kit in the van"), "{page}");
    assert!(page.contains("Nothing is missing"), "{page}");
    let soft = whole_sheet()
        .with("r.inhibitor_ppm", "")
        .with("soft.before_reading_missing", "forgotten");
    let duty = estate.duty(estate.boiler, "G1");
    let again = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    crate::visit_sheet::submit(&estate, again, &soft).unwrap();
    let page = plain(&estate.client(ANNA).page(&at(again, "service_sheet")));
    assert!(
        page.contains("neither taken nor a reason given"),
        "a reading nobody speaks of is missed: {page}"
    );
    assert!(!page.contains("Sign and issue it"));
}
