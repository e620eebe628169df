//! The cold-night drill through its page: asked on a form, kept with what it came to, read by the landlord.
use store::units::Which;
use usecases::{Error, drill};

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
                .filter(|c| c.until_on.is_none_or(|last| today <= last))
                .map(|c| c.firm)
                .collect();
            Ok::<_, Error>((stock, firms.len()))
        })
        .unwrap();
    assert!(stock > 0, "the demo keeps heaters");
    assert_eq!(view.ask.cover.heaters as usize, stock);
    if weekends > 0 {
        assert_eq!(view.ask.cover.weekend_engineers as usize, weekends);
    }
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
