//! Forecasts through their use cases: kept with their facts' digest, renewed at once, read as they stood.
use chrono::TimeDelta;
use terms::unit::{FailureRecord, PartFitted};
use terms::{FailureId, Fate, UnitId};
use usecases::forecast::{self, InstalledFrom, Outcome, RefitReport, Told};
use uuid::Uuid;

use crate::duties::{Estate, day};

pub fn failure(unit: UnitId, on: &str) -> FailureRecord {
    FailureRecord {
        id: FailureId(Uuid::nil()),
        unit,
        part: Some("pump".to_owned()),
        function_lost: Some("heating".to_owned()),
        happened_on: day(on),
        happened_until: None,
        found_at_service: false,
        no_fault_found: false,
        cost: None,
        job: None,
        same_as: String::new(),
        words: String::new(),
        recorded_at: chrono::DateTime::default(),
    }
}

impl Estate {
    fn record(&self, record: &FailureRecord) {
        self.world()
            .acting(&self.seat, |tx| {
                tx.add_failure(record, None)?;
                forecast::renew_unit(tx, record.unit)
            })
            .unwrap();
    }

    fn refit(&self) -> RefitReport {
        forecast::refit(self.world(), &self.seat).unwrap()
    }

    fn told(&self, unit: UnitId) -> Option<Told> {
        self.world()
            .acting(&self.seat, |tx| forecast::of_unit(tx, unit))
            .unwrap()
    }

    fn season(&self, unit: UnitId) -> f64 {
        self.told(unit).unwrap().row.season.chance
    }
}

/// Twelve combi boilers, every other one with failures, and two stores without any.
fn small_estate() -> (Estate, Vec<UnitId>, Vec<UnitId>) {
    let estate = Estate::new();
    let boilers: Vec<UnitId> = (0..12)
        .map(|n| {
            let flat = estate.flat(Some(true));
            estate.unit("CB", &format!("EL-{n}"), flat, Some("2014-06-01"))
        })
        .collect();
    for (n, unit) in boilers.iter().enumerate() {
        for year in 0..(n % 3) {
            estate.record(&failure(*unit, &format!("202{}-11-{:02}", 1 + year, 1 + n)));
        }
    }
    let stores: Vec<UnitId> = (0..2)
        .map(|n| {
            let flat = estate.flat(None);
            estate.unit("TS", &format!("ES-{n}"), flat, Some("2016-01-01"))
        })
        .collect();
    (estate, boilers, stores)
}

fn outcome<'a>(report: &'a RefitReport, kind: &str) -> &'a Outcome {
    &report
        .kinds
        .iter()
        .find(|k| k.kind == kind)
        .unwrap()
        .outcome
}

#[test]
fn a_refit_forecasts_what_serves_and_says_when_only_published_figures_speak() {
    let (estate, boilers, stores) = small_estate();
    let report = estate.refit();
    assert!(report.failed().is_empty(), "{:?}", report.failed());
    match outcome(&report, "CB") {
        Outcome::Fitted {
            verdict,
            failures,
            forecasts,
            left_out,
        } => {
            assert_eq!(verdict, "converged");
            assert_eq!((*failures, *forecasts, *left_out), (12, 12, 0));
        }
        other => panic!("{other:?}"),
    }
    // A kind no unit is of, and one of which no failure is on record, return what is published.
    for kind in ["HP", "TS"] {
        assert!(
            matches!(outcome(&report, kind), Outcome::Fitted { verdict, failures: 0, .. } if verdict == "not_enough"),
            "{kind}: {:?}",
            outcome(&report, kind)
        );
    }
    let store = estate.told(stores[0]).unwrap().kept.forecast;
    assert_eq!(store.thin, forecast::ThinData::PublishedOnly);
    assert_eq!((store.n, store.data_weight), (0, 0.0));
    for unit in boilers.iter().chain(&stores) {
        let told = estate.told(*unit).unwrap();
        let row = &told.row;
        for chance in [row.year, row.season] {
            assert!(0.0 < chance.low && chance.low < chance.high && chance.high < 1.0);
            assert!(chance.low < chance.chance && chance.chance < chance.high);
        }
        assert!(
            row.season.chance < row.year.chance,
            "a season is part of the year"
        );
        assert_eq!(row.season_from, day("2026-11-25"));
        assert_eq!(row.season_until, day("2027-03-31"));
        assert_eq!(told.kept.basis.installed_by, InstalledFrom::Stated);
    }
    // Two failures on record mean more than none, in units of one age.
    assert!(estate.season(boilers[2]) > estate.season(boilers[0]));
    let chain = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.verify_chain()?))
        .unwrap();
    assert!(matches!(chain, store::audit::ChainVerdict::Whole { .. }));
}

#[test]
fn unchanged_facts_change_nothing_within_the_week_and_are_told_anew_in_the_next() {
    let (estate, boilers, _) = small_estate();
    estate.refit();
    let first = estate.told(boilers[0]).unwrap().row;
    // 25 November 2026 is a Wednesday.
    estate.database().clock.advance(TimeDelta::days(3));
    let again = estate.refit();
    assert!(again.kinds.iter().all(|k| k.outcome == Outcome::Unchanged));
    assert_eq!(estate.told(boilers[0]).unwrap().row, first);
    estate.database().clock.advance(TimeDelta::days(2));
    assert!(matches!(
        outcome(&estate.refit(), "CB"),
        Outcome::Fitted { .. }
    ));
    let next = estate.told(boilers[0]).unwrap().row;
    assert_eq!(next.made_on, day("2026-11-30"));
    assert_ne!(next.facts_digest, first.facts_digest);
}

#[test]
fn a_new_failure_is_told_at_once_and_what_was_said_before_stays_readable() {
    let (estate, boilers, stores) = small_estate();
    estate.refit();
    let then = estate.world().now();
    let (struck, other) = (boilers[3], boilers[0]);
    let (before, beside) = (estate.season(struck), estate.season(other));
    estate.database().clock.advance(TimeDelta::hours(2));
    estate.record(&failure(struck, "2026-11-25"));
    let after = estate.season(struck);
    assert!(after > before * 1.15, "{before} to {after}");
    assert_eq!(estate.season(other), beside, "no other unit is touched");
    // A failure of another kind, and its refit, move this unit not at all: kinds are fitted apart.
    estate.database().clock.advance(TimeDelta::hours(2));
    estate.record(&failure(stores[0], "2026-11-25"));
    estate.refit();
    let refitted = estate.season(struck);
    assert!((refitted / after - 1.0).abs() < (after / before - 1.0).abs() / 2.0);
    let (known_then, present) = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok((
                forecast::of_unit_known(tx, struck, then)?,
                forecast::of_unit(tx, struck)?,
            ))
        })
        .unwrap();
    assert_eq!(known_then.unwrap().row.season.chance, before);
    assert_eq!(present.unwrap().row.season.chance, refitted);
    // Exactly one forecast of a unit is the present one.
    estate.database().as_owner(
        "DO $$ BEGIN IF EXISTS (SELECT 1 FROM estate.forecasts WHERE superseded_at IS NULL \
         GROUP BY estate_id, unit_id HAVING count(*) > 1) THEN RAISE EXCEPTION 'two present'; END IF; END $$",
    );
}

#[test]
fn repeat_visits_are_one_failure_and_what_a_service_found_is_kept_apart() {
    let (estate, boilers, _) = small_estate();
    let unit = boilers[0];
    for (on, marked) in [
        ("2024-01-10", ""),
        ("2024-02-01", ""),
        ("2024-06-01", "a"),
        ("2024-12-01", "a"),
    ] {
        estate.record(&FailureRecord {
            same_as: marked.to_owned(),
            ..failure(unit, on)
        });
    }
    estate.record(&FailureRecord {
        found_at_service: true,
        ..failure(unit, "2025-03-01")
    });
    estate.record(&FailureRecord {
        no_fault_found: true,
        ..failure(unit, "2025-05-01")
    });
    estate.record(&failure(unit, "2019-05-01"));
    let basis = estate.told(unit).unwrap().kept.basis;
    assert_eq!(basis.failures, [day("2024-01-10"), day("2024-06-01")]);
    assert_eq!((basis.merged, basis.found_at_service), (2, 1));
    assert_eq!((basis.no_fault_found, basis.before_watch), (1, 1));
    assert_eq!(estate.told(unit).unwrap().kept.forecast.n, 2);
}

#[test]
fn a_part_put_in_new_restarts_its_clock() {
    let (estate, boilers, _) = small_estate();
    estate.refit();
    let before = estate.season(boilers[0]);
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let fitted = PartFitted {
                unit: boilers[0],
                part: "pump".to_owned(),
                fitted_on: day("2026-11-20"),
                planned: true,
                job: None,
            };
            tx.add_part_fitted(&fitted, "", None)?;
            forecast::renew_unit(tx, boilers[0])
        })
        .unwrap();
    let told = estate.told(boilers[0]).unwrap();
    assert!(told.row.season.chance < before);
    assert_eq!(
        told.kept.basis.renewed,
        [("pump".to_owned(), day("2026-11-20"))]
    );
}

#[test]
fn an_unknown_date_is_carried_as_a_range_and_says_so() {
    let estate = Estate::new();
    let flat = estate.flat(None);
    let unit = estate.unit("CB", "EL-1", flat, None);
    estate.refit();
    let assumed = estate.told(unit).unwrap();
    assert_eq!(assumed.kept.basis.installed_by, InstalledFrom::Assumed);
    assert_eq!(assumed.kept.basis.installed_until, day("2020-01-01"));
    // Twice the kind's planning median of 14 years (trade notes, lives; common practice, no source).
    assert_eq!(assumed.kept.basis.installed_from, day("1992-01-01"));
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let card = tx.building(estate.building)?;
            let built = terms::place::BuildingCard {
                built_year: Some(2010),
                ..card
            };
            tx.state_building(estate.building, &built)?;
            forecast::renew_unit(tx, unit)
        })
        .unwrap();
    let built = estate.told(unit).unwrap();
    assert_eq!(built.kept.basis.installed_by, InstalledFrom::BuiltYear);
    assert_eq!(built.kept.basis.installed_from, day("2010-01-01"));
    assert!(built.kept.forecast.age < assumed.kept.forecast.age);
    assert!(built.row.year.chance.is_finite() && assumed.row.year.chance.is_finite());
}

#[test]
fn a_record_that_cannot_be_costs_only_its_own_unit_and_is_named() {
    let (estate, boilers, _) = small_estate();
    let flat = estate.flat(None);
    let wrong = estate.unit("CB", "EL-99", flat, Some("2023-01-01"));
    estate.record(&failure(wrong, "2021-01-01"));
    let report = estate.refit();
    match outcome(&report, "CB") {
        Outcome::Fitted {
            forecasts,
            left_out,
            ..
        } => assert_eq!((*forecasts, *left_out), (12, 1)),
        other => panic!("{other:?}"),
    }
    assert!(estate.told(wrong).is_none());
    assert!(estate.told(boilers[0]).is_some());
    let why = estate
        .world()
        .acting(&estate.seat, |tx| forecast::why_none(tx, wrong))
        .unwrap()
        .unwrap();
    assert!(why.contains("dated after a failure"), "{why}");
}

#[test]
fn a_kind_with_impossible_figures_fails_alone() {
    let (estate, boilers, _) = small_estate();
    estate.database().as_owner(
        "ALTER TABLE estate.kind_facts NO FORCE ROW LEVEL SECURITY; \
         UPDATE estate.kind_facts SET rate_10y = -1 WHERE kind_code = 'TS'; \
         ALTER TABLE estate.kind_facts FORCE ROW LEVEL SECURITY",
    );
    let report = estate.refit();
    assert!(
        matches!(outcome(&report, "TS"), Outcome::Failed(why) if why.contains("rate at 10 years"))
    );
    assert_eq!(report.failed().len(), 1);
    assert!(estate.told(boilers[0]).is_some());
}

#[test]
fn a_unit_out_of_service_has_no_forecast_but_its_history_still_counts() {
    let (estate, boilers, _) = small_estate();
    estate.refit();
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let card = tx.unit(boilers[2])?;
            let gone = terms::unit::UnitCard {
                fate: Fate::WrittenOff,
                fate_on: Some(day("2026-11-20")),
                ..card
            };
            tx.state_unit(boilers[2], &gone, None)?;
            forecast::renew_unit(tx, boilers[2])
        })
        .unwrap();
    assert!(estate.told(boilers[2]).is_none());
    match outcome(&estate.refit(), "CB") {
        Outcome::Fitted {
            failures,
            forecasts,
            ..
        } => assert_eq!((*failures, *forecasts), (12, 11)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_estate_without_units_refits_in_peace_and_thin_kinds_are_not_put_in_order() {
    let empty = Estate::new();
    let report = empty.refit();
    assert_eq!((report.failed().len(), report.forecasts()), (0, 0));
    let (estate, boilers, _) = small_estate();
    estate.refit();
    let likeliest = |most| {
        estate
            .world()
            .acting(&estate.seat, |tx| forecast::likeliest(tx, most, |_| true))
            .unwrap()
    };
    // Twelve failures: below the fifteen a kind needs.
    assert!(likeliest(5).units.is_empty());
    assert!(likeliest(5).too_thin.contains(&("CB".to_owned(), 12)));
    for (n, unit) in boilers[..4].iter().enumerate() {
        estate.record(&failure(*unit, &format!("2026-0{}-01", n + 2)));
    }
    estate.database().clock.advance(TimeDelta::seconds(1));
    estate.refit();
    let found = likeliest(3).units;
    assert!(!found.is_empty() && found.len() <= 3);
    let chances: Vec<f64> = found.iter().map(|(_, t)| t.row.season.chance).collect();
    assert!(chances.is_sorted_by(|a, b| a >= b));
    let totals = estate
        .world()
        .acting(&estate.seat, |tx| {
            forecast::totals_of_building(tx, estate.building)
        })
        .unwrap();
    let boilers_total = totals.iter().find(|t| t.kind == "CB").unwrap();
    assert_eq!(boilers_total.units, 12);
    let sum: f64 = boilers
        .iter()
        .map(|u| estate.told(*u).unwrap().row.expected_12m)
        .sum();
    // The total is another mixture over the same draws: the means agree.
    let ratio = boilers_total.year.expected / sum;
    assert!((ratio - 1.0).abs() < 1e-6, "{ratio}");
    assert!(boilers_total.year.count80.0 <= boilers_total.year.count50.0);
}

#[test]
fn a_book_is_frozen_and_met_with_what_happened_as_known_when_its_year_was_over() {
    let (estate, boilers, _) = small_estate();
    estate.refit();
    let keep = || forecast::keep_record(estate.world(), &estate.seat).unwrap();
    let record = || forecast::track_record(estate.world(), &estate.seat).unwrap();
    assert_eq!(
        (keep().frozen, keep().frozen),
        (Some(14), None),
        "one book a month"
    );
    assert!(record().last.is_none());
    assert_eq!(record().first_on, Some(day("2026-11-25")));
    let first: f64 = boilers
        .iter()
        .map(|u| estate.told(*u).unwrap().row.expected_12m)
        .sum();
    estate.database().clock.advance(TimeDelta::days(200));
    estate.record(&failure(boilers[0], "2027-05-01"));
    estate.record(&failure(boilers[0], "2027-05-20"));
    estate.record(&failure(boilers[5], "2027-02-01"));
    assert_eq!(keep().scored, 0, "its year is not over");
    estate.database().clock.advance(TimeDelta::days(166));
    assert_eq!((keep().scored, keep().scored), (1, 0));
    let met = record().last.unwrap();
    let judged = &met.judgement;
    assert_eq!(judged.forecasts, 14);
    assert_eq!(judged.happened, 2, "a repeat visit is not a second failure");
    assert!(
        judged.expected > first && judged.expected < first + 2.0,
        "the two stores add a little"
    );
    assert!(judged.thin(), "below thirty failures only the sums");
    assert!(judged.luck80.0 <= judged.luck80.1 && judged.luck95.0 <= judged.luck80.0);
    assert_eq!(met.period, (day("2026-11-25"), day("2027-11-25")));
    assert_eq!(met.later, 0);
    // Entered late, it stands beside and changes nothing.
    estate.record(&failure(boilers[7], "2027-03-03"));
    let again = record().last.unwrap();
    assert_eq!((again.judgement.happened, again.later), (2, 1));
    assert_eq!(
        (&again.digest, again.scored_at),
        (&met.digest, met.scored_at)
    );
    let file = forecast::track_file(estate.world(), &estate.seat).unwrap();
    assert_eq!(file.lines().count(), 15);
}

#[test]
fn the_model_is_tried_on_the_estates_own_past() {
    let (estate, _, _) = small_estate();
    let found = forecast::tried(estate.world(), &estate.seat).unwrap();
    assert_eq!(found.origins.first(), Some(&day("2025-11-25")));
    let judged = found.judgement.expect("the boilers were watched");
    assert!(judged.forecasts > 0 && judged.expected > 0.0);
    assert!(
        found
            .kinds
            .iter()
            .any(|kind| kind.plural.contains("boiler"))
    );
}

/// An agent's grant for one building shows nothing of another.
#[test]
fn another_estate_sees_nothing_of_it() {
    let (estate, boilers, _) = small_estate();
    estate.refit();
    let other = usecases::founding::found_estate(estate.world(), "Other Estate", false).unwrap();
    let (told, report) = (
        estate
            .world()
            .acting(&other, |tx| forecast::of_unit(tx, boilers[0]))
            .unwrap(),
        forecast::refit(estate.world(), &other).unwrap(),
    );
    assert!(told.is_none());
    assert_eq!(report.forecasts(), 0);
}
