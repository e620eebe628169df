//! An override exists only where the trade allows one, and only for a supervisor in their own name (SAFETY §4).
use terms::{JobId, JobKind, JobState, Role};
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_person};
use usecases::visit::{Closed, PaperSource, PaperVisit, Sheet, paper_visit, submit_sheet};
use usecases::{Error, Seat};

use crate::visit_sheet::{refused, says};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

const SUPERVISOR: &str = "una@example.test";

fn estate_with_supervisor() -> Loop {
    let estate = Loop::start();
    let una = NewPerson {
        email: SUPERVISOR.to_owned(),
        name: "Una Upright".to_owned(),
        password: DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: estate.seat.estate(),
        role: Role::Supervisor,
        firm: None,
        buildings: None,
    };
    add_person(estate.world(), &una).unwrap();
    estate
}

/// A repair done, with its asbestos step not answered in a building of 1965: block 10, which may be overridden.
fn without_asbestos_step() -> Sheet {
    Sheet::new()
        .with("outcome", "done")
        .with("told", "yes")
        .with("work", "Changed the programmer.")
        .with("soft.before_reading_missing", "Nothing to measure.")
}

fn written_by(estate: &Loop, seat: &Seat, (job, sheet): (JobId, &Sheet)) -> Result<Closed, Error> {
    let form = PaperVisit {
        job,
        source: PaperSource::Paper,
        arrived_at: "2026-11-25T07:00:00Z".parse().unwrap(),
        left_at: None,
        firm: Some(estate.firm_a),
        engineer: Some(estate.anna),
        sheet: sheet.clone(),
    };
    paper_visit(estate.world(), seat, form, &fresh())
}

#[test]
fn only_a_supervisor_overrides_and_only_what_may_be() {
    let estate = estate_with_supervisor();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let sheet = without_asbestos_step().with("override_reason", "Seen on the register by me.");
    let agent = refused(written_by(&estate, &estate.seat_of(AGENT), (job, &sheet)));
    assert!(says(&agent, "asbestos step is not answered"), "{agent:?}");
    let una = estate.seat_of(SUPERVISOR);
    let bare = refused(written_by(&estate, &una, (job, &without_asbestos_step())));
    assert!(
        says(&bare, "asbestos step is not answered"),
        "without a reason: {bare:?}"
    );
    // Block 7: an electrical part without isolation proved is never overridden.
    let live = sheet.clone().with("fitted", "pump").with("old_part", "P-1");
    let never = refused(written_by(&estate, &una, (job, &live)));
    assert!(says(&never, "isolated and proved dead"), "{never:?}");
    assert_eq!(
        estate.job(job).state,
        JobState::Taken,
        "nothing was changed"
    );
    written_by(&estate, &una, (job, &sheet)).unwrap();
    assert_eq!(estate.job(job).state, JobState::Done);
    let kept = "estate.sheets WHERE body->>'override_by' = 'Una Upright'";
    assert_eq!(estate.count(kept), 1, "her name stands on the sheet");
}

#[test]
fn an_engineer_cannot_send_an_override_along() {
    let estate = estate_with_supervisor();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let sheet = without_asbestos_step()
        .with("override_by", "Una Upright")
        .with("override_reason", "She said so.");
    let typed = sheet
        .all()
        .map(|(k, v)| (k.to_owned(), v.to_owned()))
        .collect();
    let sent = submit_sheet(
        estate.world(),
        &estate.seat_of(ANNA),
        (job, typed),
        &fresh(),
    );
    let wrongs = refused(sent);
    assert!(says(&wrongs, "asbestos step is not answered"), "{wrongs:?}");
}

/// What the desk's page of a visit from paper sends for `without_asbestos_step`.
fn posted<'a>(engineer: &'a str, once: &'a str, reason: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("once", once),
        ("source", "paper"),
        ("arrived", "2026-11-25T07:10"),
        ("engineer", engineer),
        ("outcome", "done"),
        ("told", "yes"),
        ("work", "Changed the programmer."),
        ("soft.before_reading_missing", "Nothing to measure."),
        ("override_reason", reason),
    ]
}

#[test]
fn the_page_keeps_and_shows_who_overrode_when_and_why_and_refuses_others() {
    let estate = estate_with_supervisor();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let (paper, anna) = (format!("/jobs/{job}/paper"), estate.anna.to_string());
    let reason = "Seen on the register by me.";
    let agent = estate.client(AGENT);
    assert!(
        !agent.page(&paper).contains("name=\"override_reason\""),
        "the desk is not asked for what it may not do"
    );
    let once = fresh();
    let refused = agent.post(&paper, &posted(&anna, &once, reason));
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text()
            .unwrap()
            .contains("asbestos step is not answered")
    );
    let overridden = "estate.sheets WHERE closes AND body->>'override_reason' <> ''";
    assert_eq!(estate.count(overridden), 0, "nothing of it is kept");
    assert_eq!(estate.job(job).state, JobState::Taken);

    let una = estate.client(SUPERVISOR);
    assert!(una.page(&paper).contains("name=\"override_reason\""));
    let once = fresh();
    let sent = una.post(&paper, &posted(&anna, &once, reason));
    assert_eq!(sent.status(), 303, "{}", sent.text().unwrap());
    assert_eq!(estate.job(job).state, JobState::Done);
    let kept = format!(
        "{overridden} AND body->>'override_by' = 'Una Upright' AND body->>'override_reason' = '{reason}' \
         AND received_at = '{}'",
        estate.world().now().to_rfc3339()
    );
    assert_eq!(estate.count(&kept), 1, "the reason, the name and the time");
    // In November the building's own clock shows UTC.
    let at = wording::sentences::dates::moment(estate.world().now().naive_utc());
    let page = una.page(&format!("/jobs/{job}")).replace('\u{a0}', " ");
    for said in [
        "Overridden by Una Upright".to_owned(),
        reason.to_owned(),
        at.replace('\u{a0}', " "),
    ] {
        assert!(page.contains(&said), "{said} is not in {page}");
    }
}
