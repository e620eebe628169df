//! The cold-night drill through its page: asked on a form, kept with what it came to, read by the landlord.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use store::cover::CoverFact;
use store::units::Which;
use terms::place::BuildingCard;
use terms::{BuildingId, Country, FactId, FirmId};
use usecases::{Error, drill, forecast};
use uuid::Uuid;

use crate::duties::{Estate, day};
use crate::support::TestApp;

#[test]
fn a_drill_is_run_on_the_demo_and_says_how_cold_a_night_can_get() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let agent = app.signed_in("agent@demo.example");
    let building = world
        .acting(&seat, |tx| Ok::<_, Error>(tx.buildings()?.remove(0)))
        .unwrap();
    let address = format!("/drill?building={}", building.id);
    let page = agent.page(&address);
    assert!(page.contains("Run a drill") && page.contains("Heaters in stock"));
    let view = drill::view(world, &seat, Some(building.id)).unwrap();
    let units = world
        .acting(&seat, |tx| {
            Ok::<_, Error>(tx.units(Which::Building(building.id))?)
        })
        .unwrap();
    assert!(view.homes > 0 && view.homes <= units.len());
    assert!(!view.ask.parts.is_empty() && view.last.is_none());
    // The form starts with what the register says: heaters in stock, firms stated for the weekends.
    let (stock, weekends) = world
        .acting(&seat, |tx| {
            let heaters = tx.heaters()?;
            let stock = heaters.iter().filter(|h| h.ended_on.is_none()).count();
            let today = tx.today();
            let firms: std::collections::BTreeSet<_> = tx
                .cover()?
                .into_iter()
                .filter(|c| c.building == building.id && c.hours != "nights")
                .filter(|c| c.from_on <= today && c.until_on.is_none_or(|last| today <= last))
                .map(|c| c.firm)
                .collect();
            Ok::<_, Error>((stock, firms.len()))
        })
        .unwrap();
    assert!(stock > 0, "the demo keeps heaters");
    assert_eq!(view.ask.cover.heaters as usize, stock);
    assert!(
        weekends > 0,
        "somebody comes to {} on weekends",
        building.name
    );
    assert_eq!(view.ask.cover.weekend_engineers as usize, weekends);
    let mut asked = view.ask.clone();
    asked.cover.engineers = 1;
    asked.cover.weekend_engineers = 0;
    asked.cover.heaters = 2;
    drill::run(world, &seat, asked.clone(), "drill").unwrap();
    drill::run(world, &seat, asked.clone(), "drill").unwrap();
    let last = drill::view(world, &seat, Some(building.id))
        .unwrap()
        .last
        .unwrap();
    assert_eq!(last.ask, asked);
    let answer = &last.answer;
    assert_eq!(answer.homes, view.homes);
    assert!(answer.drill.faults > 0.0);
    assert!(
        answer
            .drill
            .levels
            .windows(2)
            .all(|w| w[0].homes <= w[1].homes)
    );
    for step in &answer.changes.single {
        assert!(step.short.happened <= answer.changes.now.happened);
    }
    let page = agent.page(&address).replace('\u{a0}', " ");
    for said in [
        "Once in 10 winters at least",
        "What makes it rarer",
        "Show as a table",
    ] {
        assert!(page.contains(said), "{said}");
    }
    // The landlord reads it, and runs none.
    let landlord = app.signed_in("landlord@demo.example");
    let theirs = landlord.page(&address);
    assert!(theirs.contains("Once in") && !theirs.contains("Run the drill"));
}

/// What the demo draws (`seed-demo/src/{blocks,fleet}.rs`): 48 flats with a boiler each; 23 storeys of six interface units;
/// 20 flats of the mill, 12 with a store that heats them and 8 with a cylinder, which heats water only. The mill's cover
/// is stated for the nights alone: nobody comes on a weekend.
#[test]
fn each_building_is_counted_by_what_heats_its_homes() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let agent = app.signed_in("agent@demo.example");
    let buildings = world
        .acting(&seat, |tx| Ok::<_, Error>(tx.buildings()?))
        .unwrap();
    let found: BTreeMap<&str, (usize, u32)> = buildings
        .iter()
        .map(|building| {
            let view = drill::view(world, &seat, Some(building.id)).unwrap();
            let weekends = view.ask.cover.weekend_engineers;
            (building.name.as_str(), (view.homes, weekends))
        })
        .collect();
    let wanted = [
        ("Bryony Tower", (138, 1)),
        ("Madder Mill", (12, 0)),
        ("Sorrel House", (48, 1)),
    ];
    assert_eq!(found, BTreeMap::from(wanted));
    let mill = buildings.iter().find(|b| b.name == "Madder Mill").unwrap();
    let asked = drill::view(world, &seat, Some(mill.id)).unwrap().ask;
    drill::run(world, &seat, asked.clone(), "mill").unwrap();
    let answer = drill::view(world, &seat, Some(mill.id))
        .unwrap()
        .last
        .unwrap()
        .answer;
    assert_eq!((answer.homes, answer.units), (12, 12));
    assert_eq!((answer.without, answer.unheated), (0, 8));
    // Of the stores' failures of a year seven in ten leave a home cold, and the six months of winter have most of them, not all.
    let stores: f64 = world
        .acting(&seat, |tx| {
            let told = forecast::of_building(tx, mill.id)?;
            let units = tx.units(Which::Building(mill.id))?;
            let stores = units.iter().filter(|u| u.kind == "TS");
            let told = stores.filter_map(|u| told.get(&u.id));
            Ok::<_, Error>(told.map(|t| t.row.expected_12m).sum())
        })
        .unwrap();
    assert!(stores > 0.0 && (asked.of_ten - 7.0).abs() < 1e-12);
    let share = answer.drill.faults / (0.7 * stores);
    assert!((0.5..1.0).contains(&share), "{share} of {stores}");
    let page = agent.page(&format!("/drill?building={}", mill.id));
    let page = page.replace('\u{a0}', " ");
    assert!(
        page.contains("8 flats that no unit on record heats"),
        "{page}"
    );
}

#[test]
fn weekend_cover_is_the_registers_only_where_it_speaks_of_every_building_today() {
    let estate = Estate::new();
    let (world, seat) = (estate.world(), &estate.seat);
    let card = BuildingCard {
        id: BuildingId(Uuid::nil()),
        code: "OA".to_owned(),
        name: "Oak House".to_owned(),
        address: String::new(),
        country: Country::England,
        built_year: None,
        higher_risk: None,
        hardness_mg_l: None,
        asbestos_register: "unknown".to_owned(),
        note: String::new(),
    };
    let elm = estate.building;
    let oak = world
        .acting(seat, |tx| Ok::<_, Error>(tx.add_building(&card)?))
        .unwrap();
    let state = |building, firm, hours: &str, from_on: NaiveDate, until_on| {
        let fact = CoverFact {
            id: FactId(Uuid::nil()),
            building,
            firm: FirmId(Uuid::from_u128(firm)),
            hours: hours.to_owned(),
            from_on,
            until_on,
            words: String::new(),
        };
        world
            .acting(seat, |tx| Ok::<_, Error>(tx.state_cover(&fact)?))
            .unwrap();
    };
    let weekends = |of| {
        drill::view(world, seat, of)
            .unwrap()
            .ask
            .cover
            .weekend_engineers
    };
    let all = || (weekends(Some(elm)), weekends(Some(oak)), weekends(None));
    // The register says nothing: the form starts with the trade's one.
    assert_eq!(all(), (1, 1, 1));
    let (past, tomorrow) = (day("2026-11-01"), day("2026-11-26"));
    state(elm, 1, "both", past, None);
    state(elm, 2, "weekends", past, None);
    // Not yet, and no more.
    state(elm, 3, "weekends", tomorrow, None);
    state(elm, 4, "weekends", past, Some(day("2026-11-24")));
    state(oak, 5, "weekends", tomorrow, None);
    assert_eq!(all(), (2, 1, 1), "Oak House is not spoken of today");
    state(oak, 6, "nights", past, None);
    assert_eq!(all(), (2, 0, 2));
    state(oak, 1, "weekends", past, None);
    assert_eq!(all(), (2, 1, 2), "a firm that comes to both is one");
}

#[test]
fn nonsense_is_told_at_its_field() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let mut asked = drill::view(world, &seat, None).unwrap().ask;
    asked.of_ten = 11.0;
    asked.heater_price = terms::Pence(0);
    match drill::run(world, &seat, asked, "drill") {
        Err(Error::Invalid(wrongs)) => {
            let fields: Vec<&str> = wrongs.iter().map(|w| w.field.as_str()).collect();
            assert_eq!(fields, ["of_ten", "heater_price"]);
        }
        other => panic!("{other:?}"),
    }
}
