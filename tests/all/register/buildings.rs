//! A building is drawn, and asked about.
use usecases::register;

use super::estate::{estate, house};
use crate::support::server::location;

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
