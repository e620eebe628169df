//! The programme and the rounds by keyboard alone: Tab, letters, Enter, an arrow; no press of a mouse anywhere.
use terms::{Covers, Pence, Role};
use usecases::plan;

use crate::duties::Estate;
use crate::plan::engineer;
use crate::plan_estate::{Old, due_together, person};
use crate::support::{Browser, TestApp, Width};

const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
/// Control held, a, control let go: all of a field.
const ALL: &str = "\u{e009}a\u{e000}";
/// Places Tab may stop at on one page.
const STOPS: usize = 400;

/// Goes on with Tab until `so` holds of what has the focus.
fn on_to(browser: &Browser, what: &str, so: impl Fn(&Browser) -> bool) {
    for _ in 0..STOPS {
        browser.keys(TAB);
        if so(browser) {
            return;
        }
    }
    panic!("{what} is not reached by Tab on {}", browser.path());
}

/// A field by its name, and what is typed there.
fn field(browser: &Browser, name: &str, keys: &str) {
    on_to(browser, name, |b| b.focused() == name);
    browser.keys(keys);
}

/// A link, button or fold by its words, and Enter on it.
fn follow(browser: &Browser, words: &str) {
    let so = |b: &Browser| b.focused_words().replace('\u{a0}', " ") == words;
    on_to(browser, words, so);
    browser.keys(ENTER);
}

#[test]
fn money_is_stated_a_year_asked_about_and_a_unit_pinned_by_keyboard() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 4);
    old.person("agent@test", Role::Agent);
    old.money(7_000, 500, "m");
    old.planned("p");
    let browser = Browser::open(&app.address, "plan-by-keyboard", Width::Desk);
    browser.come_in_as("Somebody");
    browser.go("/programme");
    field(&browser, "pence", ALL);
    browser.keys("9000");
    browser.keys(ENTER);
    browser.until("the plan follows the money", || {
        old.read().input.years[0].comes_in == Pence(900_000)
    });
    browser.go("/programme");
    follow(&browser, "Why then, and what would another year cost?");
    browser.until("the page of a unit", || browser.path().contains("/units/"));
    field(&browser, "year", "2033");
    follow(&browser, "Work it out");
    browser.until("the year is answered", || browser.has("#to-2033"));
    browser.shot("asked");
    field(&browser, "tie_year", "2033");
    field(&browser, "why", "the lift is out until then");
    browser.keys(TAB);
    let pin = browser.focused_words();
    assert!(pin.starts_with("Pin Flat"), "{pin}");
    browser.keys(ENTER);
    browser.until("the programme follows", || {
        browser.path().starts_with("/programme?building=")
    });
    let words = browser.words();
    assert!(words.contains("is pinned to 2033"), "{words}");
    let ties = old.read().ties;
    assert_eq!((ties.len(), ties[0].tie.year), (1, Some(2033)));
}

#[test]
fn visits_are_placed_one_pinned_and_somebody_said_to_be_away_by_keyboard() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    due_together(&estate, 3, "2027-02-20");
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    let browser = Browser::open(&app.address, "rounds-by-keyboard", Width::Desk);
    browser.come_in_as("Somebody");
    browser.go("/rounds");
    let read = || plan::rounds(estate.world(), &estate.seat).unwrap();
    follow(&browser, "Place the visits");
    browser.until("every visit has its day", || {
        let found = read();
        !found.visits.is_empty() && found.visits.iter().all(|v| v.row.on_day.is_some())
    });
    browser.until("the page shows them", || {
        browser.words().contains("Place the visits again")
    });
    follow(&browser, "or …");
    browser.keys(TAB);
    assert_eq!(browser.focused_words(), "Pin it here");
    browser.keys(ENTER);
    browser.until("one is pinned", || {
        read().visits.iter().any(|v| v.row.pinned)
    });
    browser.until("the page says so", || {
        browser.words().contains("Pinned: it stays here")
    });
    browser.shot("pinned");
    on_to(&browser, "away_engineer", |b| {
        b.focused() == "away_engineer"
    });
    field(&browser, "why", "on a course");
    browser.keys(ENTER);
    browser.until("it is asked of the rounds", || read().asks.len() == 1);
    browser.until("the page says who is away", || {
        browser.words().contains("A. Fitter is away on")
    });
    browser.shot("away");
}
