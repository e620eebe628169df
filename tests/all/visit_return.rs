//! A return with the part after a service: the service's own set is not owed twice, gas work still owes its readings.
use terms::{Choice, JobId, JobKind, JobState};
use usecases::advice::{DecideForm, decide};
use usecases::visit::Sheet;

use crate::visit_sheet::{good_service, refused, says, submit};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

/// A service that found the part `cause` failing, quoted; the agent decided to repair.
fn agreed(estate: &Loop, cause: &str) -> JobId {
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let found = good_service()
        .with("cause", cause)
        .with("outcome", "waiting_for_decision")
        .with("q.1.what", "The part, fitted")
        .with("q.1.net", "100.00")
        .with("q_until", "2026-12-04");
    submit(estate, job, &found).unwrap();
    let advice = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok(usecases::advice::advice_upon(tx, job)?.expect("advice"))
        })
        .unwrap();
    let form = DecideForm {
        advice: advice.id,
        choice: Choice::Repair,
        option: None,
        reason: "It is worth the part.".to_owned(),
        how: "page".to_owned(),
        on_behalf_of: String::new(),
    };
    decide(estate.world(), &estate.seat_of(AGENT), &form, &fresh()).unwrap();
    assert_eq!(estate.job(job).state, JobState::Taken, "it goes on");
    job
}

/// The return's sheet: the part is in and its function tested.
fn fitted(part: &str) -> Sheet {
    Sheet::new()
        .with("asbestos", "read_none")
        .with("told", "yes")
        .with("cause", part)
        .with("fitted", part)
        .with("old_part", "P-17")
        .with("work", "Changed.")
        .with("outcome", "done")
        .with("elec_dead", "yes")
        .with("elec_mohm", "200")
        .with("leak", "no")
        .with("bar_lost", "0")
        .with("r.cold_c", "10")
        .with("r.hot_c", "48")
        .with("r.flow_lpm", "11")
}

#[test]
fn a_gas_part_fitted_on_the_return_owes_the_gas_readings() {
    let estate = Loop::start();
    let job = agreed(&estate, "gas_valve");
    let wrongs = refused(submit(&estate, job, &fitted("gas_valve")));
    assert!(says(&wrongs, "working pressure or gas rate"), "{wrongs:?}");
    assert_eq!(estate.job(job).state, JobState::Taken, "nothing changed");
}

#[test]
fn gas_work_said_on_the_return_owes_them_too_and_none_is_owed_without() {
    let estate = Loop::start();
    let job = agreed(&estate, "diverter_valve");
    let shown = estate.client(ANNA).page(&format!("/sheet/{job}"));
    assert!(
        shown.contains("Decided: repair. “It is worth the part.”"),
        "{shown}"
    );
    let opened = fitted("diverter_valve").with("gas_work", "yes");
    let wrongs = refused(submit(&estate, job, &opened));
    assert!(says(&wrongs, "working pressure or gas rate"), "{wrongs:?}");
    submit(
        &estate,
        job,
        &fitted("diverter_valve").with("gas_work", "no"),
    )
    .unwrap();
    assert_eq!(estate.job(job).state, JobState::Done);
}
