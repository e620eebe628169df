//! The times in which failures were written down: stated of a unit or of its building, used by fit and forecast.
use chrono::NaiveDate;
use store::units::Which;
use terms::UnitId;
use usecases::forecast::{self, Told};
use usecases::register::{RecordWindow, RecordsOf, state_times_of_records, times_of_records};

use crate::duties::{Estate, day};
use crate::forecast::failure;
use crate::support::TestApp;

fn window(from: &str, until: Option<&str>) -> RecordWindow {
    RecordWindow {
        from_on: day(from),
        until_on: until.map(day),
        words: "log of the firm before".to_owned(),
    }
}

fn told(estate: &Estate, unit: UnitId) -> Told {
    estate
        .world()
        .acting(&estate.seat, |tx| forecast::of_unit(tx, unit))
        .unwrap()
        .expect("a forecast")
}

fn state(estate: &Estate, of: RecordsOf, windows: &[RecordWindow], once: &str) {
    state_times_of_records(estate.world(), &estate.seat, (of, windows), once).unwrap();
}

fn years(from: NaiveDate, until: NaiveDate) -> f64 {
    (until - from).num_days() as f64 / 365.25
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{a} and {b}");
}

/// Two boilers watched from 1 January 2020 on, the first with a failure in 2013, 2018 and 2024.
fn two_boilers() -> (Estate, UnitId, UnitId) {
    let estate = Estate::new();
    let (one, other) = (estate.flat(None), estate.flat(None));
    let unit = estate.unit("CB", "EL-1", one, Some("2010-06-01"));
    let second = estate.unit("CB", "EL-2", other, Some("2010-06-01"));
    for on in ["2013-05-01", "2018-05-01", "2024-05-01"] {
        estate
            .world()
            .acting(&estate.seat, |tx| {
                tx.add_failure(&failure(unit, on), None)?;
                forecast::renew_unit(tx, unit)
            })
            .unwrap();
    }
    forecast::refit(estate.world(), &estate.seat).unwrap();
    (estate, unit, second)
}

#[test]
fn several_times_with_a_gap_are_what_is_watched() {
    let (estate, unit, _) = two_boilers();
    // As entered: two failures are older than its watch.
    let before = told(&estate, unit);
    assert_eq!(before.kept.basis.failures, [day("2024-05-01")]);
    assert_eq!(before.kept.basis.before_watch, 2);
    let today = before.row.made_on;
    near(
        before.kept.forecast.watched,
        years(day("2020-01-01"), today),
    );

    let times = [
        window("2012-01-01", Some("2016-01-01")),
        window("2020-01-01", None),
    ];
    state(&estate, RecordsOf::Unit(unit), &times, "times-1");
    // Told anew at once: the failure of 2013 counts, that of the gap does not.
    let now = told(&estate, unit);
    assert_eq!(
        now.kept.basis.watched,
        [
            (day("2012-01-01"), day("2016-01-01")),
            (day("2020-01-01"), today)
        ]
    );
    assert_eq!(
        now.kept.basis.failures,
        [day("2013-05-01"), day("2024-05-01")]
    );
    assert_eq!((now.kept.basis.before_watch, now.kept.forecast.n), (1, 2));
    near(
        now.kept.forecast.watched,
        years(day("2012-01-01"), day("2016-01-01")) + years(day("2020-01-01"), today),
    );
    // The same form again does nothing twice; the fit takes the times up as well.
    state(&estate, RecordsOf::Unit(unit), &times, "times-1");
    forecast::refit(estate.world(), &estate.seat).unwrap();
    let fit = |unit| {
        let view = forecast::unit_outlook(estate.world(), &estate.seat, unit, 0.5).unwrap();
        view.fit.unwrap()
    };
    assert_eq!(fit(unit).failures, 2);
    near(
        fit(unit).unit_years,
        now.kept.forecast.watched + years(day("2020-01-01"), today),
    );
}

#[test]
fn a_buildings_times_hold_where_a_unit_has_none_and_all_are_taken_back() {
    let (estate, unit, second) = two_boilers();
    let before = told(&estate, unit);
    let today = before.row.made_on;
    let times = [
        window("2012-01-01", Some("2016-01-01")),
        window("2020-01-01", None),
    ];
    state(&estate, RecordsOf::Unit(unit), &times, "times-1");
    let now = told(&estate, unit);
    let building = RecordsOf::Building(estate.building);
    state(&estate, building, &[window("2015-01-01", None)], "times-2");
    forecast::refit(estate.world(), &estate.seat).unwrap();
    assert_eq!(
        told(&estate, second).kept.basis.watched,
        [(day("2015-01-01"), today)]
    );
    assert_eq!(told(&estate, unit).kept.basis, now.kept.basis);
    let view = times_of_records(estate.world(), &estate.seat, RecordsOf::Unit(second)).unwrap();
    assert_eq!((view.stated.len(), view.otherwise.len()), (0, 1));

    // Taken back, the unit goes by its building's; that taken back too, by its own first day.
    state(&estate, RecordsOf::Unit(unit), &[], "times-3");
    assert_eq!(
        told(&estate, unit).kept.basis.watched,
        [(day("2015-01-01"), today)]
    );
    state(&estate, building, &[], "times-4");
    forecast::refit(estate.world(), &estate.seat).unwrap();
    assert_eq!(told(&estate, unit).kept.basis, before.kept.basis);
    let chain = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.verify_chain()?))
        .unwrap();
    assert!(matches!(chain, store::audit::ChainVerdict::Whole { .. }));
}

#[test]
fn the_page_takes_times_and_keeps_what_was_wrong() {
    let app = TestApp::demo();
    let agent = app.signed_in(seed_demo::AGENT);
    let (estate, name, _) = usecases::founding::open_estates(&app.database.world)
        .unwrap()
        .remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let unit = app
        .database
        .world
        .acting(&seat, |tx| Ok(tx.units(Which::All)?))
        .unwrap()
        .into_iter()
        .find(|u| u.kind == "CB" && u.fate == terms::Fate::InService)
        .expect("a boiler");
    let address = format!("/units/{}/records-kept", unit.id);
    assert!(agent.page(&address).contains("Nothing is stated"));
    // The second begins before the first has ended; an empty line stands between them.
    let wrong = agent.post(
        &address,
        &[
            ("once", "kept-1"),
            ("from-0", "2016-01-01"),
            ("until-0", "2019-01-01"),
            ("from-2", "2018-01-01"),
            ("words-2", "the ledger"),
        ],
    );
    assert_eq!(wrong.status(), 422);
    let said = wrong.text().unwrap();
    assert!(said.contains("It begins after the one before has ended"));
    for typed in ["2016-01-01", "2019-01-01", "2018-01-01", "the ledger"] {
        assert!(said.contains(typed), "{typed}");
    }
    let torn = agent.post(&address, &[("once", "kept-2"), ("until-0", "2019-01-01")]);
    assert_eq!(torn.status(), 422);
    let right = [
        ("once", "kept-3"),
        ("from-0", "2016-01-01"),
        ("until-0", "2019-01-01"),
        ("from-1", "2021-01-01"),
    ];
    assert_eq!(agent.post(&address, &right).status(), 303);
    let page = agent.page(&address);
    assert!(page.contains("Stated: failures were written down"));
    assert!(page.contains("value=\"2021-01-01\""));
    // A building's page, and nobody else's.
    let of_building = format!("/buildings/{}/records-kept", unit.building);
    assert!(agent.page(&of_building).contains("Nothing is stated"));
    let landlord = app.signed_in(seed_demo::LANDLORD);
    assert_ne!(landlord.get(&address).status(), 200);
    let nobody = format!("/units/{}/records-kept", uuid::Uuid::from_u128(7));
    assert_eq!(agent.get(&nobody).status(), 404);
}
