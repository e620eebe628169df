//! A workbook by its pages: waited for, read, its names said, or refused.
use jobs::Settings;

use super::pages::{Desk, desk, file};
use crate::support::server::location;
use crate::support::workbook::{bomb, book, cell};

fn send(desk: &Desk, name: &str, bytes: &[u8]) -> String {
    let answer = desk.agent.upload("/import", file(name, bytes));
    assert_eq!(answer.status(), 303);
    location(&answer)
}

fn run(desk: &Desk) {
    let settings = Settings {
        worker: "w1".to_owned(),
        ..Settings::default()
    };
    assert!(jobs::run_queue(&desk.app.database.world, &settings) >= 1);
}

fn sheet(rows: &[[&str; 3]]) -> String {
    (1_u32..)
        .zip(rows)
        .map(|(n, cells)| {
            let filled: String = ["A", "B", "C"]
                .iter()
                .zip(cells)
                .map(|(column, text)| cell(column, n, text))
                .collect();
            format!("<row r=\"{n}\">{filled}</row>")
        })
        .collect::<Vec<_>>()
        .concat()
}

#[test]
fn a_workbook_is_waited_for_and_its_names_are_said_on_the_page() {
    let desk = desk();
    let rows = sheet(&[
        ["Flat", "Kind", "Serial"],
        ["1", "Box A", "S-1"],
        ["2", "Box A", "S-2"],
    ]);
    let page = send(&desk, "homes.xlsx", &book(&[("Homes", &rows)]));
    assert!(!page.ends_with("/columns"), "{page}");
    let waiting = desk.agent.get(&page);
    assert_eq!(waiting.headers().get("refresh").unwrap(), "3");
    let html = waiting.text().unwrap();
    assert!(html.contains("The list is being read") && html.contains("You can leave this page"));
    assert_eq!(desk.agent.get(&format!("{page}/columns")).status(), 303);
    run(&desk);
    let html = desk.agent.page(&page);
    assert!(html.contains("Kind of unit: Box A"), "{html}");
    let say = |word: &str, meant: &str| {
        let fields = [("once", word), ("word", word), ("meant", meant)];
        desk.agent.post(&format!("{page}/names"), &fields)
    };
    for (word, meant, wrong) in [
        ("kind:Box A", "what nobody knows", "does not know"),
        ("kind:Box A", "", "What does the register call it?"),
        ("", "combi", "Choose one of the words"),
    ] {
        let answer = say(word, meant);
        assert_eq!(answer.status(), 422);
        let html = answer.text().unwrap();
        assert!(html.contains(wrong) && html.contains(meant), "{wrong}");
    }
    let fields = [("once", "k"), ("word", "kind:Box A"), ("meant", "combi")];
    let answer = desk.agent.post(&format!("{page}/names"), &fields);
    assert_eq!(answer.status(), 303);
    let html = desk.agent.page(&page);
    assert!(html.contains("“box a” is “combi”"));
    assert!(html.contains("Bring it in"));
    let answer = desk
        .agent
        .post(&format!("{page}/bring-in"), &[("once", "in")]);
    assert_eq!(answer.status(), 303);
    let html = desk.agent.page(&page).replace('\u{a0}', " ");
    assert!(html.contains("2 units would leave the register"), "{html}");
}

#[test]
fn a_bomb_has_a_page_that_says_why_it_was_not_taken() {
    let desk = desk();
    let page = send(&desk, "bomb.xlsx", &bomb(60, None));
    run(&desk);
    let answer = desk.agent.get(&page);
    assert_eq!(answer.status(), 200);
    assert!(answer.headers().get("refresh").is_none());
    let html = answer.text().unwrap();
    assert!(html.contains("The list could not be taken") && html.contains("would unpack to 60 MB"));
}
