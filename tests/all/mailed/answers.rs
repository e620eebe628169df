//! The mail, the page, and the answers it takes.
use chrono::TimeDelta;
use terms::{JobKind, JobState};
use usecases::mailed;

use super::{DAY, OFFICE_A, Outbox, offer_by_mail, offered, post, unused};
use crate::support::server::location;
use crate::work_estate::{AGENT, Loop, fresh};

#[test]
fn the_mail_can_be_read_back_and_holds_the_link_once_and_nobody_else_does() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let job = estate.open(JobKind::Survey, estate.boiler, Vec::new());
    offer_by_mail(&estate, job, estate.firm_a);
    assert!(outbox.files().is_empty(), "the mail is a task's work");
    let mail = outbox.newest(&estate);
    assert_eq!(outbox.files().len(), 1);
    assert_eq!(mail.field("To"), OFFICE_A);
    assert_eq!(
        mail.field("Subject"),
        "J-00001 on offer: survey, Flat 14, Alder House"
    );
    assert!(mail.field("From").ends_with("desk@estate.example"));
    assert_eq!(mail.field("Date"), "Wed, 25 Nov 2026 07:40:00 +0000");
    assert!(mail.field("Message-ID").ends_with("@estate.example>"));
    assert_eq!(mail.field("MIME-Version"), "1.0");
    for said in ["Firm A", "Flat 14, Alder House", "no account is needed"] {
        assert!(mail.body.contains(said), "“{said}” is not in {}", mail.body);
    }
    for hidden in ["Quill", "01632 960014", "C4417", "same day"] {
        assert!(!mail.body.contains(hidden), "{hidden}");
    }
    let path = mail.path(&estate);
    let secret = path.rsplit('/').next().unwrap();
    assert_eq!(secret.len(), 64, "32 bytes in hexadecimal");
    assert!(path.starts_with("/reply/J-00001/"), "{path}");
    let known = [
        format!("door.tasks WHERE payload::text LIKE '%{secret}%' OR progress LIKE '%{secret}%'"),
        format!("door.reply_links WHERE encode(secret_hash, 'hex') = '{secret}'"),
        format!("estate.audit_bodies WHERE body::text LIKE '%{secret}%'"),
        format!("estate.job_events WHERE words LIKE '%{secret}%'"),
    ];
    for place in &known {
        assert_eq!(estate.count(place), 0, "{place}");
    }
    let hash = format!(
        "door.reply_links WHERE secret_hash = sha256('{secret}'::bytea) AND until_at = made_at + interval '7 days'"
    );
    assert_eq!(estate.count(&hash), 1);
    let page = estate.client(AGENT).page(&format!("/jobs/{job}"));
    assert!(page.contains(OFFICE_A), "the job says where the page went");
}

#[test]
fn a_task_that_runs_twice_leaves_one_mail_whose_link_answers() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let (job, first) = offered(&estate, &outbox);
    let page = mailed::PageToMail {
        job,
        firm: estate.firm_a,
        to: OFFICE_A.to_owned(),
    };
    // As after a crash between the link and the end of the task: a newer link takes the place of the first.
    mailed::prepare(estate.world(), &estate.seat, &page)
        .unwrap()
        .expect("it is still on offer");
    let visitor = estate.app.visitor();
    let answer = visitor.get(&first);
    assert_eq!(answer.status(), 410);
    assert!(answer.text().unwrap().contains("A later mail"));
    assert_eq!(post(&visitor, &first, "take", &DAY).status(), 410);
    assert!(unused(&estate));
}

#[test]
fn looking_changes_nothing_and_shows_no_more_than_a_firm_may_see() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let (job, path) = offered(&estate, &outbox);
    let visitor = estate.app.visitor();
    let tables = [
        "estate.job_events",
        "estate.audit_entries",
        "estate.offers WHERE answer IS NOT NULL",
        "estate.idempotency",
        "door.tasks",
        "door.reply_links WHERE used_at IS NULL AND ended_at IS NULL",
    ];
    let before: Vec<i64> = tables.iter().map(|t| estate.count(t)).collect();
    for _ in 0..3 {
        let page = visitor.page(&path);
        for said in [
            "Flat 14, Alder House",
            "1 Alder Way",
            "Second floor, stair 2.",
            "Before you touch it",
            "Asbestos",
            "Take it",
        ] {
            assert!(page.contains(said), "“{said}” is not on the page");
        }
        for hidden in ["C4417", "Quill", "01632 960014", "same day"] {
            assert!(!page.contains(hidden), "{hidden}");
        }
        let head = visitor
            .http
            .head(format!("{}{path}", estate.app.address))
            .send()
            .unwrap();
        assert_eq!(head.status(), 200);
        assert_eq!(head.text().unwrap(), "");
    }
    let after: Vec<i64> = tables.iter().map(|t| estate.count(t)).collect();
    assert_eq!(before, after);
    assert_eq!(estate.job(job).state, JobState::Offered);
}

#[test]
fn taking_it_books_the_day_and_uses_the_link_up() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let (job, path) = offered(&estate, &outbox);
    let visitor = estate.app.visitor();
    let half = post(
        &visitor,
        &path,
        "take",
        &[("day", "2026-11-27"), ("from", "09:00")],
    );
    assert_eq!(half.status(), 422);
    let page = half.text().unwrap();
    assert!(
        page.contains("value=\"2026-11-27\""),
        "what was typed stays"
    );
    assert!(unused(&estate), "a refusal leaves the link");
    let past = [("day", "2026-11-24"), ("from", "09:00"), ("until", "11:00")];
    assert_eq!(post(&visitor, &path, "take", &past).status(), 422);
    assert_eq!(
        estate.job(job).state,
        JobState::Offered,
        "not taken by half"
    );
    let once = fresh();
    let mut fields = vec![("once", once.as_str()), ("act", "take")];
    fields.extend(DAY);
    let answer = visitor.post(&path, &fields);
    assert_eq!(
        (answer.status().as_u16(), location(&answer).as_str()),
        (303, "/replied")
    );
    assert!(visitor.page("/replied").contains("the day is booked"));
    let stands = estate.job(job);
    assert_eq!(
        (stands.state, stands.firm),
        (JobState::Booked, Some(estate.firm_a))
    );
    assert_eq!(
        stands.booked.unwrap().0.to_rfc3339(),
        "2026-11-27T09:00:00+00:00"
    );
    assert_eq!(
        visitor.post(&path, &fields).status(),
        303,
        "the same form sent twice is answered alike"
    );
    assert_eq!(visitor.get(&path).status(), 410);
    for act in ["take", "propose", "decline", "report"] {
        let more = [
            DAY[0],
            DAY[1],
            DAY[2],
            ("reason", "no"),
            ("arrived", "2026-11-25T07:00"),
        ];
        assert_eq!(post(&visitor, &path, act, &more).status(), 410, "{act}");
    }
    assert_eq!(
        estate.count("estate.job_events WHERE state = 'booked'"),
        2,
        "booked, and the mail to come"
    );
    let job_page = estate.client(AGENT).page(&format!("/jobs/{job}"));
    assert!(job_page.contains("Firm A, by the link in their mail"));
    // The page to report with comes on the morning of the visit.
    let before = outbox.files().len();
    jobs::run_queue(estate.world(), &outbox.settings(&estate));
    assert_eq!(outbox.files().len(), before);
    estate.app.database.clock.advance(TimeDelta::days(2));
    let mail = outbox.newest(&estate);
    assert!(mail.field("Subject").contains("report of the visit"));
    assert!(
        visitor
            .page(&mail.path(&estate))
            .contains("How did the visit go?")
    );
}

#[test]
fn another_day_and_a_no_bring_the_job_back_to_the_desk_with_the_words() {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let visitor = estate.app.visitor();
    let (job, path) = offered(&estate, &outbox);
    assert_eq!(
        post(&visitor, &path, "decline", &[("reason", " ")]).status(),
        422
    );
    assert_eq!(
        post(&visitor, &path, "decline", &[("reason", "nobody free.")]).status(),
        303
    );
    assert_eq!(estate.job(job).state, JobState::ToPlace);
    assert_eq!(visitor.get(&path).status(), 410);
    let (job, path) = offered(&estate, &outbox);
    let day = [
        ("other_day", "2026-12-01"),
        ("other_from", "08:00"),
        ("other_until", "10:00"),
        ("words", "two people needed"),
    ];
    assert_eq!(post(&visitor, &path, "propose", &day).status(), 303);
    let page = estate.client(AGENT).page(&format!("/jobs/{job}"));
    assert!(
        page.contains("could come from 08:00 on 1 December 2026 to 10:00: two people needed"),
        "{page}"
    );
    assert_eq!(estate.job(job).state, JobState::ToPlace);
}
