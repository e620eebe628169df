//! A unit is entered, corrected, replaced, moved.
use usecases::register::{self, Replacement};

use super::estate::{boiler, estate, house};
use crate::support::server::location;

#[test]
fn a_unit_is_entered_corrected_and_the_old_fact_stays_readable() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 3));
    let flat = estate.flat(building, "Flat 7");
    let agent = &estate.agent;
    let form = agent.page(&format!("/units/new?space={flat}"));
    assert!(form.contains("A unit in Flat 7, Alder House"));
    let space = flat.to_string();
    let mut fields = vec![
        ("once", "u-1"),
        ("space", space.as_str()),
        ("kind", ""),
        ("serial", "I1O0-8B5S"),
        ("fitted", "last winter"),
        ("rated_kw", "30"),
    ];
    let wrong = agent.post("/units/new", &fields);
    assert_eq!(wrong.status(), 422);
    assert!(
        wrong
            .text()
            .unwrap()
            .contains("“last winter” is not a year")
    );
    fields[4].1 = "2011";
    let wrong = agent.post("/units/new", &fields);
    assert_eq!(wrong.status(), 422);
    assert!(
        wrong
            .text()
            .unwrap()
            .contains("Say what sort of unit it is.")
    );
    fields[2].1 = "CB";
    let href = location(&agent.post("/units/new", &fields));
    let page = agent.page(&href);
    assert!(page.contains("AH-7-1") && page.contains("I1O0-8B5S") && page.contains("in\u{a0}2011"));
    assert!(
        page.contains("Gas safety check"),
        "its kind's duties are open"
    );
    let correct = agent.page(&format!("{href}/correct"));
    let seen = correct
        .split("name=\"seen\" value=\"")
        .nth(1)
        .and_then(|rest| rest.split('"').next())
        .unwrap()
        .to_owned();
    let fields = [
        ("once", "c-1"),
        ("seen", seen.as_str()),
        ("kind", "CB"),
        ("serial", "I1O0-8B55"),
        ("fitted", "03/2012"),
    ];
    assert_eq!(
        agent.post(&format!("{href}/correct"), &fields).status(),
        303
    );
    let page = agent.page(&href);
    assert!(
        page.contains("serial was “I1O0-8B5S”, now “I1O0-8B55”"),
        "{page}"
    );
    assert!(page.contains("fitting was in\u{a0}2011, now in March\u{a0}2012"));
    let late = [
        ("once", "c-2"),
        ("seen", seen.as_str()),
        ("kind", "CB"),
        ("serial", "X"),
    ];
    let conflict = agent.post(&format!("{href}/correct"), &late);
    assert_eq!(conflict.status(), 409, "somebody wrote meanwhile");
    assert!(agent.page(&href).contains("I1O0-8B55"));
}

#[test]
fn a_replaced_unit_keeps_its_history_and_the_flat_shows_both() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let flat = estate.flat(building, "Flat 3");
    let old = estate.fit(flat, "OLD-77");
    let world = &estate.app.database.world;
    world
        .acting(&estate.seat, |tx| {
            let record = terms::unit::FailureRecord {
                id: terms::FailureId(uuid::Uuid::nil()),
                unit: old,
                part: Some("pump".to_owned()),
                function_lost: Some("heating".to_owned()),
                happened_on: "2025-12-19".parse().unwrap(),
                happened_until: None,
                found_at_service: false,
                no_fault_found: false,
                cost: Some(terms::Pence(28_600)),
                job: None,
                same_as: String::new(),
                words: "seized".to_owned(),
                recorded_at: world.now(),
            };
            tx.add_failure(&record, None)?;
            Ok(())
        })
        .unwrap();
    let agent = &estate.agent;
    let wrong = agent.post(
        &format!("/units/{old}/replace"),
        &[
            ("once", "r-0"),
            ("kind", "CB"),
            ("serial", "NEW-1"),
            ("on", "2026-12-24"),
            ("fate", "written_off"),
        ],
    );
    assert_eq!(wrong.status(), 422);
    assert!(
        wrong
            .text()
            .unwrap()
            .contains("It cannot have left on a day to come.")
    );
    let fields = [
        ("once", "r-1"),
        ("kind", "CB"),
        ("serial", "NEW-1"),
        ("on", "2026-11-20"),
        ("fate", "written_off"),
    ];
    let href = location(&agent.post(&format!("/units/{old}/replace"), &fields));
    assert_eq!(
        location(&agent.post(&format!("/units/{old}/replace"), &fields)),
        href
    );
    let new = agent.page(&href);
    assert!(
        new.contains("AH-3-2") && new.contains("AH-3-1"),
        "its own number, and the one before"
    );
    let plain = new.replace('\u{a0}', " ");
    let before = format!("<a class=\"subject\" href=\"/units/{old}\">AH-3-1</a>.");
    let said = format!("On 20 November 2026. It took the place of {before}");
    assert!(plain.contains(&said), "{said} is not in {plain}");
    let gone = agent.page(&format!("/units/{old}"));
    assert!(
        gone.contains("stood in flat\u{a0}3 until 20\u{a0}November\u{a0}2026"),
        "{gone}"
    );
    assert!(
        gone.contains("seized") && gone.contains("£286.00"),
        "its history stays"
    );
    let plain = gone.replace('\u{a0}', " ");
    for said in [
        format!(", replaced by <a class=\"subject\" href=\"{href}\">AH-3-2</a>."),
        "Replaced by AH-3-2. Its history stays.".to_owned(),
        // Under the history line.
        "Replaced by AH-3-2 on 20 November 2026.".to_owned(),
        "it took the place of this one".to_owned(),
    ] {
        assert!(plain.contains(&said), "{said} is not in {plain}");
    }
    let space = agent.page(&format!("/spaces/{flat}"));
    assert!(space.contains("AH-3-1") && space.contains("AH-3-2"));
    let second = Replacement {
        old,
        facts: boiler("NEW-2"),
        on: "2026-11-21".parse().unwrap(),
        fate: terms::Fate::Removed,
    };
    let refused = register::replace_unit(world, &estate.seat, second, "r-2");
    assert!(matches!(refused, Err(usecases::Error::Conflict(_))));
    let view = register::building_view(world, &estate.seat, building).unwrap();
    let now = view.flats.iter().find(|f| f.space.id == flat).unwrap();
    assert_eq!(
        now.spent,
        Some(terms::Pence(28_600)),
        "the money question counts what stood there then"
    );
    assert_eq!(now.units.len(), 1);
    let money = agent.page(&format!("/buildings/{building}?ask=money"));
    assert!(
        money.contains("Failures and repairs in Alder House cost £286"),
        "{money}"
    );
}

#[test]
fn a_moved_unit_stays_the_same_unit_and_both_flats_know_it() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let (from, to) = (
        estate.flat(building, "Flat 1"),
        estate.flat(building, "Flat 2"),
    );
    let unit = estate.fit(from, "M-1");
    let agent = &estate.agent;
    let target = to.to_string();
    let fields = [
        ("once", "m-1"),
        ("space", target.as_str()),
        ("on", "2026-11-24"),
    ];
    assert_eq!(
        agent.post(&format!("/units/{unit}/move"), &fields).status(),
        303
    );
    assert!(
        agent
            .page(&format!("/units/{unit}"))
            .contains("Flat 2, Alder House")
    );
    assert!(agent.page(&format!("/spaces/{from}")).contains("AH-1-1"));
    assert!(agent.page(&format!("/spaces/{to}")).contains("AH-1-1"));
    let again = [
        ("once", "m-2"),
        ("space", target.as_str()),
        ("on", "2026-11-24"),
    ];
    assert_eq!(
        agent.post(&format!("/units/{unit}/move"), &again).status(),
        422
    );
}

#[test]
fn a_unit_taken_out_keeps_its_history_and_its_days() {
    let estate = estate();
    let building = estate.draw(house("Elder House", 2));
    let flat = estate.flat(building, "Flat 2");
    let unit = estate.fit(flat, "X-77");
    let address = format!("/units/{unit}/take-out");
    let page = estate.agent.page(&address);
    assert!(page.contains("nothing takes its place"), "{page}");
    let hasty = [("once", "t-1"), ("fate", "removed"), ("on", "2026-11-24")];
    let refused = estate.agent.post(&address, &hasty);
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text()
            .unwrap()
            .contains("Say why nothing takes its place")
    );
    let out = [
        ("once", "t-2"),
        ("fate", "removed"),
        ("on", "2026-11-24"),
        ("why", "The store in the hall does its work now"),
    ];
    assert_eq!(estate.agent.post(&address, &out).status(), 303);
    let seen = estate.agent.page(&format!("/spaces/{flat}"));
    assert!(
        seen.contains("taken out while working on 24"),
        "how it ended, and the day: {seen}"
    );
    let gone = estate.agent.page(&format!("/units/{unit}"));
    assert!(!gone.to_lowercase().contains("replaced by"), "{gone}");
    let again = [
        ("once", "t-3"),
        ("fate", "removed"),
        ("on", "2026-11-24"),
        ("why", "again"),
    ];
    assert_eq!(estate.agent.post(&address, &again).status(), 409);
}

#[test]
fn a_unit_that_came_back_shows_both_of_its_stays() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let home = estate.flat(building, "Flat 1");
    let other = estate.flat(building, "Flat 2");
    let unit = estate.fit(home, "M-1");
    for (to, on) in [(other, "2026-11-20"), (home, "2026-11-24")] {
        let (to, once) = (to.to_string(), format!("move on {on}"));
        let fields = [("once", once.as_str()), ("space", to.as_str()), ("on", on)];
        let moved = estate.agent.post(&format!("/units/{unit}/move"), &fields);
        assert_eq!(moved.status(), 303);
    }
    let page = estate.agent.page(&format!("/spaces/{home}"));
    let page = page.replace('\u{a0}', " ");
    assert!(page.contains("to 20 November 2026") || page.contains("here until 20 November 2026"));
    assert!(page.contains("here since 24 November 2026"), "{page}");
    let away = estate.agent.page(&format!("/spaces/{other}"));
    let away = away.replace('\u{a0}', " ");
    assert!(
        away.contains("here from 20 November 2026 to 24 November 2026"),
        "{away}"
    );
}
