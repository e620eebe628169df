//! Two more stories lived in a real browser, at desk and phone width: an old cylinder gives way to a store, and a flat on
//! a heat network has no heating while, the same evening, its neighbours' water is lukewarm. Scenarios ours; trade
//! facts are common practice, no source.
mod cylinder;
mod evening;
mod riser;
mod store_in;

use store::units::Which;
use terms::UnitId;
use terms::unit::UnitCard;
use usecases::register::UnitView;
use usecases::{Error, Seat, World};

use crate::advice::adds_up;
use crate::support::{Browser, TestApp, Width};

/// The demo estate and a window onto it.
struct Teller {
    app: TestApp,
    browser: Browser,
    seat: Seat,
}

impl Teller {
    fn begin(name: &str, width: Width) -> Self {
        let app = TestApp::demo();
        let world = &app.database.world;
        let (estate, estate_name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
        let seat = Seat::program(estate, &estate_name);
        let browser = Browser::open(&app.address, name, width);
        Self { app, browser, seat }
    }

    fn world(&self) -> &World {
        &self.app.database.world
    }

    /// A picture of the page, and a look at its sums.
    fn look(&self, what: &str) {
        self.browser.shot(what);
        adds_up(&self.browser.source());
    }

    /// Every picture of the story has its line in the protocol, and every line of it its picture.
    fn every_page_is_in_the_protocol(&self, story: &str, width: Width) {
        let protocol = include_str!("../../protocols/pages-of-both-stories.md");
        let ends = format!("-{}.png", width.name());
        let listed: Vec<&str> = protocol
            .split('`')
            .filter(|name| name.starts_with(story) && name.ends_with(&ends))
            .collect();
        assert_eq!(self.browser.pictures_kept(), listed);
    }

    fn comes(&self, name: &str) {
        self.browser.forget();
        self.browser.come_in_as(name);
    }

    fn units(&self) -> Vec<UnitCard> {
        self.world()
            .acting(&self.seat, |tx| Ok::<_, Error>(tx.units(Which::All)?))
            .unwrap()
    }

    fn unit(&self, building: &str, space: &str, kind: &str) -> UnitCard {
        self.units()
            .into_iter()
            .find(|u| {
                u.building_name == building
                    && u.space_name == space
                    && u.kind == kind
                    && u.fate == terms::Fate::InService
            })
            .unwrap_or_else(|| panic!("no {kind} in {space}, {building}"))
    }

    fn seen(&self, unit: UnitId) -> UnitView {
        usecases::register::unit_view(self.world(), &self.seat, unit).unwrap()
    }

    fn says(&self, all: &[&str]) {
        let words = self.browser.words();
        for said in all {
            assert!(words.contains(said), "“{said}” is not in {words}");
        }
    }

    /// The agent puts the job one is at on offer, the engineer takes it and names a time today.
    fn offered_taken_and_booked(&self, from: &str, until: &str) -> String {
        let b = &self.browser;
        b.arrives("/jobs/");
        let job = b.path().split("/jobs/").nth(1).unwrap().to_owned();
        b.choose_worded("firm", "Quillet Heating");
        b.press_css("form[action$='/offer'] button");
        b.until("it is on offer", || b.words().contains("It is on offer."));
        self.look("job-offered");
        self.comes("Joss Tarrow");
        b.go("/on-offer");
        self.look("on-offer");
        b.press_css(&format!("form[action='/on-offer/{job}/take'] button"));
        b.arrives("/sheet/");
        b.press("Name a day");
        for (name, value) in [("day", "2026-11-25"), ("from", from), ("until", until)] {
            b.set(name, value);
        }
        b.press("Book it");
        b.until("it is booked", || b.words().contains("Booked for"));
        job
    }

    /// The last screen of a sheet.
    fn leaves_it_done(&self, cost: &str) {
        let b = &self.browser;
        b.choose("outcome", "done");
        b.choose("told", "yes");
        b.answer("cost", cost);
        if b.asks("soft.photo_missing") {
            b.answer("soft.photo_missing", "Sent by mail tonight.");
        }
        self.look("closing");
        b.press("Leave it so");
        b.arrives("/kept");
        self.says(&["is done, and the office has it"]);
        self.look("done");
    }
}
