//! Pauses of a job's clock: two reasons stop a landlord's own time, nothing stops the law's (trade file on duties, W5).
use chrono::{DateTime, Utc};
use terms::{JobId, JobKind};
use usecases::work;

use crate::work_estate::{AGENT, DESK_AT_NIGHT, Loop};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

/// A job due by the end of 2 December, opened on the morning of 25 November.
fn job(estate: &Loop, duties: Vec<terms::DutyId>) -> JobId {
    let space = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, usecases::Error>(tx.unit(estate.boiler)?.space)
        })
        .unwrap();
    let form = work::OpenJob {
        kind: JobKind::Service,
        space,
        unit: Some(estate.boiler),
        words: "as the test asks".to_owned(),
        due_on: Some("2026-12-02".parse().unwrap()),
        duties,
        minutes: None,
    };
    work::open_job(
        estate.world(),
        &estate.seat,
        form,
        &crate::work_estate::fresh(),
    )
    .unwrap()
}

#[test]
fn two_reasons_stop_a_contracts_clock_and_the_others_stop_nothing() {
    let estate = Loop::start();
    let job = job(&estate, Vec::new());
    let before = estate.job(job).due_at.unwrap();
    // The desk’s session ends after twelve hours unused, and days pass here: it signs in each time.
    let agent = || estate.client(AGENT);
    let clock = &estate.app.database.clock;
    let pause = |reason: &str, once: &str| {
        agent().post(
            &format!("/jobs/{job}/pause"),
            &[
                ("once", once),
                ("pause_reason", reason),
                ("pause_words", "asked by telephone"),
            ],
        )
    };
    let run_on = |once: &str| agent().post(&format!("/jobs/{job}/run-on"), &[("once", once)]);
    assert_eq!(pause("", "p0").status(), 422);
    assert_eq!(run_on("r0").status(), 409, "the clock runs");
    clock.set(at("2026-11-26T09:00:00Z"));
    assert_eq!(pause("resident_asked_later", "p1").status(), 303);
    assert_eq!(
        pause("resident_asked_later", "p1").status(),
        303,
        "sent twice"
    );
    assert_eq!(pause("no_access", "p2").status(), 409, "it stands already");
    assert_eq!(
        estate.job(job).due_at,
        Some(before),
        "it moves when it goes on"
    );
    clock.set(at("2026-11-28T10:30:00Z"));
    assert_eq!(run_on("r1").status(), 303);
    // 26 November 09:00 to 28 November 10:30: two days, an hour and a half.
    let moved = before + chrono::TimeDelta::minutes(2 * 24 * 60 + 90);
    assert_eq!(estate.job(job).due_at, Some(moved));
    assert!(
        estate
            .job(job)
            .due_why
            .contains("Its clock stood still in between")
    );
    for (n, reason) in ["no_access", "awaiting_part", "awaiting_decision"]
        .into_iter()
        .enumerate()
    {
        assert_eq!(pause(reason, &format!("q{n}")).status(), 303);
        clock.advance(chrono::TimeDelta::hours(5));
        assert_eq!(run_on(&format!("s{n}")).status(), 303);
        assert_eq!(
            estate.job(job).due_at,
            Some(moved),
            "{reason} stops nothing"
        );
    }
    let page = agent().page(&format!("/jobs/{job}")).replace('\u{a0}', " ");
    for words in [
        "The resident asked for a later day, from 09:00 on 26 November 2026 to 10:30 on 28 November 2026: the clock stood still. “asked by telephone”",
        "Nobody opened, from",
        "kept on record; it stops no clock.",
    ] {
        assert!(page.contains(words), "“{words}” is not on the page");
    }
    assert_eq!(
        estate.count("estate.clock_pauses WHERE superseded_at IS NULL"),
        4
    );
    // The desk at night and another estate do nothing with it.
    let night = estate.client(DESK_AT_NIGHT);
    let theirs = night.post(
        &format!("/jobs/{job}/pause"),
        &[("once", "z"), ("pause_reason", "no_access")],
    );
    assert_eq!(theirs.status(), 404);
    let stranger = usecases::founding::found_estate(estate.world(), "Other", false).unwrap();
    let words = (job, "no_access".to_owned(), String::new());
    assert!(matches!(
        work::pause(estate.world(), &stranger, words, "y"),
        Err(usecases::Error::NotFound(_))
    ));
}

#[test]
fn nothing_stops_a_clock_of_law() {
    let estate = Loop::start();
    let duty = estate.duty(estate.boiler, "G1");
    let job = job(&estate, vec![duty]);
    let before = estate.job(job).due_at;
    let seat = estate.seat_of(AGENT);
    let words = (
        job,
        "resident_asked_later".to_owned(),
        "in hospital".to_owned(),
    );
    work::pause(estate.world(), &seat, words, "p1").unwrap();
    estate
        .app
        .database
        .clock
        .advance(chrono::TimeDelta::hours(50));
    work::run_on(estate.world(), &seat, job, "r1").unwrap();
    assert_eq!(
        estate.job(job).due_at,
        before,
        "a closed door does not stop it"
    );
    let pauses = work::pauses(estate.world(), &seat, job).unwrap();
    assert!(pauses.by_law);
    assert!(
        pauses.sentences[0].contains("the clock is law, so it ran on"),
        "{:?}",
        pauses.sentences
    );
}
