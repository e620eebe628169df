//! Records, letters and proof: each to whom it is for, and to nobody else.
use usecases::founding::{NewPerson, add_person, found_estate};

use super::{
    OFFICE_A, OFFICE_B, OTHER_OWNER, OWNER, at, building, estate, served, signed, whole_sheet,
    with_letterhead,
};
use crate::work_estate::{AGENT, ANNA, ARNO, BELLA, DESK_AT_NIGHT, fresh};
use terms::{RecordKind, Role};

#[test]
fn a_record_is_seen_by_agent_landlord_and_the_jobs_own_firm_only() {
    let estate = estate();
    with_letterhead(&estate);
    let job = served(&estate, &whole_sheet());
    signed(&estate, job, RecordKind::GasSafety);
    let elsewhere = found_estate(estate.world(), "Elsewhere", true).unwrap();
    let rival = NewPerson {
        email: "rival@example.test".to_owned(),
        name: "Rita Rival".to_owned(),
        password: usecases::door::DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: elsewhere.estate(),
        role: Role::Agent,
        firm: None,
        buildings: None,
    };
    add_person(estate.world(), &rival).unwrap();
    for kind in ["gas_safety_record", "service_sheet"] {
        let path = at(job, kind);
        for who in [AGENT, OWNER, ANNA, ARNO, OFFICE_A] {
            assert_eq!(estate.client(who).get(&path).status(), 200, "{who} {path}");
        }
        for who in [
            OTHER_OWNER,
            BELLA,
            OFFICE_B,
            DESK_AT_NIGHT,
            "rival@example.test",
        ] {
            assert_eq!(estate.client(who).get(&path).status(), 404, "{who} {path}");
        }
    }
    let nowhere = [
        at(job, "water_temperature_log"),
        "/records/nonsense/service_sheet".to_owned(),
    ];
    for path in nowhere {
        assert_eq!(estate.client(AGENT).get(&path).status(), 404, "{path}");
    }
}

#[test]
fn only_the_engineer_who_made_the_visit_issues_its_record() {
    let estate = estate();
    with_letterhead(&estate);
    let job = served(&estate, &whole_sheet());
    let path = at(job, "gas_safety_record");
    let sign = |who: &str| {
        let form = [("once", fresh()), ("signature", "Anna Arrow".to_owned())];
        let form: Vec<(&str, &str)> = form.iter().map(|(k, v)| (*k, v.as_str())).collect();
        estate.client(who).post(&format!("{path}/issue"), &form)
    };
    for who in [AGENT, OWNER, OTHER_OWNER, BELLA, OFFICE_A, OFFICE_B] {
        assert_eq!(sign(who).status(), 404, "{who}");
    }
    let colleague = sign(ARNO);
    assert_eq!(colleague.status(), 422);
    let page = colleague.text().unwrap();
    assert!(
        page.contains("Only the engineer who made the visit"),
        "{page}"
    );
    assert_eq!(estate.count("estate.issued_records"), 0);
    assert_eq!(sign(ANNA).status(), 303);
    assert_eq!(estate.count("estate.issued_records"), 1);
}

#[test]
fn letters_proof_letterhead_and_papers_are_for_their_readers() {
    let estate = estate();
    let job = served(&estate, &whole_sheet());
    let (space, block) = (estate.flat, building(&estate));
    let desk_only = [
        format!("/jobs/{job}/letters/planned_visit"),
        "/letterhead".to_owned(),
    ];
    for path in &desk_only {
        assert_eq!(estate.client(AGENT).get(path).status(), 200, "{path}");
        for who in [OWNER, ANNA, OFFICE_A] {
            assert_eq!(estate.client(who).get(path).status(), 404, "{who} {path}");
        }
    }
    for path in [
        format!("/prove/flat/{space}"),
        format!("/prove/building/{block}"),
    ] {
        for who in [AGENT, OWNER] {
            assert_eq!(estate.client(who).get(&path).status(), 200, "{who} {path}");
        }
        for who in [OTHER_OWNER, ANNA, OFFICE_A, DESK_AT_NIGHT] {
            assert_eq!(estate.client(who).get(&path).status(), 404, "{who} {path}");
        }
    }
    for who in [AGENT, OFFICE_A] {
        assert_eq!(estate.client(who).get("/papers").status(), 200, "{who}");
    }
    for who in [OWNER, ANNA, DESK_AT_NIGHT] {
        assert_eq!(estate.client(who).get("/papers").status(), 404, "{who}");
    }
}
