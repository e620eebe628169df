//! Buildings of four shapes in section, at desk, phone and on A4, one question at a time: pictures are kept and looked
//! at, and what a drawing shows stands in its table.
use terms::{BuildingId, Country};
use usecases::Seat;
use usecases::register::{self, DrawBuilding, Heat, NewUnit};

use crate::register::estate::boiler;
use crate::support::pdf::pages_of;
use crate::support::{Browser, TestApp, Width};

/// The questions, by the word of their address.
const ASKS: [&str; 5] = ["heat", "checks", "oldest", "money", "pipes"];

fn block(name: &str, code: &str, (storeys, flats): (u32, u32), stairs: &[u32]) -> DrawBuilding {
    DrawBuilding {
        name: name.to_owned(),
        code: code.to_owned(),
        address: String::new(),
        country: Country::England,
        built_year: Some(1958),
        storeys,
        flats_a_storey: flats,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: stairs.to_vec(),
        plant_below: false,
        tank_on_roof: false,
        heat: Heat::Flats,
        hardness_mg_l: Some(286.0),
        asbestos_register: "clear".to_owned(),
    }
}

/// A house of four flats and a slab of sixty beside the demo's tower and mill: name, building, flats.
fn buildings(app: &TestApp) -> Vec<(&'static str, BuildingId, usize)> {
    let world = &app.database.world;
    let (estate, estate_name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = Seat::program(estate, &estate_name);
    let house = block("Sedge Villa", "SV", (2, 2), &[1]);
    let slab = block("Tansy Court", "TC", (6, 10), &[3, 7]);
    for form in [house, slab] {
        let once = form.code.clone();
        let id = register::draw_building(world, &seat, form, &once).unwrap();
        if once == "SV" {
            register::state_roof(world, &seat, (id, "pitched"), "the roof").unwrap();
        }
        let view = register::building_view(world, &seat, id).unwrap();
        // Every third flat stays unknown: the drawing must say so.
        for (n, flat) in view.flats.iter().enumerate().filter(|(n, _)| n % 3 != 2) {
            let form = NewUnit {
                space: flat.space.id,
                facts: boiler(&format!("{once}-{n}")),
                placed_from: None,
                watched_from: None,
            };
            register::add_unit(world, &seat, form, &format!("{once} {n}")).unwrap();
        }
    }
    let all = register::buildings_in_reach(world, &seat).unwrap();
    [
        ("house", "Sedge Villa", 4),
        ("slab", "Tansy Court", 60),
        ("tower", "Bryony Tower", 138),
        ("mill", "Madder Mill", 20),
    ]
    .map(|(shape, name, flats)| {
        let found = all.iter().find(|b| b.name == name).expect(name);
        (shape, found.id, flats)
    })
    .to_vec()
}

fn drawn(width: Width) {
    let app = TestApp::demo();
    let buildings = buildings(&app);
    let b = Browser::open(&app.address, "elevations", width);
    b.come_in_as("Nell Askwith");
    for (shape, building, flats) in buildings {
        let mut asked = 0;
        for ask in ASKS {
            b.go(&format!("/buildings/{building}"));
            if !b.has(&format!("nav.asks a[href$='ask={ask}']")) {
                continue;
            }
            asked += 1;
            b.go(&format!("/buildings/{building}?ask={ask}"));
            assert!(!b.heading().is_empty(), "{shape}, {ask}");
            let source = b.source();
            let rows = source
                .split("id=\"section-end\"")
                .nth(1)
                .and_then(|rest| rest.split("</table>").next())
                .map_or(0, |table| table.matches("scope=\"row\"").count());
            assert_eq!(rows, flats, "{shape}, {ask}: one row a flat in the table");
            b.shot(&format!("{shape}-{ask}"));
            let sheets = pages_of(&b.print(&format!("{shape}-{ask}")));
            assert!(
                (1..=4).contains(&sheets),
                "{shape}, {ask}: {sheets} sheets of A4"
            );
        }
        let least = if shape == "tower" { 5 } else { 4 };
        assert!(asked >= least, "{shape} answers {asked} questions");
    }
}

#[test]
fn four_shapes_answer_each_question_at_the_desk_and_on_paper() {
    drawn(Width::Desk);
}

#[test]
fn four_shapes_answer_each_question_on_the_phone() {
    drawn(Width::Phone);
}
