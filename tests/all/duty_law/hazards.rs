//! Hazards said at a call: their clocks beside the job's own, what was done, and where they do not run.
use chrono::{DateTime, Utc};
use terms::{JobId, SpaceId};
use usecases::Error;
use usecases::work::{self, HazardForm, HazardSaid};

use super::{other_flat, plain, radiator, strangers};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn held_by(estate: &Loop, space: SpaceId, tenure: &str) {
    let once = fresh();
    let fields = [
        ("once", once.as_str()),
        ("tenure", tenure),
        ("tenure_from", "2020-01-01"),
    ];
    let to = format!("/spaces/{space}/tenure");
    assert_eq!(estate.client(AGENT).post(&to, &fields).status(), 303);
}

fn only_job(estate: &Loop) -> JobId {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.jobs(&store::jobs::Which::Open)?[0].id)
        })
        .unwrap()
}

// Hazard clocks of social tenancies in England, for reports from 27 October 2025: published summaries read (trade file on
// duties, section 3). An emergency: 24 real hours.
#[test]
fn an_emergency_said_at_the_call_is_made_safe_within_a_day() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    held_by(&estate, estate.flat, "social");
    let flat = estate.flat.to_string();
    let call = |once: &str, hazard: &str| {
        agent.post(
            "/calls/new",
            &[
                ("once", once),
                ("space", flat.as_str()),
                ("lost", "other"),
                ("hazard", hazard),
                ("words", "the ceiling over the cot hangs down"),
            ],
        )
    };
    let wrong = call("c0", "terrible");
    assert_eq!(wrong.status(), 422);
    let page = plain(&wrong.text().unwrap());
    assert!(page.contains("by the rule’s own words"), "{page}");
    assert!(page.contains("the ceiling over the cot hangs down"));
    assert_eq!(estate.count("estate.fault_calls"), 0);

    assert_eq!(call("c1", "emergency").status(), 303);
    assert_eq!(call("c1", "emergency").status(), 303);
    assert_eq!(estate.count("estate.fault_calls"), 1);
    assert_eq!(estate.count("estate.hazards"), 1, "once is once");
    let job = only_job(&estate);
    assert_eq!(
        estate.job(job).due_at,
        Some(at("2026-11-26T07:40:00Z")),
        "24 hours after the call, before the landlord's ten working days"
    );
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    for said in [
        "an imminent and significant risk of harm",
        "Emergency hazard: investigate and make safe by 07:40 on 26 November 2026.",
        "Made safe: by 07:40 on 26 November 2026.",
        "Basis: law. How the rule is known: published page.",
        "This clock is law: it runs on.",
    ] {
        assert!(
            page.contains(said) || page.contains(&said.to_lowercase()),
            "“{said}” is not in {page}"
        );
    }
    for list in ["/duties", "/today"] {
        assert!(
            plain(&agent.page(list)).contains("Emergency hazard"),
            "it stands on {list}"
        );
    }
    // The same said again joins, and its clock began with the first.
    estate
        .app
        .database
        .clock
        .advance(chrono::TimeDelta::hours(2));
    assert_eq!(call("c2", "emergency").status(), 303);
    assert_eq!(estate.count("estate.hazards"), 1);
    assert_eq!(estate.job(job).due_at, Some(at("2026-11-26T07:40:00Z")));
}

// A significant hazard of damp told on Wednesday 25 November 2026: ten working days end on 9 December, three more on
// 14 December, five on 16 December; counted by hand, no bank holiday among them (same page).
#[test]
fn the_steps_of_a_significant_hazard_follow_its_investigation() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let home = other_flat(&estate);
    let job = radiator(&estate, home);
    let say = |once: &str, hazard: &str| {
        agent.post(
            &format!("/jobs/{job}/hazard"),
            &[
                ("once", once),
                ("hazard", hazard),
                ("hazard_words", "black mould"),
            ],
        )
    };
    let none = say("h0", "");
    assert_eq!(none.status(), 422);
    assert!(plain(&none.text().unwrap()).contains("Choose what it is"));
    assert_eq!(say("h1", "significant_damp_and_mould").status(), 303);
    assert_eq!(say("h1", "significant_damp_and_mould").status(), 303);
    assert_eq!(estate.count("estate.hazards"), 1);
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    for said in [
        "investigate by 9 December 2026, written summary by 14 December 2026, safety work by 16 December 2026",
        "who holds this home is not stated, so it is kept to them until somebody says otherwise",
        "Written summary given: by 14 December 2026.",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let space = home.to_string();
    let done = |once: &str, days: &[(&str, &str)]| {
        let mut fields = vec![("once", once), ("space", space.as_str())];
        fields.extend_from_slice(days);
        agent.post(&format!("/jobs/{job}/hazard-done"), &fields)
    };
    for (days, said) in [
        (("investigated", "2026-11-24"), "before we were told"),
        (("investigated", "2026-11-26"), "has not come yet"),
        (("summary", "2026-11-25"), "say first when that ended"),
        (("safety", "soon"), "is not a date"),
    ] {
        let wrong = done(&fresh(), &[days]);
        assert_eq!(wrong.status(), 422, "{said}");
        let page = plain(&wrong.text().unwrap());
        assert!(
            page.contains(said) && page.contains(days.1),
            "“{said}”: {page}"
        );
    }
    // Investigated on the day itself: three working days from there are 30 November, five 2 December.
    let investigated = [("investigated", "2026-11-25")];
    assert_eq!(done("d1", &investigated).status(), 303);
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    assert!(
        page.contains("Investigated on 25 November 2026, by 9 December 2026."),
        "{page}"
    );
    assert!(page.contains("Made safe: by 2 December 2026."), "{page}");
    assert_eq!(
        estate.job(job).due_at,
        Some(at("2026-11-30T23:59:00Z")),
        "the next step is the summary"
    );
    assert_eq!(
        estate.count("estate.hazards WHERE superseded_at IS NULL"),
        1,
        "stated anew, not twice"
    );
    // A private tenancy has none of these clocks: the hazard stays on record.
    held_by(&estate, home, "private");
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    assert!(page.contains("held by a private tenancy"), "{page}");
    assert!(!page.contains("Made safe: by"));
    assert!(!plain(&agent.page("/duties")).contains("Significant hazard"));
}

#[test]
fn a_hazard_is_said_of_ones_own_jobs_only_and_may_be_taken_back() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let other = strangers(&estate);
    let flat = other.flat(None);
    let open = work::OpenJob {
        kind: terms::JobKind::Repair,
        space: flat,
        unit: None,
        words: "theirs".to_owned(),
        due_on: None,
        duties: Vec::new(),
        minutes: None,
    };
    let theirs = work::open_job(other.world(), &other.seat, open, "o").unwrap();
    let fields = [("once", "x"), ("hazard", "emergency")];
    let to = format!("/jobs/{theirs}/hazard");
    assert_eq!(agent.post(&to, &fields).status(), 404);
    let job = radiator(&estate, estate.flat);
    let ours = format!("/jobs/{job}/hazard");
    assert_eq!(estate.client(ANNA).post(&ours, &fields).status(), 404);
    let ahead = HazardForm {
        job,
        said: HazardSaid {
            kind: "emergency".to_owned(),
            hazard: "other".to_owned(),
        },
        aware_at: Some(estate.world().now() + chrono::TimeDelta::hours(1)),
        words: String::new(),
    };
    let refused = work::say_hazard(estate.world(), &estate.seat, &ahead, "a");
    assert!(
        matches!(refused, Err(Error::Invalid(_))),
        "not in the future"
    );
    assert_eq!(agent.post(&ours, &fields).status(), 303);
    let flat = estate.flat.to_string();
    let back = [
        ("once", "b"),
        ("space", flat.as_str()),
        ("no_hazard", "it was the neighbour's bath"),
    ];
    let done = format!("/jobs/{job}/hazard-done");
    assert_eq!(agent.post(&done, &back).status(), 303);
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    // No clock of its own any more; the time it brought stands, with why.
    assert_eq!(
        page.matches("Emergency hazard: investigate").count(),
        1,
        "{page}"
    );
    assert!(
        page.contains("Taken back: it was no hazard; the time stands."),
        "{page}"
    );
    assert_eq!(
        estate.count("estate.hazards WHERE superseded_at IS NULL AND withdrawn <> ''"),
        1
    );
    let nothing = [("once", "n"), ("space", flat.as_str())];
    assert_eq!(agent.post(&done, &nothing).status(), 404, "there is none");
}
