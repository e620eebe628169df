//! The water temperature log on paper: printed to PDF, every item the record lists is found by its text.
use std::process::Command;

use crate::support::browser::{Browser, Width};
use crate::water::estate::{AGENT, OWNER, SITE, Water, post};

/// The text of a PDF as it lies on its pages.
fn text_of(pdf: &[u8]) -> String {
    let path = crate::support::browser::pictures().join("temperature-log.pdf");
    std::fs::write(&path, pdf).unwrap();
    let out = Command::new("pdftotext")
        .arg("-layout")
        .arg(&path)
        .arg("-")
        .output()
        .expect("pdftotext is here: tests/run installs poppler-utils");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout)
        .unwrap()
        .replace('\u{a0}', " ")
}

#[test]
fn the_log_prints_with_every_item_its_record_lists() {
    let water = Water::start();
    let site = water.client(SITE);
    for (n, on) in ["2026-09-24", "2026-10-25", "2026-11-24"]
        .into_iter()
        .enumerate()
    {
        let mut fields = water.fields(["61.7", "49.3", "50.6", "20.4", "12.9"], &format!("r{n}"));
        fields.push(("on".to_owned(), on.to_owned()));
        fields.push(("calibrated".to_owned(), "2027-03-31".to_owned()));
        assert_eq!(post(&site, &water.address(), &fields).status(), 303);
    }
    for found in usecases::water::out_of_limit(water.world(), &water.seat).unwrap() {
        let action = usecases::water::StateAction {
            temperature: found.temperature.id,
            words: "Pump freed".to_owned(),
        };
        let once = format!("done {}", found.temperature.id);
        usecases::water::state_action(water.world(), &water.seat, (water.building, action), &once)
            .unwrap();
    }
    let b = Browser::open(&water.app.address, "water-log", Width::Desk);
    for (email, sees_rounds) in [(OWNER, false), (AGENT, true)] {
        b.forget();
        b.go("/sign-in");
        b.type_in("email", email);
        b.type_in("password", usecases::door::DEMO_PASSWORD);
        b.press_css("form[action='/sign-in'] button.button");
        b.leaves("/sign-in");
        b.go(&format!("{}/log?months=3", water.address()));
        assert_eq!(b.words().contains("Take the round"), sees_rounds, "{email}");
        b.shot("log");
    }
    let text = text_of(&b.print("log"));
    // The items of `inspection::records` for a water temperature log: day, outlet, place, temperature, seconds run,
    // thermometer, who took it, and what was done about what is out of its limit.
    for item in [
        "Water temperature log of Rush House",
        "2 Rush Lane",
        "24 Sep",
        "25 Oct",
        "24 Nov",
        "Pipe leaving the store",
        "Pipe coming back",
        "Hall sink, hot",
        "Hall sink, cold",
        "Yard tap",
        "hot tap",
        "cold tap",
        "61.7",
        "49.3",
        "50.6",
        "20.4",
        "12.9",
        "Probe 7",
        "Sim Sitter",
        "Pump freed",
        "60 °C or more",
    ] {
        let found = item.split(' ').all(|word| text.contains(word));
        assert!(found, "“{item}” is not on the printed log:\n{text}");
    }
    for seconds in ["55", "120", "90"] {
        assert!(text.contains(seconds), "{seconds} s");
    }
    // What the two older rounds lack is named on paper too.
    let gap = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        gap.contains(
            "24 September 2026, Pipe coming back: what was done about it is not on record."
        ),
        "{gap}"
    );
    let pages = text.matches('\u{c}').count();
    assert!(
        (1..=2).contains(&pages),
        "three rounds of five outlets fill {pages} pages"
    );
}
