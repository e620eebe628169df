//! The round lived on a phone in Chromium: how many presses it takes, and how long by the keystroke-level model.
use std::time::Instant;

use crate::support::TestApp;
use crate::support::browser::{Browser, Width};

/// Keystroke-level model of Card, Moran and Newell (1983), from memory: seconds a key, a pointing, a thought.
const KEY: f64 = 0.28;
const POINT: f64 = 1.1;
const THINK: f64 = 1.35;

#[test]
fn the_caretaker_takes_a_whole_round_in_two_minutes() {
    let app = TestApp::demo();
    let b = Browser::open(&app.address, "temperatures", Width::Phone);
    b.come_in_as("Dorrie Pell");
    assert_eq!(b.path(), "/temperatures");
    assert!(b.words().contains("Bryony Tower") && b.words().contains("Madder Mill"));
    assert!(!b.words().contains("Sorrel House"), "not hers");
    b.shot("to-take");
    b.press("Bryony Tower");
    b.arrives("/temperatures/");
    assert!(
        b.words().contains("49.4"),
        "last month's figure stands beside: {}",
        b.words()
    );
    b.shot("before");
    let began = Instant::now();
    let typed = ["62.1", "48.8", "54", "14.2", "51.3", "15.1", "12.4"];
    let fields = names(&b, "t.");
    assert_eq!(fields.len(), typed.len(), "one number field an outlet");
    let (mut keys, mut points) = (0, 0);
    for (field, temp) in fields.iter().zip(typed) {
        b.type_in(field, temp);
        keys += temp.len();
        points += 1;
    }
    let flush = names(&b, "f.");
    assert_eq!(flush.len(), 1, "the hose tap of the bin store stands");
    b.choose(&flush[0], "yes");
    points += 1;
    b.shot("typed");
    b.press("Keep the round");
    points += 1;
    b.arrives("/rounds/");
    let by_machine = began.elapsed().as_secs_f64();
    let by_hand = keys as f64 * KEY + f64::from(points) * (POINT + THINK);
    println!(
        "a round of {} outlets: {keys} keys, {points} presses; {by_hand:.0} s by hand as reckoned, {by_machine:.1} s by the machine",
        typed.len()
    );
    assert!(by_hand < 120.0, "{by_hand:.0} s, two minutes are promised");
    let words = b.words();
    for said in [
        "One of the seven outlets is out of its limit",
        "Store, pipe coming back, coming back to the store: 48.8 °C.",
        "48.8 °C comes back; 50 °C is needed.",
        "Look whether the pump of the return runs",
        "What you did, or who was told",
        "What that did to the dates",
    ] {
        assert!(words.contains(said), "“{said}” is not in {words}");
    }
    b.shot("said");
    let action = names(&b, "a.");
    b.type_in(
        &action[0],
        "Pump of the return stood still. Told Nell at the office.",
    );
    b.press("Keep it");
    b.until("the action is kept", || {
        b.words()
            .contains("Done or planned: Pump of the return stood still.")
    });
    b.shot("kept");
    // And the desk sees it.
    b.forget();
    let desk = Browser::open(&app.address, "temperatures", Width::Desk);
    desk.come_in_as("Nell Askwith");
    desk.go("/duties?part=water");
    assert!(
        desk.words().contains("Pump of the return stood still."),
        "{}",
        desk.words()
    );
    desk.shot("desk");
}

/// The names of the page's fields that begin with a letter and a point, in their order.
fn names(b: &Browser, prefix: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for part in b.source().split("name=\"").skip(1) {
        let name = part.split('"').next().unwrap_or_default();
        if name.starts_with(prefix) && !found.iter().any(|known| known == name) {
            found.push(name.to_owned());
        }
    }
    found
}
