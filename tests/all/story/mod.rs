//! The whole program lived in a real browser, at desk and phone width: the yearly service finds a failing part, and
//! either way it is decided the gas check keeps its date, the history stands and the forecast has moved.
//! Scenario ours; trade facts are common practice, no source.
mod desk;
mod fitting;
mod road;

use chrono::NaiveDate;
use store::units::Which;
use terms::UnitId;
use terms::unit::UnitCard;
use usecases::register::UnitView;
use usecases::{Error, Seat};

use crate::advice::adds_up;
use crate::support::{Browser, TestApp, Width};

/// What is measured at the service: the water rises 36 − 9 = 27 K where 35 K is expected; the rest is sound.
const MEASURED: [(&str, &str); 15] = [
    ("working_mbar", "19.8"),
    ("co_ppm", "45"),
    ("co2_percent", "9.1"),
    ("flow_c", "72"),
    ("return_c", "53"),
    ("cold_c", "9"),
    ("hot_c", "36"),
    ("flow_lpm", "11"),
    ("cold_bar", "1.2"),
    ("hot_bar", "1.9"),
    ("charge_bar", "0.8"),
    ("condensate_clear", "yes"),
    ("inhibitor_ppm", "1100"),
    ("hardness_mg_l", "282"),
    ("co_alarm_works", "yes"),
];

/// The estate, the window and the boiler of the story.
struct Story {
    app: TestApp,
    browser: Browser,
    seat: Seat,
    boiler: UnitId,
}

impl Story {
    fn begin(name: &str, width: Width) -> Self {
        let app = TestApp::demo();
        let world = &app.database.world;
        let (estate, estate_name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
        let seat = Seat::program(estate, &estate_name);
        let boiler = units(&app, &seat)
            .into_iter()
            .find(|u| {
                u.building_name == "Sorrel House" && u.space_name == "Flat 17" && u.kind == "CB"
            })
            .expect("the boiler of flat 17");
        let browser = Browser::open(&app.address, name, width);
        Self {
            app,
            browser,
            seat,
            boiler: boiler.id,
        }
    }

    /// A picture and a print of the page, and a look at its sums: wherever the three stand together they agree.
    fn look(&self, what: &str) {
        self.browser.shot(what);
        self.browser.print(what);
        adds_up(&self.browser.source());
    }

    fn gas_check_due(&self) -> NaiveDate {
        let world = &self.app.database.world;
        usecases::duties::due(world, &self.seat, NaiveDate::MAX)
            .unwrap()
            .into_iter()
            .find(|line| {
                line.at == usecases::duties::DutyAt::Unit(self.boiler) && line.rule.code == "G1"
            })
            .and_then(|line| line.last_day())
            .expect("the gas check has a date")
    }

    /// Expected failures over 12 months, failures counted.
    fn forecast(&self) -> (f64, usize) {
        let view = usecases::register::unit_view(&self.app.database.world, &self.seat, self.boiler)
            .unwrap();
        let expected = view.forecast.expect("a forecast").expected_12m;
        (expected, view.history.failures.len())
    }

    fn old_and_new(&self) -> (UnitView, UnitView) {
        let world = &self.app.database.world;
        let view = |id| usecases::register::unit_view(world, &self.seat, id).unwrap();
        let old = view(self.boiler);
        let new = units(&self.app, &self.seat)
            .into_iter()
            .find(|u| u.space == old.unit.space && u.kind == "CB" && u.id != old.unit.id)
            .expect("the new boiler");
        (old, view(new.id))
    }
}

fn units(app: &TestApp, seat: &Seat) -> Vec<UnitCard> {
    app.database
        .world
        .acting(seat, |tx| Ok::<_, Error>(tx.units(Which::All)?))
        .unwrap()
}

/// At the desk's width the landlord has it repaired: the engineer returns, and the part's clock restarts.
#[test]
fn a_service_finds_a_failing_part_and_it_is_repaired() {
    let story = Story::begin("repaired", Width::Desk);
    let due_before = story.gas_check_due();
    let (expected_before, failures_before) = story.forecast();
    story.service_and_quote();
    let (_, failures_told) = story.forecast();
    assert_eq!(
        failures_told,
        failures_before + 1,
        "found at the service, and kept"
    );
    story.the_agent_reads();
    story.the_landlord_decides("repair", "Worth doing; it goes on for some years");
    story.the_engineer_returns();
    story.the_check_kept_its_date(due_before);
    let (expected_after, failures_after) = story.forecast();
    assert_eq!(
        failures_after, failures_told,
        "found and repaired is one failure"
    );
    assert!(
        expected_after < expected_before,
        "a new valve lowers the forecast: {expected_before} to {expected_after}"
    );
}

/// At a phone's width he has it replaced: the old unit keeps its history, the new one begins its own.
#[test]
fn a_service_finds_a_failing_part_and_the_boiler_is_replaced() {
    let story = Story::begin("replaced", Width::Phone);
    let due_before = story.gas_check_due();
    let (expected_before, failures_before) = story.forecast();
    story.service_and_quote();
    story.the_agent_reads();
    story.the_landlord_decides("replace:CB", "It has failed too often for us");
    story.the_check_kept_its_date(due_before);
    story.a_new_boiler_is_fitted();
    let (old, new) = story.old_and_new();
    assert_eq!(
        old.history.failures.len(),
        failures_before + 1,
        "the history stands"
    );
    assert!(
        old.forecast.is_none(),
        "nothing is forecast of a unit that is out"
    );
    assert!(
        new.history.failures.is_empty(),
        "the new one begins its own"
    );
    let expected_after = new.forecast.expect("a forecast").expected_12m;
    assert!(
        expected_after < expected_before,
        "the flat's forecast has moved: {expected_before} to {expected_after}"
    );
}

#[test]
fn every_first_page_opens_for_its_person() {
    let app = TestApp::demo();
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
            ("/track-record/own-past", "own-past"),
            ("/drill", "drill"),
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
        browser.go("/bag");
        browser.shot("bag");
        browser.forget();
        browser.come_in_as("Imre Calverdale");
        assert_eq!(browser.path(), "/letter");
        browser.shot("letter");
        browser.print("letter");
    }
}
