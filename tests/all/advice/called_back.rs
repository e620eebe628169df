//! A notice of a unit's maker: whom it means, what it stops, how it is settled.
use terms::JobState;

use super::estate::Estate;

/// What a notice's form sends, of combi boilers with serial numbers from `first` on.
fn typed<'a>(first: &'a str, once: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("title", "Fan harness"),
        ("on", "2026-03-03"),
        ("kind", "CB"),
        ("serial_from", first),
        ("about", "A harness is exchanged free of charge"),
        ("once", once),
    ]
}

fn with_serial(estate: &Estate, serial: &str) {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(estate.unit)?;
            serial.clone_into(&mut card.serial);
            Ok(tx.state_unit(estate.unit, &card, None)?)
        })
        .unwrap();
}

#[test]
fn no_money_is_agreed_for_a_unit_called_back_before_its_maker_was_asked() {
    let estate = Estate::new();
    with_serial(&estate, "K-2040");
    let agent = estate.app.signed_in("agent@test");
    assert_eq!(agent.post("/recalls", &typed("K-2000", "n")).status(), 303);
    // The same form again enters nothing more.
    assert_eq!(agent.post("/recalls", &typed("K-2000", "n")).status(), 303);
    let page = agent.page("/recalls");
    assert!(page.contains("One unit is to be settled"), "{page}");
    assert_eq!(page.matches("Take this notice back").count(), 1, "{page}");
    let today = agent.page("/today").replace('\u{a0}', " ");
    let waits = "A maker’s notice of 3 March 2026 means one unit: “Fan harness”.";
    assert!(today.contains(waits), "{today}");
    let unit = agent.page(&format!("/units/{}", estate.unit));
    let unit = unit.replace('\u{a0}', " ");
    let said = "A notice of its maker of 3 March 2026 means it: “Fan harness”.";
    assert!(unit.contains(said), "{unit}");

    let job = estate.job();
    let id = estate.advised(job, 10_000);
    let advice = agent.page(&format!("/advice/{id}"));
    assert!(
        advice.contains("what it calls back is mostly put right free"),
        "{advice}"
    );
    assert!(advice.contains("name=\"asked_maker\""), "{advice}");
    let engineer = estate.app.signed_in("engineer@test");
    let ahead = engineer.post(&format!("/advice/{id}/go-ahead"), &[("once", "g")]);
    assert_eq!(ahead.status(), 409, "nobody goes ahead on site");
    let why = ahead.text().unwrap();
    assert!(why.contains("Fan harness"), "{why}");
    let at = format!("/advice/{id}/decide");
    let repair = [("choice", "repair"), ("reason", "Cheap."), ("how", "page")];
    let refused = agent.post(&at, &repair);
    assert_eq!(refused.status(), 422);
    let text = refused.text().unwrap();
    assert!(text.contains("Ask the maker before anybody pays"), "{text}");
    assert!(text.contains("Cheap."), "what was typed is kept");

    // Settled as done, nothing speaks against it any more; opened again, it does.
    let settle = format!(
        "/recalls/{}/units/{}",
        notice_of(&agent.page("/recalls")),
        estate.unit
    );
    let answer = |done: &str, once: &str| {
        let sent = agent.post(&settle, &[("done", done), ("once", once)]);
        assert_eq!(sent.status(), 303);
    };
    answer("yes", "s1");
    assert!(
        !agent
            .page(&format!("/units/{}", estate.unit))
            .contains("Fan harness")
    );
    assert!(
        !agent
            .page(&format!("/advice/{id}"))
            .contains("name=\"asked_maker\"")
    );
    answer("", "s2");
    assert!(
        agent
            .page(&format!("/advice/{id}"))
            .contains("name=\"asked_maker\"")
    );
    let asked = [repair[0], repair[1], repair[2], ("asked_maker", "yes")];
    assert_eq!(agent.post(&at, &asked).status(), 303);
    assert_eq!(estate.job_now(job).state, JobState::Taken);
}

/// The id of the first notice on the page.
fn notice_of(page: &str) -> String {
    let (_, rest) = page.split_once("action=\"/recalls/").expect("a notice");
    rest.split('/').next().unwrap().to_owned()
}

#[test]
fn what_is_not_on_record_is_left_open_and_what_is_not_meant_is_not_named() {
    let estate = Estate::new();
    with_serial(&estate, "");
    let agent = estate.app.signed_in("agent@test");
    assert_eq!(agent.post("/recalls", &typed("K-2000", "n")).status(), 303);
    let unit = || {
        agent
            .page(&format!("/units/{}", estate.unit))
            .replace('\u{a0}', " ")
    };
    let said = unit();
    assert!(said.contains("may mean it: “Fan harness”"), "{said}");
    assert!(
        said.contains("hangs on its serial number, which is not on record"),
        "{said}"
    );
    with_serial(&estate, "K-1999");
    assert!(!unit().contains("Fan harness"));
    let page = agent.page("/recalls");
    assert!(page.contains("No unit in service is meant"), "{page}");
    let back = format!("/recalls/{}/back", notice_of(&page));
    assert_eq!(agent.post(&back, &[("once", "b")]).status(), 303);
    assert!(
        agent
            .page("/recalls")
            .contains("No maker’s notice is entered")
    );
}

#[test]
fn a_notice_that_cannot_be_is_refused_at_its_field_and_only_the_desk_enters_one() {
    let estate = Estate::new();
    let agent = estate.app.signed_in("agent@test");
    let refused = |change: (&str, &str), sentence: &str| {
        let mut form = typed("K-2000", "x");
        form.retain(|(name, _)| *name != change.0);
        form.push(change);
        let answer = agent.post("/recalls", &form);
        assert_eq!(answer.status(), 422, "{change:?}");
        let page = answer.text().unwrap();
        assert!(page.contains(sentence), "{change:?}: {page}");
        assert!(
            page.contains("A harness is exchanged"),
            "what was typed is kept"
        );
    };
    refused(("title", " "), "Say what the notice calls itself.");
    refused(("kind", "none-such"), "Say of which kind it speaks.");
    refused(("on", "2031-01-01"), "That day is to come.");
    refused(("on", ""), "Say of which day the notice is.");
    refused(("serial_until", "K-1000"), "It comes before the first.");
    refused(("family", &"w".repeat(81)), "80 letters at most.");
    for other in ["landlord@test", "engineer@test"] {
        let other = estate.app.signed_in(other);
        assert_eq!(other.get("/recalls").status(), 404);
        assert_eq!(other.post("/recalls", &typed("", "o")).status(), 404);
    }
    assert!(
        agent
            .page("/recalls")
            .contains("No maker’s notice is entered")
    );
}
