//! Buildings of four shapes in section, at desk, phone and on A4, one question at a time: pictures are kept and looked
//! at, and what a drawing shows stands in its table.
use terms::unit::FailureRecord;
use terms::{BuildingId, Country, FailureId, Pence, UnitId, UsedAs};
use usecases::register::{self, BuildingView, DrawBuilding, Heat, NewBranch, NewUnit, UnitFacts};
use usecases::{Error, Seat, World};
use wording::sentences::{chances, dates, list, money};

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

/// What each of the slab's two pumps feeds: the columns, from the left, of the flats on a riser of its own.
const FED: [(&str, u32); 2] = [("Riser 1", 3), ("Riser 2", 8)];

/// A house of four flats and a slab of sixty beside the demo's tower and mill, each with a pipe: name, building, flats.
fn buildings(world: &World, seat: &Seat) -> Vec<(&'static str, BuildingId, usize)> {
    let house = block("Sedge Villa", "SV", (2, 2), &[1]);
    let slab = DrawBuilding {
        plant_below: true,
        ..block("Tansy Court", "TC", (6, 10), &[3, 7])
    };
    for form in [house, slab] {
        let once = form.code.clone();
        let id = register::draw_building(world, seat, form, &once).unwrap();
        if once == "SV" {
            register::state_roof(world, seat, (id, "pitched"), "the roof").unwrap();
        }
        let view = register::building_view(world, seat, id).unwrap();
        // Every third flat stays unknown: the drawing must say so. The second has the oldest boiler, and the only failure.
        for (n, flat) in view.flats.iter().enumerate().filter(|(n, _)| n % 3 != 2) {
            let mut facts = boiler(&format!("{once}-{n}"));
            if n == 1 {
                facts = UnitFacts {
                    installed: Some(("2004-05-01".parse().unwrap(), "2004-05-31".parse().unwrap())),
                    ..facts
                };
            }
            let form = NewUnit {
                space: flat.space.id,
                facts,
                placed_from: None,
                watched_from: None,
            };
            let unit = register::add_unit(world, seat, form, &format!("{once} {n}")).unwrap();
            if n == 1 {
                failed(world, seat, unit);
            }
        }
        hang(world, seat, id, &once);
        if once == "TC" {
            feed(world, seat, id);
        }
    }
    let all = register::buildings_in_reach(world, seat).unwrap();
    let named = |name: &str| all.iter().find(|b| b.name == name).expect("a building").id;
    hang(world, seat, named("Madder Mill"), "the mill");
    [
        ("house", "Sedge Villa", 4),
        ("slab", "Tansy Court", 60),
        ("tower", "Bryony Tower", 138),
        ("mill", "Madder Mill", 20),
    ]
    .map(|(shape, name, flats)| (shape, named(name), flats))
    .to_vec()
}

/// One failure, £310, in the spring.
fn failed(world: &World, seat: &Seat, unit: UnitId) {
    let record = FailureRecord {
        id: FailureId(uuid::Uuid::nil()),
        unit,
        part: Some("body".to_owned()),
        function_lost: Some("hot_water".to_owned()),
        happened_on: "2026-04-14".parse().unwrap(),
        happened_until: None,
        found_at_service: false,
        no_fault_found: false,
        cost: Some(Pence(31_000)),
        job: None,
        same_as: String::new(),
        words: "No hot water".to_owned(),
        recorded_at: chrono::DateTime::default(),
    };
    world
        .acting(seat, |tx| {
            tx.add_failure(&record, None)?;
            Ok::<_, Error>(())
        })
        .unwrap();
}

/// A gas riser up to the first flat of the two lowest storeys; nothing on record feeds it.
fn hang(world: &World, seat: &Seat, building: BuildingId, once: &str) {
    let view = register::building_view(world, seat, building).unwrap();
    let mut storeys: Vec<i32> = view.flats.iter().map(|f| f.space.ordinal).collect();
    storeys.sort_unstable();
    storeys.dedup();
    let spaces = storeys
        .iter()
        .take(2)
        .filter_map(|storey| view.flats.iter().find(|f| f.space.ordinal == *storey))
        .map(|f| f.space.id)
        .collect();
    let form = NewBranch {
        building,
        name: "Gas riser".to_owned(),
        kind: "riser".to_owned(),
        needed: None,
        spaces,
        fed_by: Vec::new(),
        fed_by_branch: None,
        from_on: view.today,
    };
    register::add_branch(world, seat, form, &format!("pipe {once}")).unwrap();
}

/// A pump for each of two risers.
fn feed(world: &World, seat: &Seat, building: BuildingId) {
    let view = register::building_view(world, seat, building).unwrap();
    let spaces = view.section.iter().flat_map(|level| &level.spaces);
    let plant = spaces
        .filter(|space| space.used_as == UsedAs::Plant)
        .find_map(|space| space.id)
        .expect("a plant room");
    for (name, column) in FED {
        let form = NewUnit {
            space: plant,
            facts: UnitFacts {
                kind: "CP".to_owned(),
                ..boiler(name)
            },
            placed_from: None,
            watched_from: None,
        };
        let pump = register::add_unit(world, seat, form, &format!("pump {name}")).unwrap();
        let on_it = |name: &str| {
            let number: u32 = name.strip_prefix("Flat ").unwrap().parse().unwrap();
            number % 10 == column
        };
        let form = NewBranch {
            building,
            name: name.to_owned(),
            kind: "riser".to_owned(),
            needed: None,
            spaces: view
                .flats
                .iter()
                .filter(|flat| on_it(&flat.space.name))
                .map(|flat| flat.space.id)
                .collect(),
            fed_by: vec![pump],
            fed_by_branch: None,
            from_on: view.today,
        };
        register::add_branch(world, seat, form, name).unwrap();
    }
}

/// The numbers of the slab's pumps, in the order of [`FED`].
fn pumps(view: &BuildingView) -> Vec<String> {
    let of = |name: &str| {
        let branch = view.branches.iter().find(|b| b.name == name).unwrap();
        let [pump] = branch.fed_by.as_slice() else {
            panic!("{name} is fed by one pump");
        };
        let unit = view.plant.iter().find(|p| p.unit.id == *pump).unwrap();
        unit.unit.number.clone()
    };
    FED.iter().map(|(name, _)| of(name)).collect()
}

/// The words under the ground of a drawing's form, from the first header's name on.
fn under_ground(source: &str, form: &str) -> Vec<String> {
    let (_, drawing) = source
        .split_once(&format!("aria-labelledby=\"section-{form}-t\""))
        .expect("the section is drawn");
    let (drawing, _) = drawing.split_once("</svg>").unwrap();
    drawing
        .split("<text class=\"small s halo\"")
        .skip(1)
        .filter_map(|text| text.split_once('>')?.1.split_once("</text>"))
        .map(|(words, _)| words.replace("&nbsp;", " "))
        .skip_while(|words| !words.starts_with("from "))
        .collect()
}

/// Each header bears the names of all that feeds it and of nothing else, and there are no more of them.
fn feeders_are_drawn(shape: &str, view: &BuildingView, source: &str) {
    for form in ["wide", "narrow"] {
        let drawn = under_ground(source, form);
        match shape {
            "slab" => {
                let pumps = pumps(view);
                let named: Vec<&str> = drawn
                    .iter()
                    .filter_map(|words| words.strip_prefix("from "))
                    .collect();
                // The phone shows the slab in two pieces; the second pump's header runs through both.
                let wide = [&pumps[0], &pumps[1]];
                let narrow = [&pumps[0], &pumps[1], &pumps[1]];
                let expected: &[&String] = if form == "wide" { &wide } else { &narrow };
                assert_eq!(named, expected, "{shape}, {form}");
            }
            "tower" => {
                let header = view.branches.iter().find(|b| b.kind == "header").unwrap();
                let mut fed_by: Vec<&str> = view
                    .plant
                    .iter()
                    .filter(|p| header.fed_by.contains(&p.unit.id))
                    .map(|p| p.unit.number.as_str())
                    .collect();
                fed_by.sort_unstable();
                assert!(fed_by.len() > 1, "{fed_by:?}");
                let words = format!("from {}", list(&fed_by));
                assert_eq!(drawn.join(" "), words.replace('\u{a0}', " "), "{form}");
            }
            _ => assert!(
                drawn.is_empty(),
                "{shape}, {form}: nothing on record feeds it"
            ),
        }
    }
}

/// One answer to a question, known beside the page: from what was entered above, or from the record itself.
fn known(shape: &str, ask: &str, view: &BuildingView) -> Vec<String> {
    let entered = matches!(shape, "house" | "slab");
    let name = &view.building.name;
    let known = match (ask, entered) {
        // By hand: entered above.
        ("oldest", true) => vec![format!(
            "The oldest unit in the flats of {name} stands in flat 2, fitted in May 2004"
        )],
        ("money", true) => vec!["£310".to_owned()],
        ("pipes", true) => {
            let mut said = vec!["No shared unit on record feeds Gas riser.".to_owned()];
            if shape == "slab" {
                let fed = FED.iter().zip(pumps(view));
                said.extend(fed.map(|((name, _), pump)| format!("{name} is fed by {pump}.")));
            }
            said
        }
        // From the record.
        ("oldest", false) => {
            let first = |f: &register::FlatNow| f.oldest.as_ref().and_then(|u| u.installed);
            let dated = view.flats.iter().filter_map(|f| Some((first(f)?, f)));
            let ((from, until), _) = dated.min_by_key(|(fitted, _)| *fitted).expect("a date");
            vec![dates::fitted_when(Some(from), Some(until))]
        }
        ("money", false) => {
            let most = view.flats.iter().filter_map(|f| f.spent).max();
            vec![money::whole(most.expect("money on record"))]
        }
        ("pipes", false) => vec!["feeds flats".to_owned()],
        ("checks", _) => {
            let dated = view.flats.iter().filter_map(|f| f.next_check.as_ref());
            match dated.map(|c| c.deadline).min() {
                Some(first) => vec![format!("by {}", dates::day(first))],
                None => vec![format!("No check in {name} has a date yet")],
            }
        }
        _ => {
            let likely = view
                .flats
                .iter()
                .filter_map(|f| f.chance.map(|(p, _, _)| p));
            match likely.max_by(f64::total_cmp) {
                Some(most) => vec![chances::cell(most)],
                None => vec!["unknown".to_owned()],
            }
        }
    };
    known
        .iter()
        .map(|said| said.replace('\u{a0}', " "))
        .collect()
}

fn drawn(width: Width) {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, estate_name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = Seat::program(estate, &estate_name);
    let buildings = buildings(world, &seat);
    let b = Browser::open(&app.address, "elevations", width);
    b.come_in_as("Nell Askwith");
    for (shape, building, flats) in buildings {
        let view = register::building_view(world, &seat, building).unwrap();
        for ask in ASKS {
            b.go(&format!("/buildings/{building}"));
            assert!(
                b.has(&format!("nav.asks a[href$='ask={ask}']")),
                "{shape} is asked {ask}"
            );
            b.go(&format!("/buildings/{building}?ask={ask}"));
            assert!(!b.heading().is_empty(), "{shape}, {ask}");
            let source = b.source();
            let rows = source
                .split("id=\"section-end\"")
                .nth(1)
                .and_then(|rest| rest.split("</table>").next())
                .map_or(0, |table| table.matches("scope=\"row\"").count());
            assert_eq!(rows, flats, "{shape}, {ask}: one row a flat in the table");
            let words = b.words();
            for said in known(shape, ask, &view) {
                assert!(
                    words.contains(&said),
                    "{shape}, {ask}: “{said}” is not in {words}"
                );
            }
            if ask == "pipes" {
                feeders_are_drawn(shape, &view, &source);
            }
            b.shot(&format!("{shape}-{ask}"));
            let sheets = pages_of(&b.print(&format!("{shape}-{ask}")));
            assert!(
                (1..=4).contains(&sheets),
                "{shape}, {ask}: {sheets} sheets of A4"
            );
        }
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
