//! Who holds a home: stated from a day on, and the right to repair that follows from it.
use chrono::{DateTime, Utc};
use terms::Tenure;
use usecases::Error;

use super::{other_flat, plain, radiator, strangers};
use crate::work_estate::{AGENT, ANNA, Loop, day, fresh};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

// Right to repair: SI 1994/133, law text read (trade file on duties, section 3): partial loss of space heating between
// 1 November and 30 April, one working day. Wednesday 25 November 2026 → Thursday 26 November.
#[test]
fn the_right_to_repair_follows_who_holds_the_home() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let job = radiator(&estate, estate.flat);
    // Ten working days from 25 November 2026, none of them a bank holiday: 9 December.
    assert_eq!(estate.job(job).due_at, Some(at("2026-12-09T23:59:00Z")));
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    assert!(
        page.contains("Whether the right to repair applies is not known"),
        "{page}"
    );
    let home = format!("/spaces/{}", estate.flat);
    assert!(plain(&agent.page(&home)).contains("Who holds it is not known"));

    let to = format!("{home}/tenure");
    let post = |once: &str, tenure: &str, from: &str| {
        agent.post(
            &to,
            &[("once", once), ("tenure", tenure), ("tenure_from", from)],
        )
    };
    for (tenure, from, said) in [
        ("", "2020-03-05", "Choose who holds it"),
        ("squire", "2020-03-05", "Choose who holds it"),
        ("council_secure", "", "Say from which day on"),
        (
            "council_secure",
            "2040-03-05",
            "within the last hundred years",
        ),
        ("council_secure", "the fifth", "is not a date"),
    ] {
        let wrong = post(&fresh(), tenure, from);
        assert_eq!(wrong.status(), 422, "{said}");
        let page = plain(&wrong.text().unwrap());
        assert!(page.contains(said), "“{said}” is not in {page}");
        assert!(page.contains(from), "what was typed stays");
    }
    assert_eq!(estate.count("estate.tenures"), 0);

    assert_eq!(post("t1", "council_secure", "2020-03-05").status(), 303);
    assert_eq!(post("t1", "council_secure", "2020-03-05").status(), 303);
    assert_eq!(estate.count("estate.tenures"), 1, "once is once");
    assert_eq!(
        estate.job(job).due_at,
        Some(at("2026-11-26T23:59:00Z")),
        "the law's day comes first"
    );
    let page = plain(&agent.page(&format!("/jobs/{job}")));
    for said in [
        "Council secure tenants: to be put right by 26 November 2026, 1 working day after the report (law).",
        "Basis: law. How the rule is known: law text read.",
        "This clock is law: it runs on.",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    assert!(plain(&agent.page(&home)).contains("Secure tenancy of a council from 5 March 2020"));
    // A call logged after it has its times from the start.
    let next = other_flat(&estate);
    let theirs = format!("/spaces/{next}/tenure");
    let secure = [
        ("once", "t2"),
        ("tenure", "council_secure"),
        ("tenure_from", "2026-11-25"),
    ];
    assert_eq!(agent.post(&theirs, &secure).status(), 303);
    let job = estate.job(radiator(&estate, next));
    assert_eq!(job.due_at, Some(at("2026-11-26T23:59:00Z")));
    assert!(
        job.due_why.contains("(law: right to repair)"),
        "{}",
        job.due_why
    );
}

#[test]
fn who_holds_a_home_is_dated_and_can_be_unknown_again() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let to = format!("/spaces/{}/tenure", estate.flat);
    for (tenure, from) in [
        ("private", "2019-01-01"),
        ("council_secure", "2024-06-01"),
        ("social", "2024-06-01"),
        ("unknown", "2026-11-01"),
    ] {
        let once = fresh();
        let fields = [
            ("once", once.as_str()),
            ("tenure", tenure),
            ("tenure_from", from),
        ];
        assert_eq!(agent.post(&to, &fields).status(), 303, "{tenure}");
    }
    let on = |date: &str| {
        estate
            .world()
            .acting(&estate.seat, |tx| {
                Ok::<_, Error>(tx.tenure_on(estate.flat, day(date))?)
            })
            .unwrap()
    };
    assert_eq!(on("2018-12-31"), Tenure::Unknown);
    assert_eq!(on("2019-01-01"), Tenure::Private);
    assert_eq!(on("2024-06-01"), Tenure::Social, "put right for that day");
    assert_eq!(on("2026-11-25"), Tenure::Unknown);
    assert_eq!(
        estate.count("estate.tenures WHERE superseded_at IS NOT NULL"),
        1,
        "what was wrong stays readable"
    );
    let page = plain(&agent.page(&format!("/spaces/{}", estate.flat)));
    assert!(page.contains("Not known from 1 November 2026"), "{page}");

    let theirs = strangers(&estate).flat(None);
    let fields = [
        ("once", "s1"),
        ("tenure", "social"),
        ("tenure_from", "2026-11-01"),
    ];
    let foreign = agent.post(&format!("/spaces/{theirs}/tenure"), &fields);
    assert_eq!(foreign.status(), 404, "another estate's home");
    assert_eq!(estate.client(ANNA).post(&to, &fields).status(), 404);
    assert_eq!(estate.count("estate.tenures"), 4);
}

#[test]
fn a_list_brings_who_holds_a_home_and_takes_it_back() {
    use crate::import::{Estate, block};
    let estate = Estate::bare();
    block(estate.world(), &estate.seat, "Alder House", (2, 3));
    let list = "Number,Flat,Kind,Tenure\nB1,1,combi,Secure\nB2,2,combi,leasehold\nB3,3,combi,\n";
    let id = estate.send("list.csv", list.as_bytes());
    let preview = estate.view(id).preview;
    assert!(preview.ready, "{:#?}", preview.problems);
    estate.commit(id).unwrap();
    let held = || {
        estate
            .world()
            .acting(&estate.seat, |tx| {
                let spaces = tx.spaces(None)?;
                let held = tx.tenures_on(day("2026-11-25"))?;
                let mut found: Vec<(String, Tenure)> = spaces
                    .into_iter()
                    .filter_map(|s| Some((s.name, *held.get(&s.id)?)))
                    .collect();
                found.sort();
                Ok::<_, Error>(found)
            })
            .unwrap()
    };
    let found: Vec<Tenure> = held().into_iter().map(|(_, tenure)| tenure).collect();
    assert_eq!(found, [Tenure::CouncilSecure, Tenure::LongLease]);
    usecases::import::undo(estate.world(), &estate.seat, id, &fresh()).unwrap();
    assert!(held().is_empty(), "taken back with its list");
    // A word that may mean two things is asked about.
    let list = "Number,Flat,Kind,Tenure\nB4,4,combi,council\n";
    let id = estate.send("vague.csv", list.as_bytes());
    let preview = estate.view(id).preview;
    assert!(!preview.ready && preview.problems.len() == 1);
    assert!(
        preview.problems[0]
            .sentence
            .contains("Secure, social, private or leasehold")
    );
}
