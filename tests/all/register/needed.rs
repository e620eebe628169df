//! n needed of N fitted in a space, kind by kind, dated: by the page of the space and of its building.
use terms::UsedAs;
use usecases::register::{self, NewSpace, NewUnit, UnitFacts};

use super::estate::{boiler, estate, house};

#[test]
fn a_plant_room_needs_one_of_its_two_pumps() {
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
    let page = format!("/spaces/{room}");
    let shown = estate.agent.page(&page);
    assert!(
        shown.contains("stand here; how many of them it needs is not known."),
        "{shown}"
    );
    let say = |once: &str, kind: &str, needed: &str, from: &str| {
        let fields = [
            ("once", once),
            ("of_kind", kind),
            ("needed", needed),
            ("needed_from", from),
        ];
        estate.agent.post(&format!("{page}/needed"), &fields)
    };
    for (kind, needed, from, sentence) in [
        ("CP", "51", "2026-11-03", "is not a number between 0 and 50"),
        ("CP", "1.5", "2026-11-03", "A whole number is needed."),
        ("CP", "1", "2026-12-03", "That day is to come."),
        ("CB", "1", "2026-11-03", "No unit of this kind stands here."),
    ] {
        let refused = say("n-0", kind, needed, from);
        assert_eq!(refused.status(), 422, "{sentence}");
        let shown = refused.text().unwrap();
        assert!(shown.contains(sentence), "{sentence} is not in {shown}");
        assert!(
            shown.contains(&format!("value=\"{needed}\"")),
            "what was typed stays"
        );
    }
    assert_eq!(say("n-1", "CP", "1", "2026-11-03").status(), 303);
    let so = "needs one of two circulating pumps fitted on the coldest day, since 3\u{a0}November 2026; one may be out at a time.";
    let plain = |html: String| html.replace('\u{a0}', " ");
    let so = so.replace('\u{a0}', " ");
    assert!(plain(estate.agent.page(&page)).contains(&format!("It {so}")));
    let of_building = plain(estate.agent.page(&format!("/buildings/{building}")));
    assert!(of_building.contains(&so), "{of_building}");
    // Said otherwise: what stood before stays readable.
    assert_eq!(say("n-2", "CP", "3", "2026-11-20").status(), 303);
    let shown = plain(estate.agent.page(&page));
    assert!(shown.contains("two can be used now: too few."), "{shown}");
    assert!(
        shown.contains("Said before: 1 since 3 November 2026."),
        "{shown}"
    );
    assert_eq!(say("n-3", "CP", "", "").status(), 303, "not known any more");
    assert!(
        estate
            .agent
            .page(&page)
            .contains("how many of them it needs is not known.")
    );
    let elsewhere = format!("/spaces/{}/needed", uuid::Uuid::new_v4());
    assert_eq!(
        estate
            .agent
            .post(&elsewhere, &[("of_kind", "CP"), ("needed", "1")])
            .status(),
        404
    );
}
