//! n needed of N fitted in a space, kind by kind, dated: by the page of the space and of its building.
use reqwest::blocking::Response;
use terms::{BuildingId, SpaceId, UsedAs};
use usecases::register::{self, NewSpace, NewUnit, UnitFacts};

use super::estate::{Estate, boiler, estate, house};

/// A house with a plant room and two pumps in it.
fn two_pumps() -> (Estate, BuildingId, SpaceId) {
    let estate = estate();
    let world = &estate.app.database.world;
    let building = estate.draw(house("Alder House", 2));
    let room = NewSpace {
        building,
        ordinal: 0,
        name: "Plant room".to_owned(),
        used_as: UsedAs::Plant,
        stair: None,
    };
    let room = register::add_space(world, &estate.seat, room, "room").unwrap();
    for serial in ["P-1", "P-2"] {
        let facts = UnitFacts {
            kind: "CP".to_owned(),
            rated_kw: None,
            ..boiler(serial)
        };
        let form = NewUnit {
            space: room,
            facts,
            placed_from: None,
            watched_from: None,
        };
        register::add_unit(world, &estate.seat, form, serial).unwrap();
    }
    (estate, building, room)
}

fn say(estate: &Estate, room: SpaceId, (kind, needed, from): (&str, &str, &str)) -> Response {
    let once = uuid::Uuid::new_v4().to_string();
    let fields = [
        ("once", once.as_str()),
        ("of_kind", kind),
        ("needed", needed),
        ("needed_from", from),
    ];
    estate
        .agent
        .post(&format!("/spaces/{room}/needed"), &fields)
}

fn plain(html: &str) -> String {
    html.replace('\u{a0}', " ")
}

#[test]
fn a_plant_room_needs_one_of_its_two_pumps() {
    let (estate, building, room) = two_pumps();
    let page = format!("/spaces/{room}");
    let shown = estate.agent.page(&page);
    assert!(
        shown.contains("stand here; how many of them it needs is not known."),
        "{shown}"
    );
    assert_eq!(say(&estate, room, ("CP", "1", "2026-11-03")).status(), 303);
    let so = "needs one of two circulating pumps fitted on the coldest day, since 3 November 2026; one may be out at a time.";
    let shown = plain(&estate.agent.page(&page));
    assert!(shown.contains(&format!("It {so}")), "{shown}");
    let of_building = plain(&estate.agent.page(&format!("/buildings/{building}")));
    assert!(of_building.contains(so), "{of_building}");
    // Said otherwise: what stood before stays readable.
    estate
        .app
        .database
        .clock
        .advance(chrono::TimeDelta::minutes(1));
    assert_eq!(say(&estate, room, ("CP", "3", "2026-11-20")).status(), 303);
    let shown = plain(&estate.agent.page(&page));
    assert!(shown.contains("two can be used now: too few."), "{shown}");
    assert!(
        shown.contains("Said before: 1 since 3 November 2026."),
        "{shown}"
    );
    let unknown = say(&estate, room, ("CP", "", ""));
    assert_eq!(unknown.status(), 303, "not known any more");
    let shown = estate.agent.page(&page);
    assert!(
        shown.contains("how many of them it needs is not known."),
        "{shown}"
    );
}

#[test]
fn what_cannot_be_needed_is_told_at_its_field() {
    let (estate, _, room) = two_pumps();
    for (kind, needed, from, sentence) in [
        ("CP", "51", "2026-11-03", "is not a number between 0 and 50"),
        ("CP", "1.5", "2026-11-03", "A whole number is needed."),
        ("CP", "1", "2026-12-03", "That day is to come."),
        ("CB", "1", "2026-11-03", "No unit of this kind stands here."),
    ] {
        let refused = say(&estate, room, (kind, needed, from));
        assert_eq!(refused.status(), 422, "{sentence}");
        let shown = refused.text().unwrap();
        assert!(shown.contains(sentence), "{sentence} is not in {shown}");
        let typed = format!("value=\"{needed}\"");
        assert!(shown.contains(&typed), "what was typed stays");
    }
    let elsewhere = SpaceId(uuid::Uuid::new_v4());
    let refused = say(&estate, elsewhere, ("CP", "1", "2026-11-03"));
    assert_eq!(refused.status(), 404);
}
