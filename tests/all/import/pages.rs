//! Bringing in a list by its pages: sent, matched, settled, brought in, taken back; refused in sentences; nobody else's.
use reqwest::blocking::Response;
use reqwest::blocking::multipart::{Form, Part};
use terms::{Role, UnitId};
use usecases::Seat;
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_firm, add_person, found_estate};

use super::estate::block;
use crate::support::server::location;
use crate::support::{Browser, Client, TestApp, Width};

pub(super) struct Desk {
    pub(super) app: TestApp,
    seat: Seat,
    pub(super) agent: Client,
}

fn sign_up(app: &TestApp, seat: &Seat, email: &str, role: Role) -> Client {
    let world = &app.database.world;
    let firm = (role == Role::Contractor)
        .then(|| add_firm(world, seat.estate(), "Fenwright Heating", 2_400).unwrap());
    let person = NewPerson {
        email: email.to_owned(),
        name: "Ines Harrowby".to_owned(),
        password: DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: seat.estate(),
        role,
        firm,
        buildings: None,
    };
    add_person(world, &person).unwrap();
    app.signed_in(email)
}

pub(super) fn desk() -> Desk {
    let app = TestApp::start();
    let seat = found_estate(&app.database.world, "Larkmoor Estate", true).unwrap();
    block(&app.database.world, &seat, "Alder House", (5, 2));
    let agent = sign_up(&app, &seat, "agent@example.test", Role::Agent);
    Desk { app, seat, agent }
}

pub(super) fn file(name: &str, bytes: &[u8]) -> Form {
    Form::new().text("kind", "").text("building", "").part(
        "file",
        Part::bytes(bytes.to_vec()).file_name(name.to_owned()),
    )
}

impl Desk {
    fn send(&self, name: &str, bytes: &[u8]) -> String {
        let answer = self.agent.upload("/import", file(name, bytes));
        assert_eq!(
            answer.status(),
            303,
            "{}",
            answer.text().unwrap_or_default()
        );
        location(&answer)
    }

    fn units(&self) -> Vec<UnitId> {
        let world = &self.app.database.world;
        world
            .acting(&self.seat, |tx| Ok(tx.units(store::units::Which::All)?))
            .unwrap()
            .into_iter()
            .map(|u| u.id)
            .collect()
    }
}

fn text(answer: Response, status: u16) -> String {
    assert_eq!(answer.status(), status);
    answer.text().unwrap().replace('\u{a0}', " ")
}

const LIST: &str = "Apt,Blr,Ser. plate,Inst.,LGSR,Notes\n\
    1,combi,8B5S-2114,2011,03/04/2026,rang twice\n\
    2,combi,I1O0-7711,c.2008,04/02/2026,\n\
    22A,combi,ZZ-10011,2012,05/02/2026,dog\n\
    3,combi,I1O0-7711,old,06/07/2026,\n";

#[test]
fn a_list_lives_through_its_pages() {
    let desk = desk();
    let page = desk.agent.page("/import");
    assert!(page.contains("Bring in the list you have") && page.contains("name=\"file\""));
    let columns = desk.send("alder boilers.csv", LIST.as_bytes());
    assert!(columns.ends_with("/columns"), "{columns}");
    let page = desk.agent.page(&columns);
    for words in [
        "alder boilers.csv",
        "Ser. plate",
        "matched by name",
        "8B5S-2114 · I1O0-7711",
        "Choose the column that holds Kind of unit",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let id = columns.trim_end_matches("/columns").to_owned();

    // Two columns cannot be one thing; what was chosen stays chosen.
    let twice = desk.agent.post(
        &columns,
        &[
            ("once", "m0"),
            ("c0", "space"),
            ("c1", "kind"),
            ("c2", "serial"),
            ("c3", "fitted"),
            ("c4", "fitted"),
            ("c5", "out"),
        ],
    );
    let page = text(twice, 422);
    assert!(page.contains("Two columns cannot both be “Fitted”"));
    let nonsense = desk
        .agent
        .post(&columns, &[("once", "m1"), ("c0", "colour")]);
    assert!(text(nonsense, 422).contains("Choose one of the list."));
    let answer = desk.agent.post(
        &columns,
        &[
            ("once", "m2"),
            ("c0", "space"),
            ("c1", "kind"),
            ("c2", "serial"),
            ("c3", "fitted"),
            ("c4", "watched_from"),
            ("c5", "note"),
        ],
    );
    assert_eq!(location(&answer), id);

    // The preview: what would change, what is asked, what is wrong.
    let page = text(desk.agent.get(&id), 200);
    for words in [
        "2 of 4 rows are ready; two need a word from you",
        "In “LGSR”, 03/04/2026 may be 3 April 2026 or 4 March 2026",
        "1 row names a place the register does not have.",
        "Found “22A”.",
        "1 row shares a serial with a row above.",
        "1 row has a date we cannot read.",
        "Take the cell as empty",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    assert!(!page.contains("Bring it in"), "nothing can come in yet");
    let refused = text(
        desk.agent
            .post(&format!("{id}/bring-in"), &[("once", "b0")]),
        422,
    );
    assert!(refused.contains("Nothing came in: 2 of 4 rows cannot be read."));
    assert!(desk.units().is_empty());

    let csv = text(desk.agent.get(&format!("{id}/to-mend.csv")), 200);
    assert!(
        csv.contains("What is wrong") && csv.lines().count() == 3,
        "{csv}"
    );

    // Settled one by one, then the rest.
    let settle = |code: &str, column: &str, remedy: &str| {
        let fields = [
            ("once", &*format!("{code}{column}{remedy}")),
            ("code", code),
            ("column", column),
            ("remedy", remedy),
        ];
        let answer = desk
            .agent
            .post(&format!("{id}/settle"), &fields.map(|(a, b)| (a, b)));
        assert_eq!(answer.status(), 303);
    };
    settle("date_unreadable", "Inst.", "take_as_empty");
    settle("serial_doubled", "Ser. plate", "take_as_empty");
    let answer = desk.agent.post(
        &format!("{id}/dates"),
        &[("once", "d"), ("place", "4"), ("order", "day_first")],
    );
    assert_eq!(answer.status(), 303);
    let answer = desk
        .agent
        .post(&format!("{id}/leave-rest-out"), &[("once", "rest")]);
    assert_eq!(answer.status(), 303);
    let page = text(desk.agent.get(&id), 200);
    assert!(
        page.contains("3 rows can come in now; 1 row is left out.") && page.contains("Bring it in"),
        "{page}"
    );

    // In, and the same post again does nothing twice.
    for _ in 0..2 {
        let answer = desk
            .agent
            .post(&format!("{id}/bring-in"), &[("once", "b1")]);
        assert_eq!(location(&answer), id);
        assert_eq!(desk.units().len(), 3);
    }
    let page = text(desk.agent.get(&id), 200);
    for words in [
        "3 rows were brought in.",
        "3 rows came in",
        "one step until 25 December 2026",
        "Undo this import",
        "Ines Harrowby",
    ] {
        assert!(page.contains(words), "{words}");
    }
    // The very same file again.
    assert_eq!(desk.send("alder boilers.csv", LIST.as_bytes()), id);
    assert!(
        text(desk.agent.get(&id), 200)
            .contains("This very file came in before. Nothing was changed.")
    );
    assert!(desk.agent.page("/import").contains("brought in on"));

    for _ in 0..2 {
        let answer = desk.agent.post(&format!("{id}/undo"), &[("token", "u1")]);
        assert_eq!(answer.status(), 303);
        assert!(desk.units().is_empty());
    }
    assert!(text(desk.agent.get(&id), 200).contains("The list was taken back"));
    assert_eq!(
        desk.agent
            .post(&format!("{id}/bring-in"), &[("once", "b2")])
            .status(),
        409
    );
    assert_ne!(desk.send("alder boilers.csv", LIST.as_bytes()), id);
}

#[test]
fn what_cannot_be_taken_is_refused_in_a_sentence() {
    let desk = desk();
    let wide = format!("{}\n1", vec!["c"; 201].join(","));
    let long = format!("Flat,Kind\n{}", "1,CB\n".repeat(150_001));
    let large = vec![b'a'; (32 << 20) + 1];
    for (name, bytes, sentence) in [
        (
            "book.xls",
            b"\xd0\xcf\x11\xe0an old workbook".as_slice(),
            "the sheet as CSV",
        ),
        ("empty.csv", b"", "Choose the file first"),
        ("blank.csv", b" \n \n", "The file is empty"),
        ("bare.csv", b"Flat,Kind\n", "no rows under them"),
        ("wide.csv", wide.as_bytes(), "201 columns"),
        ("long.csv", long.as_bytes(), "150,001 rows"),
        ("large.csv", &large, "32 MB"),
        (
            "noise.csv",
            &[0, 1, 2, 3, 4, 200, 201, 7],
            "not a list in text",
        ),
    ] {
        let sent = if name == "empty.csv" {
            Form::new()
                .text("kind", "")
                .part("file", Part::bytes(Vec::new()).file_name(""))
        } else {
            file(name, bytes)
        };
        let page = text(desk.agent.upload("/import", sent), 422);
        assert!(page.contains(sentence), "{name}: {sentence}");
    }
    let odd = file("a.csv", b"Flat,Kind\n1,CB\n").text("kind", "toys");
    assert_eq!(
        desk.agent.upload("/import", odd).status(),
        303,
        "the first field of a name counts"
    );
    let odd = Form::new().text("kind", "toys").part(
        "file",
        Part::bytes(b"Flat,Kind\n1,CB\n".to_vec()).file_name("a.csv"),
    );
    assert_eq!(desk.agent.upload("/import", odd).status(), 422);
    assert_eq!(
        desk.agent.post("/import", &[("kind", "units")]).status(),
        422,
        "no multipart at all"
    );
    for path in [
        "/import/nonsense",
        "/import/0190c2a0-0000-7000-8000-000000000000",
        "/import/nonsense/columns",
    ] {
        assert_eq!(desk.agent.get(path).status(), 404, "{path}");
    }
    let list = desk.send("b.csv", b"Flat,Kind\n1,CB\n");
    let id = list.trim_end_matches("/columns");
    for (path, fields) in [
        ("dates", vec![("place", "0"), ("order", "day_first")]),
        ("dates", vec![("place", "x"), ("order", "day_first")]),
        (
            "settle",
            vec![
                ("code", "funny"),
                ("column", "Flat"),
                ("remedy", "leave_out"),
            ],
        ),
        (
            "settle",
            vec![
                ("code", "row_doubled"),
                ("column", "Flat"),
                ("remedy", "burn"),
            ],
        ),
    ] {
        assert_eq!(
            desk.agent.post(&format!("{id}/{path}"), &fields).status(),
            404,
            "{path}"
        );
    }
}

#[test]
fn nobody_else_sees_or_touches_a_list() {
    let desk = desk();
    let columns = desk.send("mine.csv", b"Flat,Kind\n1,CB\n");
    let id = columns.trim_end_matches("/columns").to_owned();
    let elsewhere = found_estate(&desk.app.database.world, "Elsewhere", true).unwrap();
    let others = [
        sign_up(&desk.app, &elsewhere, "other@example.test", Role::Agent),
        sign_up(
            &desk.app,
            &desk.seat,
            "landlord@example.test",
            Role::Landlord,
        ),
        sign_up(
            &desk.app,
            &desk.seat,
            "engineer@example.test",
            Role::Contractor,
        ),
    ];
    for (n, other) in others.iter().enumerate() {
        for path in [id.clone(), columns.clone(), format!("{id}/to-mend.csv")] {
            assert_eq!(other.get(&path).status(), 404, "{n} {path}");
        }
        for path in ["bring-in", "undo", "put-away", "leave-rest-out", "columns"] {
            assert_eq!(
                other
                    .post(&format!("{id}/{path}"), &[("once", "x")])
                    .status(),
                404,
                "{n} {path}"
            );
        }
        let fields = [
            ("code", "row_doubled"),
            ("column", "Flat"),
            ("remedy", "leave_out"),
        ];
        assert_eq!(other.post(&format!("{id}/settle"), &fields).status(), 404);
    }
    assert_eq!(others[1].get("/import").status(), 404);
    assert!(!others[0].page("/import").contains("mine.csv"));
    assert_eq!(
        location(&desk.app.visitor().get(&id)),
        format!("/sign-in?to={id}")
    );
    assert_eq!(
        desk.agent
            .post(&format!("{id}/put-away"), &[("once", "away")])
            .status(),
        303
    );
    assert_eq!(
        desk.agent
            .post(&format!("{id}/bring-in"), &[("once", "late")])
            .status(),
        409
    );
}

#[test]
fn the_pages_of_a_list_are_pictured_at_desk_and_phone_width() {
    let desk = desk();
    let columns = desk.send("alder boilers.csv", LIST.as_bytes());
    let id = columns.trim_end_matches("/columns").to_owned();
    let browsers = [Width::Desk, Width::Phone].map(|width| {
        let browser = Browser::open(&desk.app.address, "import", width);
        browser.go("/sign-in");
        browser.come_in_as("Ines Harrowby");
        browser
    });
    let shot = |path: &str, name: &str| {
        for browser in &browsers {
            browser.go(path);
            assert_eq!(browser.path(), path);
            browser.shot(name);
        }
    };
    shot("/import", "send");
    let matched = [
        ("once", "m2"),
        ("c0", "space"),
        ("c1", "kind"),
        ("c2", "serial"),
        ("c3", "fitted"),
        ("c4", "watched_from"),
        ("c5", "note"),
    ];
    assert_eq!(desk.agent.post(&columns, &matched).status(), 303);
    shot(&columns, "columns");
    shot(&id, "preview");
    let day = [("once", "d"), ("place", "4"), ("order", "day_first")];
    desk.agent.post(&format!("{id}/dates"), &day);
    desk.agent
        .post(&format!("{id}/leave-rest-out"), &[("once", "rest")]);
    shot(&id, "ready");
    let answer = desk.agent.post(&format!("{id}/bring-in"), &[("once", "b")]);
    assert_eq!(answer.status(), 303);
    shot(&id, "done");
}
