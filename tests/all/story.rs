//! The whole program lived once in a real browser, at desk and phone width.
use crate::support::{Browser, TestApp, Width};

fn demo() -> TestApp {
    let app = TestApp::start();
    seed_demo::fill(&app.database.world)
        .unwrap()
        .expect("an empty database");
    app
}

#[test]
fn every_first_page_opens_for_its_person() {
    let app = demo();
    for width in [Width::Desk, Width::Phone] {
        let browser = Browser::open(&app.address, "first-pages", width);
        browser.go("/sign-in");
        browser.shot("sign-in");
        browser.come_in_as("Nell Askwith");
        assert_eq!(browser.path(), "/today");
        browser.shot("today");
        for (path, name) in [
            ("/buildings", "buildings"),
            ("/advice", "advice"),
            ("/programme", "programme"),
            ("/rounds", "rounds"),
            ("/duties", "duties"),
            ("/track-record", "track-record"),
            ("/jobs", "jobs"),
            ("/calls/new", "call"),
            ("/import", "import"),
            ("/account", "account"),
        ] {
            browser.go(path);
            browser.shot(name);
        }
        browser.forget();
        browser.come_in_as("Joss Tarrow");
        assert_eq!(browser.path(), "/my-day");
        browser.shot("my-day");
        browser.go("/on-offer");
        browser.shot("on-offer");
        browser.forget();
        browser.come_in_as("Imre Calverdale");
        assert_eq!(browser.path(), "/letter");
        browser.shot("letter");
        browser.print("letter");
    }
}
