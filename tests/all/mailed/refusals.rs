//! What a link never does, and the completion blocks behind its form.
use chrono::TimeDelta;
use terms::{JobKind, JobState};
use usecases::{Error, mailed, work};

use super::{DAY, OFFICE_A, Outbox, offered, post, unused};
use crate::visit_sheet::good_service;
use crate::work_estate::{AGENT, ANNA, BELLA, Loop, fresh};

#[test]
fn the_wrong_job_the_wrong_firm_and_a_made_up_secret_are_refused() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let visitor = estate.app.visitor();
    let (job, path) = offered(&estate, &outbox);
    let other = estate.open(JobKind::Survey, estate.cylinder, Vec::new());
    let secret = path.rsplit('/').next().unwrap().to_owned();
    let of_other = format!("/reply/{}/{secret}", estate.job(other).number);
    let made_up = format!("/reply/J-00001/{}", "0".repeat(64));
    for wrong in [of_other.as_str(), made_up.as_str(), "/reply/J-00001/x"] {
        assert_eq!(visitor.get(wrong).status(), 404, "{wrong}");
        assert_eq!(post(&visitor, wrong, "take", &DAY).status(), 404, "{wrong}");
    }
    // An engineer of another firm.
    let bella = estate.seat_of(BELLA).engineer().unwrap().to_string();
    let mut fields = DAY.to_vec();
    fields.push(("engineer", &bella));
    assert_eq!(post(&visitor, &path, "take", &fields).status(), 422);
    assert!(unused(&estate));
    // Firm B takes it meanwhile: Firm A's link is over, and says so without naming who.
    estate.offer(job, estate.firm_b);
    work::take(estate.world(), &estate.seat_of(BELLA), job, None, &fresh()).unwrap();
    let answer = visitor.get(&path);
    assert_eq!(answer.status(), 410);
    let page = answer.text().unwrap();
    assert!(
        page.contains("another firm took it") && !page.contains("Firm B"),
        "{page}"
    );
    for act in ["take", "report"] {
        let more = [
            DAY[0],
            DAY[1],
            DAY[2],
            ("arrived", "2026-11-25T07:00"),
            ("outcome", "done"),
        ];
        assert_eq!(post(&visitor, &path, act, &more).status(), 410, "{act}");
    }
    assert_eq!(estate.job(job).firm, Some(estate.firm_b));
    assert!(unused(&estate));
}

#[test]
fn on_day_eight_it_is_over() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let visitor = estate.app.visitor();
    let (_, path) = offered(&estate, &outbox);
    let clock = &estate.app.database.clock;
    clock.advance(TimeDelta::days(7));
    assert_eq!(visitor.get(&path).status(), 200, "on its last instant");
    clock.advance(TimeDelta::seconds(1));
    let day = [("day", "2026-12-04"), ("from", "09:00"), ("until", "11:00")];
    assert_eq!(post(&visitor, &path, "take", &day).status(), 410);
    let answer = visitor.get(&path);
    assert_eq!(answer.status(), 410);
    assert!(answer.text().unwrap().contains("seven days"));
    assert!(unused(&estate));
}

#[test]
fn a_link_is_no_sign_in() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let (job, path) = offered(&estate, &outbox);
    let secret = path.rsplit('/').next().unwrap();
    let world = estate.world();
    let found = mailed::find(world, &estate.job(job).number, secret).unwrap();
    let seat = &found.seat;
    let refused = [
        work::take(world, seat, job, None, &fresh()),
        work::give_back(world, seat, (job, "no".to_owned()), &fresh()),
        usecases::visit::arrive(world, seat, job, &fresh()).map(drop),
    ];
    for (n, answer) in refused.into_iter().enumerate() {
        assert!(
            matches!(answer, Err(Error::Forbidden(_))),
            "{n}: {answer:?}"
        );
    }
    let code = work::look_at_code(world, seat, job);
    assert!(matches!(code, Err(Error::NotFound(_))), "{code:?}");
    let other = estate.annas(JobKind::Survey, estate.boiler, Vec::new());
    let seen = work::job_view(world, seat, other);
    assert!(
        matches!(seen, Err(Error::NotFound(_))),
        "another job of the firm"
    );
}

#[test]
fn a_visit_reported_by_mail_passes_the_same_blocks_and_keeps_what_was_typed() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let address = format!("/jobs/{job}/mail");
    let agent = estate.client(AGENT);
    let once = fresh();
    let none = agent.post(&address, &[("once", once.as_str())]);
    assert_eq!(none.status(), 422, "no address is on record");
    let to = [("once", fresh()), ("mail_to", OFFICE_A.to_owned())];
    let to: Vec<(&str, &str)> = to.iter().map(|(k, v)| (*k, v.as_str())).collect();
    assert_eq!(agent.post(&address, &to).status(), 303);
    let path = outbox.newest(&estate).path(&estate);
    let visitor = estate.app.visitor();
    let anna = estate.seat_of(ANNA).engineer().unwrap().to_string();
    let send = |sheet: usecases::visit::Sheet| {
        let mut fields = vec![("arrived", "2026-11-25T07:00"), ("engineer", anna.as_str())];
        fields.extend(sheet.all());
        post(&visitor, &path, "report", &fields)
    };
    let unsafe_one = good_service()
        .with("unsafe", "ID")
        .with("unsafe_words", "the flue spills into the room");
    let unproved = good_service().with("r.working_mbar", "");
    for (sheet, says, typed) in [
        (unsafe_one, "Isolate it", "the flue spills into the room"),
        (
            unproved,
            "working pressure or gas rate",
            "seen over its length",
        ),
    ] {
        let answer = send(sheet);
        assert_eq!(answer.status(), 422);
        let page = answer.text().unwrap();
        assert!(page.contains(says), "“{says}” is not on the page");
        assert!(page.contains(typed), "“{typed}” is lost");
        assert_eq!(estate.job(job).state, JobState::Taken);
    }
    assert_eq!(estate.count("estate.visits"), 0);
    assert!(unused(&estate));
    assert_eq!(send(good_service()).status(), 303);
    assert_eq!(estate.job(job).state, JobState::Done);
    assert_eq!(estate.count("estate.visits WHERE source = 'mail'"), 1);
    assert_eq!(send(good_service()).status(), 410, "once");
}
