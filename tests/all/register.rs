//! The register by its pages: a building drawn, units entered, corrected, replaced, found; and who may read what.
use terms::{BuildingId, Role, SpaceId, UnitId};
use usecases::Seat;
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_firm, add_person, found_estate};
use usecases::register::{self, DrawBuilding, Heat, NewUnit, Replacement, ResidentForm, UnitFacts};

use crate::support::server::location;
use crate::support::{Client, TestApp};

struct Estate {
    app: TestApp,
    seat: Seat,
    agent: Client,
}

fn sign_up(app: &TestApp, email: &str, seat: &Seat, role: Role, of: Option<Vec<BuildingId>>) {
    let firm = (role == Role::Contractor).then(|| {
        add_firm(
            &app.database.world,
            seat.estate(),
            "Fenwright Heating",
            2_400,
        )
        .unwrap()
    });
    add_person(
        &app.database.world,
        &NewPerson {
            email: email.to_owned(),
            name: "Ada Agent".to_owned(),
            password: DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: seat.estate(),
            role,
            firm,
            buildings: of,
        },
    )
    .unwrap();
}

fn estate() -> Estate {
    let app = TestApp::start();
    let seat = found_estate(&app.database.world, "Larkmoor Estate", true).unwrap();
    sign_up(&app, "agent@example.test", &seat, Role::Agent, None);
    let agent = app.signed_in("agent@example.test");
    Estate { app, seat, agent }
}

fn house(name: &str, storeys: u32) -> DrawBuilding {
    DrawBuilding {
        name: name.to_owned(),
        code: String::new(),
        address: String::new(),
        country: terms::Country::England,
        built_year: Some(1964),
        storeys,
        flats_a_storey: 4,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: vec![2],
        plant_below: false,
        tank_on_roof: false,
        heat: Heat::Unknown,
        hardness_mg_l: Some(286.0),
        asbestos_register: "unknown".to_owned(),
    }
}

fn boiler(serial: &str) -> UnitFacts {
    UnitFacts {
        kind: "CB".to_owned(),
        serial: serial.to_owned(),
        installed: Some(("2011-10-01".parse().unwrap(), "2012-03-31".parse().unwrap())),
        rated_kw: Some(30.0),
        litres: None,
        filter_fitted: Some(true),
        reducer_fitted: Some(false),
        warranty_until: None,
        note: String::new(),
    }
}

impl Estate {
    fn draw(&self, form: DrawBuilding) -> BuildingId {
        let once = form.name.clone();
        register::draw_building(&self.app.database.world, &self.seat, form, &once).unwrap()
    }

    fn flat(&self, building: BuildingId, name: &str) -> SpaceId {
        let view = register::building_view(&self.app.database.world, &self.seat, building).unwrap();
        let flat = view.flats.iter().find(|f| f.space.name == name);
        flat.expect(name).space.id
    }

    fn fit(&self, space: SpaceId, serial: &str) -> UnitId {
        let form = NewUnit {
            space,
            facts: boiler(serial),
            placed_from: None,
            watched_from: None,
        };
        register::add_unit(&self.app.database.world, &self.seat, form, serial).unwrap()
    }
}

#[test]
fn an_empty_estate_says_what_to_do_first() {
    let estate = estate();
    let page = estate.agent.page("/buildings");
    assert!(page.contains("No building is known yet"));
    assert!(page.contains("href=\"/buildings/new\"") && page.contains("href=\"/import\""));
}

#[test]
fn a_building_is_drawn_by_form_and_what_cannot_be_stays_as_typed() {
    let estate = estate();
    let agent = &estate.agent;
    assert!(
        agent
            .page("/buildings/new")
            .contains("How does the building stand?")
    );
    let mut fields = vec![
        ("once", "k-1"),
        ("act", "keep"),
        ("name", "Withy Court"),
        ("storeys", "ninety"),
        ("flats", "4"),
        ("stairs", "two"),
        ("first", "1"),
        ("country", "england"),
        ("asbestos", "unknown"),
        ("heat", "plant"),
        ("tank", "yes"),
        ("flats-0", "2"),
        ("rooms-0", "Hall, Bins"),
    ];
    let wrong = agent.post("/buildings/new", &fields);
    assert_eq!(wrong.status(), 422);
    let text = wrong.text().unwrap();
    assert!(
        text.contains("“ninety” is not a number"),
        "the sentence stands at the field"
    );
    assert!(text.contains("“two” is not a list of numbers"));
    assert!(text.contains("value=\"Withy Court\"") && text.contains("value=\"ninety\""));
    fields[3].1 = "5";
    fields[5].1 = "2";
    fields[1].1 = "draw";
    let drawn = agent.post("/buildings/new", &fields);
    assert_eq!(drawn.status(), 200);
    let text = drawn.text().unwrap();
    assert!(
        text.contains("Withy Court has five storeys and 18\u{a0}flats"),
        "{text}"
    );
    assert!(text.contains("<svg") && text.contains("value=\"Hall, Bins\""));
    assert!(
        agent
            .page("/buildings")
            .contains("No building is known yet"),
        "drawing keeps nothing"
    );
    fields[1].1 = "keep";
    let kept = agent.post("/buildings/new", &fields);
    assert_eq!(kept.status(), 303);
    let href = location(&kept);
    let twice = agent.post("/buildings/new", &fields);
    assert_eq!(location(&twice), href, "the same form again does nothing");
    let page = agent.page(&href);
    assert!(
        page.contains("Nothing is known yet of the 18\u{a0}flats in Withy Court"),
        "{page}"
    );
    let pipes = agent.page(&format!("{href}?ask=pipes"));
    assert!(pipes.contains("Which pipe feeds whom?"));
    let list = agent.page("/buildings");
    assert!(list.contains("One building, 18\u{a0}flats"));
    let world = &estate.app.database.world;
    let id = href.rsplit('/').next().unwrap().parse().unwrap();
    let view = register::building_view(world, &estate.seat, id).unwrap();
    assert_eq!(view.building.code, "WC");
    assert_eq!(
        view.branches.iter().filter(|b| b.kind == "riser").count(),
        4
    );
    let top = view.flats.last().unwrap();
    assert_eq!(
        (top.space.name.as_str(), top.space.stair.as_deref()),
        ("Flat 18", Some("1"))
    );
}

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
    let gone = agent.page(&format!("/units/{old}"));
    assert!(
        gone.contains("stood in flat\u{a0}3 until 20\u{a0}November\u{a0}2026"),
        "{gone}"
    );
    assert!(
        gone.contains("seized") && gone.contains("£286.00"),
        "its history stays"
    );
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
fn every_question_has_a_page_and_nonsense_ids_have_none() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    estate.fit(estate.flat(building, "Flat 5"), "Q-1");
    for ask in ["heat", "checks", "oldest", "money", "pipes", "nonsense"] {
        let page = estate
            .agent
            .page(&format!("/buildings/{building}?ask={ask}"));
        assert!(page.contains("Alder House in section"), "{ask}");
    }
    for path in [
        "/buildings/nonsense",
        "/units/1",
        "/spaces/%20",
        "/units/new?space=zz",
    ] {
        assert_eq!(estate.agent.get(path).status(), 404, "{path}");
    }
}

#[test]
fn another_estate_landlord_or_firm_sees_nothing() {
    let estate = estate();
    let (mine, other) = (
        estate.draw(house("Alder House", 2)),
        estate.draw(house("Osier House", 2)),
    );
    let flat = estate.flat(mine, "Flat 1");
    let unit = estate.fit(flat, "S-1");
    let app = &estate.app;
    sign_up(
        app,
        "owner@example.test",
        &estate.seat,
        Role::Landlord,
        Some(vec![other]),
    );
    sign_up(
        app,
        "fitter@example.test",
        &estate.seat,
        Role::Contractor,
        None,
    );
    let elsewhere = found_estate(&app.database.world, "Elsewhere", true).unwrap();
    sign_up(app, "rival@example.test", &elsewhere, Role::Agent, None);
    for who in [
        "owner@example.test",
        "rival@example.test",
        "fitter@example.test",
    ] {
        let client = app.signed_in(who);
        for path in [
            format!("/buildings/{mine}"),
            format!("/units/{unit}"),
            format!("/spaces/{flat}"),
        ] {
            assert_eq!(client.get(&path).status(), 404, "{who} {path}");
        }
        let found = client.page("/find?q=S-1");
        assert!(!found.contains("AH-1-1"), "{who} finds nothing of others");
        let written = client.post(&format!("/units/{unit}/correct"), &[("kind", "CB")]);
        assert_eq!(written.status(), 404, "{who}");
    }
    let owner = app.signed_in("owner@example.test");
    let list = owner.page("/buildings");
    assert!(list.contains("Osier House") && !list.contains("Alder House"));
    assert_eq!(owner.get(&format!("/buildings/{other}")).status(), 200);
    let rival = app.signed_in("rival@example.test");
    assert!(
        rival
            .page("/buildings")
            .contains("No building is known yet")
    );
}

#[test]
fn flats_and_serials_are_found_and_residents_are_not() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 5));
    let flat = estate.flat(building, "Flat 1");
    estate.fit(flat, "K9X4-2211");
    let world = &estate.app.database.world;
    let resident = ResidentForm {
        name: "Quillon Marrow".to_owned(),
        phone: "0000 000000".to_owned(),
        from_on: "2020-01-01".parse().unwrap(),
    };
    register::add_resident(world, &estate.seat, flat, resident, "res-1").unwrap();
    let agent = &estate.agent;
    let found = agent.page("/find?q=flat+1+alder");
    let first = found
        .find(">Flat 1, Alder House<")
        .expect("the flat itself");
    let later = found
        .find(">Flat 10, Alder House<")
        .expect("and those that begin so");
    assert!(first < later, "whole words first");
    assert!(
        agent.page("/find?q=k9x4").contains("AH-1-1"),
        "a serial by its beginning"
    );
    assert!(agent.page("/find?q=AH-1-1").contains("K9X4-2211"));
    assert!(agent.page("/find?q=alder").contains("a building"));
    for name in ["Quillon", "marrow", "0000"] {
        let page = agent.page(&format!("/find?q={name}"));
        assert!(page.contains("Nothing bears"), "{name}: {page}");
    }
    assert!(
        agent
            .page(&format!("/spaces/{flat}"))
            .contains("Quillon Marrow")
    );
    assert!(agent.page("/find?q=").contains("What do you look for?"));
}
