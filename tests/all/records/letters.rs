//! Letters after a closed door: the right one after each try, recorded once, with nobody's name in the audit.
use terms::{JobId, JobKind};

use super::{estate, nobody_opens, plain, with_letterhead};
use crate::support::Client;
use crate::support::server::location;
use crate::work_estate::{AGENT, Loop};

/// A gas check nobody opens for.
fn closed_door(estate: &Loop) -> JobId {
    with_letterhead(estate);
    let duty = estate.duty(estate.boiler, "G1");
    estate.annas(JobKind::Check, estate.boiler, vec![duty])
}

fn write(
    agent: &Client,
    job: JobId,
    (kind, how): (&str, &str),
    more: &[(&str, &str)],
) -> reqwest::blocking::Response {
    let mut form = vec![
        ("shown", "yes"),
        ("why", "Gas safety check"),
        ("who", "Anna Arrow of Firm A"),
        ("minutes", "30"),
        ("how", how),
    ];
    form.extend_from_slice(more);
    agent.post(&format!("/jobs/{job}/letters/{kind}"), &form)
}

#[test]
fn a_letter_follows_its_try_and_is_recorded_once_without_a_name() {
    let estate = estate();
    let job = closed_door(&estate);
    let agent = estate.client(AGENT);
    let now = [
        ("once", "l1"),
        ("sent_on", "2026-11-25"),
        ("sent_time", "07:30"),
    ];
    let early = write(&agent, job, ("access_1", "post"), &now);
    assert_eq!(early.status(), 422);
    let page = early.text().unwrap();
    assert!(page.contains("No try is on record before that"), "{page}");
    assert!(
        page.contains("Anna Arrow of Firm A"),
        "what was typed stays"
    );

    nobody_opens(&estate, job, (0, 10));
    let agent = estate.client(AGENT);
    let duties = plain(&agent.page("/duties"));
    assert!(
        duties.contains("Next: the first letter, by Wednesday 2 December."),
        "seven days after the try (common practice, no source): {duties}"
    );
    let later = [
        ("once", "l2"),
        ("sent_on", "2026-11-25"),
        ("sent_time", "09:45"),
    ];
    let before_the_try = write(&agent, job, ("access_1", "post"), &later);
    assert_eq!(before_the_try.status(), 422, "sent before anybody came");
    let good = [
        ("once", "l3"),
        ("sent_on", "2026-11-25"),
        ("sent_time", "10:00"),
    ];
    let sent = write(&agent, job, ("access_1", "post"), &good);
    assert_eq!(sent.status(), 303);
    assert_eq!(
        write(&agent, job, ("access_1", "post"), &good).status(),
        303
    );
    assert_eq!(estate.count("estate.letters"), 1, "the same form twice");
    let shown = plain(&agent.page(&location(&sent)));
    assert!(
        shown.contains("Dear Peregrine Quill,"),
        "the desk prints it"
    );
    for kept in [
        "estate.letters WHERE body::text LIKE '%Quill%'",
        "estate.audit_bodies WHERE body LIKE '%Quill%'",
        "estate.words WHERE word LIKE '%quill%'",
        "estate.idempotency WHERE answer::text LIKE '%Quill%'",
    ] {
        assert_eq!(estate.count(kept), 0, "{kept}");
    }
    assert_eq!(
        estate.count("estate.audit_entries WHERE act = 'letter sent'"),
        1
    );
    let duties = plain(&agent.page("/duties"));
    for said in [
        "Sent: first letter by post on 25 November 2026.",
        "Next: try two, by Wednesday 2 December, at another time of day than morning.",
    ] {
        assert!(duties.contains(said), "“{said}” is not in {duties}");
    }
    let proof = plain(&agent.page(&format!("/duties/{}", estate.boiler)));
    for said in [
        "Try 1 (J-00001): Anna Arrow, Wednesday 25 November 2026, 10:00; nobody opened. Left behind: card through the door.",
        "First letter by post on 25 November 2026.",
        "Photographs of the door are kept with the job.",
    ] {
        assert!(proof.contains(said), "“{said}” is not in {proof}");
    }
}

#[test]
fn the_third_letter_goes_by_recorded_post_with_the_terms() {
    let estate = estate();
    let job = closed_door(&estate);
    for (days, hour) in [(0, 10), (7, 17), (14, 13)] {
        nobody_opens(&estate, job, (days, hour));
    }
    let agent = estate.client(AGENT);
    let on = [
        ("once", "t1"),
        ("sent_on", "2026-12-09"),
        ("sent_time", "13:00"),
    ];
    let bare = write(&agent, job, ("access_3", "post"), &on);
    assert_eq!(bare.status(), 422);
    let page = plain(&bare.text().unwrap());
    for said in ["goes by recorded post", "Name the clause of the tenancy"] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let numberless = write(&agent, job, ("access_3", "recorded_post"), &on);
    assert!(
        numberless
            .text()
            .unwrap()
            .contains("Recorded post has a number")
    );
    let whole = [
        ("once", "t2"),
        ("sent_on", "2026-12-09"),
        ("sent_time", "13:00"),
        ("reference", "RP-20117"),
        ("terms", "clause 4(2), access on 24 hours’ notice"),
    ];
    let sent = write(&agent, job, ("access_3", "recorded_post"), &whole);
    assert_eq!(sent.status(), 303);
    let duties = plain(&agent.page("/duties"));
    for said in [
        "third letter by recorded post on 9 December 2026, number RP-20117",
        "the landlord decides what comes next. Nobody forces a door.",
    ] {
        assert!(duties.contains(said), "“{said}” is not in {duties}");
    }

    let back = format!("{}/take-back", location(&sent));
    let silent = agent.post(&back, &[("once", "b0"), ("reason", "")]);
    assert_eq!(silent.status(), 422);
    let form = [("once", "b1"), ("reason", "it lay in the tray")];
    assert_eq!(agent.post(&back, &form).status(), 303);
    assert_eq!(
        agent.post(&back, &form).status(),
        303,
        "the same form again"
    );
    assert_eq!(agent.get(&location(&sent)).status(), 404);
    let duties = plain(&agent.page("/duties"));
    assert!(duties.contains("Next: the third letter, by"), "{duties}");
    assert_eq!(estate.count("estate.letters"), 1, "the entry stays");
}

#[test]
fn a_repair_is_announced_a_day_before_unless_the_resident_agrees() {
    let estate = estate();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let agent = estate.client(AGENT);
    let day = |once: &'static str, day: &'static str| {
        [
            ("once", once),
            ("sent_on", "2026-11-25"),
            ("sent_time", "07:30"),
            ("day", day),
            ("from", "07:00"),
            ("until", "09:00"),
        ]
    };
    let slotless = write(&agent, job, ("repair", "by_hand"), &day("r0", ""));
    assert!(
        slotless
            .text()
            .unwrap()
            .contains("A notice says on which day")
    );
    let short = write(&agent, job, ("repair", "by_hand"), &day("r1", "2026-11-26"));
    assert_eq!(short.status(), 422, "23 and a half hours");
    assert!(short.text().unwrap().contains("less than 24 hours"));
    let mut agreed = day("r2", "2026-11-26").to_vec();
    agreed.push(("agreed", "yes"));
    let taken = write(&agent, job, ("repair", "by_hand"), &agreed);
    assert_eq!(taken.status(), 303);
    let whole = write(&agent, job, ("repair", "by_hand"), &day("r3", "2026-11-27"));
    assert_eq!(whole.status(), 303);
    let wrong = write(&agent, job, ("repair", "by_hand"), &day("r4", "31/02/2027"));
    assert_eq!(wrong.status(), 422);
    assert!(
        wrong.text().unwrap().contains("31/02/2027"),
        "what was typed stays"
    );
    let seen = plain(&agent.page(&format!("/jobs/{job}")));
    assert!(
        seen.contains("Notice of a repair by hand on 25 November 2026."),
        "{seen}"
    );
    let plant = format!("/jobs/{job}/letters/nonsense");
    assert_eq!(agent.get(&plant).status(), 404);
}
