//! The demo estate as a newcomer finds it.
use std::sync::Arc;

use chrono::NaiveDate;
use store::history::History;
use store::units::Which;
use terms::unit::{FailureRecord, UnitCard};
use terms::{FixedClock, JobState};
use usecases::{Error, World};
use wording::sentences::chances;

use crate::support::{TestApp, TestDatabase};

#[test]
fn the_demo_estate_stands_and_is_made_once() {
    let database = TestDatabase::new();
    let began = std::time::Instant::now();
    let summary = seed_demo::fill(&database.world)
        .unwrap()
        .expect("the database is empty");
    println!(
        "demo made in {:.1} s: {summary:?}",
        began.elapsed().as_secs_f64()
    );
    assert_eq!(summary.buildings, 3);
    assert!(
        (230..=290).contains(&summary.units),
        "about 260 units: {}",
        summary.units
    );
    assert!(
        seed_demo::fill(&database.world).unwrap().is_none(),
        "a second time it does nothing"
    );

    let (estate, name, demo) = usecases::founding::open_estates(&database.world)
        .unwrap()
        .remove(0);
    assert!(demo);
    let seat = usecases::Seat::program(estate, &name);
    let jobs = usecases::work::open_jobs(&database.world, &seat).unwrap();
    let states: Vec<JobState> = jobs.iter().map(|line| line.job.state).collect();
    for wanted in [
        JobState::Offered,
        JobState::Booked,
        JobState::NoAccess,
        JobState::LeftIsolated,
        JobState::WaitingForDecision,
        JobState::WaitingForPart,
    ] {
        assert!(states.contains(&wanted), "no job is {wanted}: {states:?}");
    }
    let (records, letters) = database
        .world
        .acting(&seat, |tx| {
            let units = tx.units(Which::All)?;
            let unit = units
                .iter()
                .find(|u| u.number == "SH-26-1")
                .expect("SH-26-1");
            let issued = tx.issued_records(store::issued::WhichIssued::Unit(unit.id))?;
            let letters = tx.letters_of_duties(tx.at())?;
            Ok::<_, Error>((issued.len(), letters.values().flatten().count()))
        })
        .unwrap();
    assert_eq!(records, 2, "both records of one service are issued");
    assert!(letters >= 1, "a letter followed the first closed door");
}

/// What one unit's record and its kind's can bear, in failures a year, reckoned without the model: its own rate, its
/// kind's recorded rate or the prior's at fifteen years, whichever is the highest.
struct Record {
    kind: String,
    failures: usize,
    years: f64,
    age: f64,
}

/// Ageing between the middle of a record and today: hazard grows as age^(shape − 1), shape 1.45 (combi, judged).
const GROWTH: f64 = 0.45;
/// How much fuller the demo's record is today than at its middle, for a record of so many years: seven faults in ten were
/// written down nine years ago, all of them today, evenly between (TRUTH.md, drift). The model holds today's level.
fn fuller(years: f64) -> f64 {
    1.0 / (1.0 - 0.3 * (years.min(9.0) / 2.0) / 9.0)
}

/// Hard water and a missing filter may each add to it; both together at most by half (common practice, no source).
const BESIDES: f64 = 1.5;

fn record(unit: &UnitCard, history: &History, today: NaiveDate) -> Record {
    let years = |from: NaiveDate| (today - from).num_days() as f64 / 365.25;
    let fitted = unit.installed.map_or(unit.watched_from, |(first, _)| first);
    let counted = |f: &&FailureRecord| !f.no_fault_found && !f.found_at_service;
    Record {
        kind: unit.kind.clone(),
        failures: history.failures.iter().filter(counted).count(),
        years: years(unit.watched_from).max(1.0),
        age: years(fitted).max(1.0),
    }
}

#[test]
fn no_page_claims_a_chance_that_the_kinds_history_cannot_bear() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let today = world.now().date_naive();
    let (kinds, told) = world
        .acting(&seat, |tx| {
            let mut told = Vec::new();
            for unit in tx.units(Which::All)? {
                let history = tx.history(unit.id)?;
                let forecast = tx.forecasts_now(&[unit.id])?.pop();
                told.push((record(&unit, &history, today), unit, forecast));
            }
            Ok::<_, Error>((tx.kinds()?, told))
        })
        .unwrap();
    let of_kind = |code: &str| {
        told.iter()
            .map(|t| &t.0)
            .filter(|r| r.kind == code)
            .collect::<Vec<_>>()
    };
    let agent = app.signed_in("agent@demo.example");
    let (mut judged, mut highest) = (0, 0.0_f64);
    for (own, unit, forecast) in &told {
        let Some(forecast) = forecast else { continue };
        let same = of_kind(&own.kind);
        let (failures, years) = same
            .iter()
            .fold((0, 0.0), |sum, r| (sum.0 + r.failures, sum.1 + r.years));
        let mean_age = same.iter().map(|r| r.age * r.years).sum::<f64>() / years;
        let prior = kinds.iter().find(|k| k.code == own.kind).unwrap().rate_15y;
        let grown = (own.age / (own.age - own.years / 2.0).max(0.5)).powf(GROWTH);
        let kinds_rate = failures as f64 / years
            * (own.age / mean_age).max(1.0).powf(GROWTH)
            * fuller(years / same.len() as f64);
        let own_rate = own.failures as f64 / own.years * fuller(own.years);
        let bound = BESIDES * grown * kinds_rate.max(own_rate).max(prior);
        highest = highest.max(forecast.expected_12m / bound);
        assert!(
            forecast.expected_12m <= bound,
            "{}: {:.2} a year, where its record bears {bound:.2}",
            unit.number,
            forecast.expected_12m
        );
        assert!(forecast.year.0 <= 1.0 - (-bound).exp(), "{}", unit.number);
        judged += 1;
        // And the page says that chance, no other.
        if judged % 20 == 1 {
            let page = agent
                .page(&format!("/units/{}", unit.id))
                .replace('\u{a0}', " ");
            let said = chances::about(forecast.year.0).replace('\u{a0}', " ");
            assert!(
                page.contains(&said),
                "{}: “{said}” is not on its page",
                unit.number
            );
        }
    }
    // Over several buildings the duties stand by building, the rest of each folded.
    let duties = agent.page("/duties");
    let buildings = world
        .acting(&seat, |tx| Ok::<_, Error>(tx.buildings()?))
        .unwrap();
    assert_eq!(buildings.len(), 3);
    for building in &buildings {
        assert!(
            duties.contains(&format!("id=\"b-{}\"", building.id)),
            "{} has no stretch of its own",
            building.name
        );
    }
    assert!(
        duties.contains("<summary>Due in 60 days: "),
        "the rest is folded"
    );
    assert!(duties.contains("Unsafe or isolated") && duties.contains("See the warning notice"));
    println!("{judged} forecasts, the boldest at {highest:.2} of what its record bears");
    assert!(judged > 200, "{judged} forecasts");
}

/// The demo is made on whatever day a newcomer starts it: weekends, midnight, the days the clocks change, a leap day.
#[test]
fn the_demo_can_be_made_on_any_day() {
    for now in [
        "2026-11-28T19:39:00Z",
        "2027-03-28T00:30:00Z",
        "2028-02-29T23:50:00Z",
    ] {
        let database = TestDatabase::new();
        let world = World {
            pool: database.world.pool.clone(),
            clock: Arc::new(FixedClock::at(now.parse().unwrap())),
        };
        let made = seed_demo::fill(&world);
        assert!(matches!(made, Ok(Some(_))), "at {now}: {made:?}");
    }
}
