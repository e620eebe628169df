//! The winter replayed: what was found out later changes nothing of what would have been advised then.
use terms::unit::FailureRecord;
use terms::{FailureId, ForecastId, Pence, UnitId};
use usecases::winter::{Replayed, winter};

use super::estate::{Estate, a_unit, blocks};

/// A forecast kept on `day` that says `expected` failures in the year after.
fn forecast_kept(estate: &Estate, unit: UnitId, day: &str, expected: f64) {
    let (fit, id) = (uuid::Uuid::new_v4(), ForecastId(uuid::Uuid::new_v4()));
    estate.app.database.as_owner(&format!(
        "SET app.estate_id = '{e}';
         INSERT INTO estate.fits VALUES ('{e}', '{fit}', 'CB', '{day}', '{day}', 'converged', 1, 3, 0, '{{}}', '');
         INSERT INTO estate.forecasts VALUES ('{e}', '{id}', '{unit}', '{fit}', '{day}', '{day}', '{day}', 0.9, 0.8, 0.95,
           {expected}, 0.3, 0.2, 0.5, '{day}', '2026-03-31', '{{}}', '', NULL)",
        e = estate.seat.estate(),
    ));
}

fn record(estate: &Estate, unit: UnitId, day: chrono::NaiveDate) -> FailureRecord {
    FailureRecord {
        id: FailureId(uuid::Uuid::nil()),
        unit,
        part: None,
        function_lost: Some("hot_water".to_owned()),
        happened_on: day,
        happened_until: None,
        found_at_service: false,
        no_fault_found: false,
        cost: Some(Pence(21_000)),
        job: None,
        same_as: String::new(),
        words: "no hot water".to_owned(),
        recorded_at: estate.world().now(),
    }
}

fn failed(estate: &Estate, unit: UnitId, day: chrono::NaiveDate) {
    let record = record(estate, unit, day);
    estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.add_failure(&record, None)?))
        .unwrap();
}

fn told(replayed: &Replayed) -> Vec<(UnitId, chrono::NaiveDate)> {
    let swapped = replayed.swapped.iter();
    swapped.map(|s| (s.unit.id, s.advised_on)).collect()
}

#[test]
fn what_was_known_later_changes_no_swap() {
    let estate = Estate::new();
    let another = |number| a_unit(estate.world(), &estate.seat, "CB", number, estate.flat);
    let (late, third) = (another("AH-22-B2"), another("AH-22-B3"));
    // Eleven failures each, 32 days apart, so that none counts as the same again: 33, over the 30 that are asked for.
    let first: chrono::NaiveDate = "2025-12-02".parse().unwrap();
    for unit in [estate.unit, late, third] {
        for n in 0..11 {
            failed(&estate, unit, first + chrono::Days::new(32 * n));
        }
    }
    // All three fail alike, but only the first was known to before the winter; of the second it was found out at its end.
    forecast_kept(&estate, estate.unit, "2025-11-20", 4.0);
    forecast_kept(&estate, late, "2026-11-20", 4.0);
    let replayed = winter(estate.world(), &estate.seat).unwrap();
    assert_eq!(replayed.failures, 33);
    assert!(replayed.told.is_some());
    let swaps = told(&replayed);
    assert_eq!(swaps.len(), 1, "{swaps:?}");
    assert_eq!((swaps[0].0, swaps[0].1), (estate.unit, replayed.from));
    // A failure of last December that is written down today is one more that happened, and moves no swap.
    let fourth = another("AH-22-B4");
    failed(&estate, fourth, first);
    let again = winter(estate.world(), &estate.seat).unwrap();
    assert_eq!(again.failures, 34);
    assert_eq!(told(&again), swaps);
    // Had the third been known to as early, it would have been swapped: the silence above is not for want of reason.
    forecast_kept(&estate, third, "2025-11-20", 4.0);
    let known = winter(estate.world(), &estate.seat).unwrap();
    assert_eq!(told(&known).len(), 2);
}

/// Counted as forecasts count: what a service found is no failure, another function within 30 days is one of its own, and
/// only what took heat or hot water made a day cold.
#[test]
fn a_failure_is_what_a_forecast_calls_one() {
    let estate = Estate::new();
    let first: chrono::NaiveDate = "2026-01-05".parse().unwrap();
    let write = |after: u64, lost: &str, found_at_service: bool| {
        let record = FailureRecord {
            function_lost: Some(lost.to_owned()),
            found_at_service,
            ..record(&estate, estate.unit, first + chrono::Days::new(after))
        };
        let seat = &estate.seat;
        let added = estate
            .world()
            .acting(seat, |tx| Ok(tx.add_failure(&record, None)?));
        added.unwrap();
    };
    write(0, "hot_water", false);
    write(20, "hot_water", false);
    write(21, "noise", false);
    write(60, "hot_water", true);
    let replayed = winter(estate.world(), &estate.seat).unwrap();
    assert_eq!((replayed.failures, replayed.not_cold), (2, 1));
    assert_eq!(replayed.assumed_days, 1, "the noise made no day cold");
}

#[test]
fn the_winter_is_silent_below_thirty_failures() {
    let estate = Estate::new();
    for who in ["agent@test", "landlord@test"] {
        let page = blocks(&estate.app.signed_in(who).page("/winter")).join("\n");
        assert!(page.contains("Nothing is said yet"), "{page}");
        assert!(!page.contains("What would have been"), "{page}");
    }
    assert_eq!(
        estate
            .app
            .signed_in("engineer@test")
            .get("/winter")
            .status(),
        404
    );
}
