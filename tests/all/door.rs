//! Coming in: who gets a session, who has to wait, and whose posts are refused.
use chrono::TimeDelta;
use usecases::door::{DEMO_PASSWORD, hash_password};

use crate::support::TestApp;
use crate::support::server::location;

fn with_agent() -> TestApp {
    let app = TestApp::start();
    let world = &app.database.world;
    let hash = hash_password(DEMO_PASSWORD).unwrap();
    world
        .pool
        .at_door::<_, usecases::Error>(|door| {
            let at = world.now();
            let estate = door.add_estate("Test Estate", true, at)?;
            let account = door.add_account("agent@example.test", "Ada Agent", &hash, true, at)?;
            let grant = store::door::NewGrant {
                account,
                estate,
                role: terms::Role::Agent,
                firm: None,
                buildings: None,
                from_on: at.date_naive(),
            };
            door.add_grant(&grant, at)?;
            Ok(())
        })
        .unwrap();
    app
}

#[test]
fn a_session_opens_slides_ends_and_is_needed() {
    let app = with_agent();
    let stranger = app.visitor();
    assert_eq!(location(&stranger.get("/account")), "/sign-in?to=/account");
    let agent = app.signed_in("agent@example.test");
    assert!(agent.page("/account").contains("Ada Agent"));
    app.database.clock.advance(TimeDelta::hours(11));
    assert_eq!(
        agent.get("/account").status(),
        200,
        "used within twelve hours"
    );
    app.database.clock.advance(TimeDelta::hours(13));
    assert_eq!(
        agent.get("/account").status(),
        303,
        "unused for more than twelve"
    );
    let again = app.signed_in("agent@example.test");
    assert_eq!(
        again.post("/account/sign-out-everywhere", &[]).status(),
        303
    );
    assert_eq!(again.get("/account").status(), 303);
}

#[test]
fn guessing_is_slowed_by_name_and_the_sentence_does_not_tell_which_was_wrong() {
    let app = with_agent();
    let guesser = app.visitor();
    let wrong = |email: &str, password: &str| {
        let answer = guesser.post("/sign-in", &[("email", email), ("password", password)]);
        assert_eq!(answer.status(), 422);
        answer.text().unwrap()
    };
    let sentence = "This name and password do not go together.";
    assert!(wrong("nobody@example.test", "x").contains(sentence));
    for _ in 0..8 {
        assert!(wrong("agent@example.test", "x").contains(sentence));
    }
    assert!(wrong("agent@example.test", DEMO_PASSWORD).contains("Too many tries"));
    app.database.clock.advance(TimeDelta::minutes(16));
    app.signed_in("agent@example.test");
}

#[test]
fn a_post_from_another_site_is_refused() {
    let app = with_agent();
    let agent = app.signed_in("agent@example.test");
    let post = || {
        agent
            .http
            .post(format!("{}/account/sign-out-everywhere", app.address))
    };
    assert_eq!(
        post()
            .header("sec-fetch-site", "cross-site")
            .send()
            .unwrap()
            .status(),
        403
    );
    assert_eq!(
        post()
            .header("origin", "https://elsewhere.test")
            .send()
            .unwrap()
            .status(),
        403
    );
    assert_eq!(
        post().send().unwrap().status(),
        403,
        "neither header, but a cookie"
    );
    assert_eq!(agent.get("/account").status(), 200, "nothing happened");
    assert_eq!(
        post()
            .header("origin", &app.address)
            .send()
            .unwrap()
            .status(),
        303
    );
}
