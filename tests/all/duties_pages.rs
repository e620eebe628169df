//! The pages of duties, rounds and programme over HTTP.
use terms::Role;

use crate::duties::Estate;
use crate::plan_estate::person;
use crate::support::TestApp;
use crate::support::server::{Client, location};

/// An estate with one flat whose gas check is late, served over HTTP.
struct Story {
    app: TestApp,
    estate: Estate,
    agent: Client,
    unit: String,
    duty: String,
}

fn story() -> Story {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    person(&estate, "owner@test", Role::Landlord, Some(Vec::new()));
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, Some("2020-05-01"));
    estate.start(unit, "G1", "2026-11-22");
    let duty = estate.proved(unit, "G1").card.id;
    let agent = app.signed_in("agent@test");
    Story {
        app,
        estate,
        agent,
        unit: unit.to_string(),
        duty: duty.to_string(),
    }
}

#[test]
fn a_late_check_is_said_explained_exported_and_entered_from_its_paper() {
    let story = story();
    let page = story.agent.page("/duties");
    for words in [
        "gas safety check was due by Sunday\u{a0}22\u{a0}November\u{a0}2026; it is late.",
        "late\u{a0}by\u{a0}3\u{a0}d",
        "Why this?",
        "basis: law",
        "Reminder, not legal advice. Check the current text.",
    ] {
        let plain = page.replace('\u{a0}', " ");
        assert!(plain.contains(&words.replace('\u{a0}', " ")), "{words}");
    }
    let file = story.agent.get("/duties.csv");
    assert_eq!(file.status(), 200);
    assert!(
        file.headers()["content-disposition"]
            .to_str()
            .unwrap()
            .contains("duties.csv")
    );

    let to = format!("/duties/{}/record", story.unit);
    let form = |on: &'static str, evidence: &'static str| {
        story.agent.post(
            &to,
            &[
                ("once", "k1"),
                ("duty", story.duty.as_str()),
                ("on", on),
                ("whole", "yes"),
                ("evidence", evidence),
                ("registration", "200417"),
                ("gi.1.what", "combi gas boiler"),
                ("gi.1.result", "safe to use"),
                ("gi.2.what", "its flue"),
                ("gi.2.result", "seen over its length"),
            ],
        )
    };
    let wrong = form("30/02/2026", "record 12");
    assert_eq!(wrong.status(), 422);
    let body = wrong.text().unwrap();
    assert!(
        body.contains("is not a date") && body.contains("record 12"),
        "what was typed stays"
    );
    assert_eq!(form("2026-12-24", "record 12").status(), 422);
    let good = form("2026-11-24", "<b>record 12</b>");
    assert_eq!(good.status(), 303);
    assert!(location(&good).starts_with(&format!("/duties/{}", story.unit)));
    assert_eq!(
        form("2026-11-24", "<b>record 12</b>").status(),
        303,
        "a repeated post"
    );
    let proof = story.agent.page(&format!("/duties/{}", story.unit));
    assert!(proof.contains("2 days after"), "late, said in the record");
    assert!(proof.contains("&#60;b&#62;record 12") || proof.contains("&lt;b&gt;record 12"));
    assert!(!proof.contains("<b>record"));
}

/// The year strip of a building: what it finds, each home with its words, and its window as a table.
#[test]
fn the_year_strip_shows_each_home_with_its_window() {
    let story = story();
    let flat = story.estate.flat(Some(true));
    let second = story.estate.unit("CB", "EL-002", flat, Some("2020-05-01"));
    story.estate.start(second, "G1", "2027-02-10");
    let page = story
        .agent
        .page(&format!("/duties?building={}", story.estate.building));
    let page = page.replace('\u{a0}', " ");
    assert!(page.contains("windows of gas safety check"), "{page}");
    assert!(page.contains("1 line of 2 lines past the day."), "{page}");
    let strip = &page[page.find("windows of gas safety check").unwrap()..];
    for words in ["late by 3 days", "by 10 Feb", "<svg", "Show as a table"] {
        assert!(
            strip.contains(words),
            "“{words}” is not on the strip: {strip}"
        );
    }
    // Of another duty of the building, another strip.
    let service = story.agent.page(&format!(
        "/duties?building={}&duty=G4",
        story.estate.building
    ));
    assert!(!service.contains("windows of gas safety check"));
}

#[test]
fn addresses_that_are_not_there_or_not_theirs_answer_404() {
    let story = story();
    let other = Estate::over(&story.app.database.world, "Other Estate");
    person(&other, "other@test", Role::Agent, None);
    let stranger = story.app.signed_in("other@test");
    let owner = story.app.signed_in("owner@test");
    let nobody = uuid::Uuid::new_v4();
    for path in [
        format!("/duties/{}", story.unit),
        format!("/duties/{}/record?duty={}", story.unit, story.duty),
        "/duties/nonsense".to_owned(),
        format!("/duties/{nobody}"),
        format!("/rounds/{nobody}/move"),
        "/rounds/nonsense/move".to_owned(),
        format!("/programme?building={nobody}"),
        "/programme?building=nonsense".to_owned(),
    ] {
        assert_eq!(stranger.get(&path).status(), 404, "{path}");
        // A landlord of no building sees none of it either.
        assert_eq!(owner.get(&path).status(), 404, "{path}");
    }
    assert_eq!(owner.get("/rounds").status(), 404);
    let post = stranger.post(
        &format!("/duties/{}/record", story.unit),
        &[("once", "x"), ("duty", story.duty.as_str())],
    );
    assert_eq!(post.status(), 404);
    assert!(!stranger.page("/duties").contains("EL-001"));
}

#[test]
fn visits_are_placed_by_a_button_and_the_reason_is_said_without_a_firm() {
    let story = story();
    assert!(
        story
            .agent
            .page("/rounds")
            .contains("No visits are placed yet")
    );
    let placed = story.agent.post("/rounds/place", &[("once", "p1")]);
    assert_eq!(placed.status(), 303);
    let page = story.agent.page("/rounds");
    assert!(
        page.contains("nobody who gives this estate time"),
        "the reason is said"
    );
    assert!(page.contains("Find it a day"));
}

#[test]
fn money_is_stated_by_building_and_the_landlord_reads_his_own() {
    let story = story();
    let estate_building = story
        .agent
        .page("/programme")
        .split("/programme/")
        .nth(1)
        .unwrap()
        .split('/')
        .next()
        .unwrap()
        .to_owned();
    let to = format!("/programme/{estate_building}/budget");
    let state = |year: &str, pence: &str, once: &str| {
        story.agent.post(
            &to,
            &[
                ("once", once),
                ("year", year),
                ("pence", pence),
                ("opening", "10000"),
                ("floor", "2500.50"),
            ],
        )
    };
    assert_eq!(state("2027", "a lot", "b1").status(), 422);
    assert_eq!(state("2227", "1000", "b2").status(), 422);
    assert_eq!(state("2027", "£28,000", "b3").status(), 303);
    let page = story.agent.page("/programme").replace('\u{a0}', " ");
    assert!(
        page.contains("The purse opens with £10,000"),
        "the purse is stated"
    );
    assert!(page.contains("£28,000 in"));
    assert!(
        page.contains("Estimate from this building&#39;s records")
            || page.contains("Estimate from this building's records")
    );
    assert!(page.contains("2500.50"));
    let whose = estate_building.parse().unwrap();
    person(
        &story.estate,
        "owner2@test",
        Role::Landlord,
        Some(vec![whose]),
    );
    let landlord = story.app.signed_in("owner2@test");
    let read = landlord.page("/programme");
    assert!(!read.contains("State the purse"), "a landlord reads");
    assert_eq!(
        landlord
            .post(&to, &[("once", "z"), ("year", "2027"), ("pence", "1")])
            .status(),
        404
    );
}
