//! Pages that no story passes, at desk and phone width, with pictures to be looked at: `tests/protocols/pages-looked-at.md`
//! says what was seen in them. A page that sticks out sideways fails here, and so does one that leads nowhere.
use reqwest::blocking::multipart::{Form, Part};
use terms::JobKind;
use usecases::Seat;
use usecases::register;

use crate::mailed::{Outbox, offered};
use crate::support::pdf::pages_of;
use crate::support::server::location;
use crate::support::workbook::{book, cell};
use crate::support::{Browser, TestApp, Width};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

/// A page opened and pictured: it says what it is, and something in it can be pressed.
fn look(b: &Browser, what: &str, path: &str, said: &[&str]) {
    b.go(path);
    assert!(!b.heading().is_empty(), "{what} has a heading");
    let words = b.words();
    for said in said {
        assert!(words.contains(said), "{what}: “{said}” is not in {words}");
    }
    assert!(b.has("main a[href], main button"), "{what} leads somewhere");
    b.shot(what);
}

/// The demo: what the desk sees of a building beside its stories.
fn at_the_desk(width: Width) {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, estate_name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = Seat::program(estate, &estate_name);
    let all = register::buildings_in_reach(world, &seat).unwrap();
    let tower = all.iter().find(|b| b.name == "Bryony Tower").unwrap().id;
    let view = register::building_view(world, &seat, tower).unwrap();
    let riser = view.branches.iter().find(|b| b.kind == "riser").unwrap();
    let unit = view.flats.iter().find_map(|f| f.units.first()).unwrap().id;

    let b = Browser::open(&app.address, "pages", width);
    b.come_in_as("Nell Askwith");
    look(&b, "cover", "/cover", &["Nights and weekends"]);
    look(&b, "heaters", "/heaters", &["eater"]);
    look(&b, "recalls", "/recalls", &["maker"]);
    let building = format!("/buildings/{tower}");
    look(&b, "gaps", &format!("{building}/gaps"), &["Bryony Tower"]);
    let report = format!("{building}/first-report");
    look(&b, "first-report", &report, &["Who finds it out, by when"]);
    let sheets = pages_of(&b.print("first-report"));
    assert!((1..=6).contains(&sheets), "the report has {sheets} sheets");
    b.go(&format!("{building}/gaps"));
    assert!(pages_of(&b.print("gaps")) >= 1);
    look(&b, "branch", &format!("/branches/{}", riser.id), &["feeds"]);
    look(&b, "move", &format!("/units/{unit}/move"), &["Move"]);
    look(
        &b,
        "alike",
        &format!("/units/{unit}/alike"),
        &["Family", "heating circuit"],
    );
    look(
        &b,
        "unit-photos",
        &format!("/units/{unit}/photos"),
        &["hoto"],
    );
    look(&b, "pipes", &format!("{building}?ask=pipes"), &["fed by"]);
    look(&b, "today", "/today", &["Log a fault call"]);
}

/// An estate of our own: what a firm gets, and what the desk waits for.
fn between_desk_and_firm(width: Width) {
    let estate = Loop::start();
    let outbox = Outbox::new();
    let b = Browser::open(&estate.app.address, "pages-firm", width);

    let (_, reply) = offered(&estate, &outbox);
    look(&b, "reply", &reply, &["Flat 14, Alder House", "Take it"]);
    assert_eq!(
        pages_of(&b.print("reply")),
        1,
        "one mailed page is one printed page"
    );

    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    b.come_in_as("Anna Arrow");
    let sheet = format!("/sheet/{job}");
    look(
        &b,
        "in-the-way",
        &format!("{sheet}/in-the-way"),
        &["A colleague takes over"],
    );
    usecases::visit::arrive(estate.world(), &estate.seat_of(ANNA), job, &fresh()).unwrap();
    let picture = image::RgbImage::from_pixel(64, 48, image::Rgb([180, 120, 60]));
    let mut jpeg = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut jpeg, image::ImageFormat::Jpeg)
        .unwrap();
    let form = Form::new()
        .text("once", fresh())
        .text(
            "words",
            "the leak under the pump, as it was found on arrival",
        )
        .part(
            "file",
            Part::bytes(jpeg.into_inner()).file_name("IMG_1.jpg"),
        );
    let kept = estate.client(ANNA).upload(&format!("{sheet}/photos"), form);
    assert_eq!(kept.status(), 303);
    look(
        &b,
        "sheet-photos",
        &format!("{sheet}/photos"),
        &["the leak under the pump"],
    );

    b.forget();
    b.come_in_as("Ada Agent");
    look(
        &b,
        "job-photos",
        &format!("/jobs/{job}/photos"),
        &["the leak under the pump"],
    );
    let rows = format!("<row r=\"1\">{}</row>", cell("A", 1, "Flat"));
    let form = Form::new().text("kind", "").text("building", "").part(
        "file",
        Part::bytes(book(&[("Homes", &rows)])).file_name("homes of Alder House.xlsx"),
    );
    let sent = estate.client(AGENT).upload("/import", form);
    assert_eq!(sent.status(), 303);
    look(
        &b,
        "import-waits",
        &location(&sent),
        &["The list is being read", "You can leave this page"],
    );
}

#[test]
fn the_desks_pages_at_the_desk() {
    at_the_desk(Width::Desk);
}

#[test]
fn the_desks_pages_on_the_phone() {
    at_the_desk(Width::Phone);
}

#[test]
fn a_firms_pages_at_the_desk() {
    between_desk_and_firm(Width::Desk);
}

#[test]
fn a_firms_pages_on_the_phone() {
    between_desk_and_firm(Width::Phone);
}
