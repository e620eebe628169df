//! The outlook of a unit and of a building, and what stands out: through their use cases, then as pages of the demo.
use chrono::TimeDelta;
use store::branches::End;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::FailureRecord;
use terms::{BuildingId, Country, FailureId, SpaceId, UnitId, UsedAs};
use usecases::forecast::{self, Driver, Verdict, building_outlook, unit_outlook};
use usecases::stands_out::{self, Looked, Tie, last_look, look_for_groups};
use uuid::Uuid;

use crate::duties::{Estate, day};
use crate::support::browser::{Browser, Width};
use crate::support::{Client, TestApp};

fn fails(estate: &Estate, unit: UnitId, on: &str) {
    let record = FailureRecord {
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
    };
    estate
        .world()
        .acting(&estate.seat, |tx| {
            tx.add_failure(&record, None)?;
            forecast::renew_unit(tx, unit)
        })
        .unwrap();
}

/// A house of ten flats with a combi boiler in each.
fn house(estate: &Estate, code: &str) -> (BuildingId, Vec<UnitId>) {
    let spaces: (BuildingId, Vec<SpaceId>) = estate
        .world()
        .acting(&estate.seat, |tx| {
            let card = BuildingCard {
                id: BuildingId(Uuid::nil()),
                code: code.to_owned(),
                name: format!("House {code}"),
                address: String::new(),
                country: Country::England,
                built_year: None,
                higher_risk: None,
                hardness_mg_l: None,
                asbestos_register: "unknown".to_owned(),
                note: String::new(),
            };
            let building = tx.add_building(&card)?;
            let level = tx.add_level(building, 0, "G")?;
            let mut flats = Vec::new();
            for n in 0..10 {
                let card = SpaceCard {
                    id: SpaceId(Uuid::nil()),
                    building,
                    building_name: String::new(),
                    level,
                    ordinal: 0,
                    place: n,
                    name: format!("Flat {}", n + 1),
                    used_as: UsedAs::Flat,
                    stair: None,
                    let_short: None,
                    site: serde_json::json!({}),
                };
                flats.push(tx.add_space(&card, None)?);
            }
            Ok((building, flats))
        })
        .unwrap();
    let units = spaces
        .1
        .iter()
        .enumerate()
        .map(|(n, flat)| estate.unit("CB", &format!("{code}-{n}"), *flat, Some("2014-06-01")))
        .collect();
    (spaces.0, units)
}

/// Four houses; in the first, eight of ten boilers fail every year, elsewhere one of ten does.
fn four_houses() -> (Estate, Vec<(BuildingId, Vec<UnitId>)>) {
    let estate = Estate::new();
    let houses: Vec<_> = ["AA", "BB", "CC", "DD"]
        .into_iter()
        .map(|code| house(&estate, code))
        .collect();
    for (place, (_, units)) in houses.iter().enumerate() {
        let many = if place == 0 { 8 } else { 1 };
        for (n, unit) in units.iter().take(many).enumerate() {
            for year in 2024..=2026 {
                fails(&estate, *unit, &format!("{year}-03-{:02}", 1 + n));
            }
        }
    }
    forecast::refit(estate.world(), &estate.seat).unwrap();
    (estate, houses)
}

#[test]
fn a_bad_building_is_in_the_forecast_of_its_quiet_unit_and_in_its_totals() {
    let (estate, houses) = four_houses();
    let of = |unit: UnitId| unit_outlook(estate.world(), &estate.seat, unit, 0.5).unwrap();
    let (bad, good) = (of(houses[0].1[9]), of(houses[1].1[9]));
    let fit = bad.fit.as_ref().unwrap();
    assert_eq!(fit.verdict, Verdict::Converged);
    let buildings = fit.buildings.as_ref().unwrap();
    assert_eq!((buildings.seen.len(), buildings.effects.len()), (4, 4));
    assert!(buildings.spread.is_some());
    let chance = |o: &forecast::UnitOutlook| o.told.as_ref().unwrap().row.year.chance;
    assert!(chance(&bad) > 1.1 * chance(&good));
    assert!(bad.until.unwrap() < good.until.unwrap());
    let horizons = &bad.told.as_ref().unwrap().kept.forecast.horizons;
    assert_eq!(horizons.len(), 4);
    // Twelve months, the season, three and thirty-six months.
    assert!(horizons[2].chance < horizons[1].chance && horizons[1].chance < horizons[0].chance);
    assert!(horizons[0].chance < horizons[3].chance);
    let raised = horizons[0]
        .drivers
        .iter()
        .any(|d| matches!(d, Driver::Building(f) if *f > 1.1));
    assert!(raised, "{:?}", horizons[0].drivers);
    let total = |id: BuildingId| building_outlook(estate.world(), &estate.seat, id, 0.1).unwrap();
    let (worse, better) = (total(houses[0].0), total(houses[1].0));
    let whole = |o: &forecast::BuildingOutlook| o.whole.clone().unwrap().year;
    assert!(whole(&worse).expected > 2.0 * whole(&better).expected);
    let sum: f64 = houses[0]
        .1
        .iter()
        .map(|u| of(*u).told.unwrap().row.expected_12m)
        .sum();
    assert!((whole(&worse).expected / sum - 1.0).abs() < 1e-6);
    let factor = |o: &forecast::BuildingOutlook| o.kinds[0].factor.unwrap();
    assert!(factor(&worse).mean > 1.1 && factor(&better).mean < 1.0);
    // One more failure is told at once, and by the neighbours in the night.
    let before = chance(&good);
    estate.database().clock.advance(TimeDelta::hours(2));
    fails(&estate, houses[1].1[8], "2026-11-20");
    assert_eq!(chance(&of(houses[1].1[9])), before);
    estate.database().clock.advance(TimeDelta::hours(2));
    forecast::refit(estate.world(), &estate.seat).unwrap();
    assert!(chance(&of(houses[1].1[9])) > before);
}

#[test]
fn a_kinds_record_is_counted_by_age_beside_its_fit() {
    let (estate, houses) = four_houses();
    let view = forecast::kind_record(estate.world(), &estate.seat, "CB").unwrap();
    let fit = view.fit.as_ref().unwrap();
    assert_eq!((view.units, view.dated), (40, 40));
    // All were fitted on one day, so that the curve is the mean number of failures a unit by then.
    let (_, points) = view.curve.as_ref().unwrap();
    let last = points.last().unwrap();
    assert_eq!(last.at_risk, 40);
    assert!((last.mean - f64::from(fit.failures) / 40.0).abs() < 1e-9);
    assert!(last.ci95().0 < last.mean && last.mean < last.ci95().1);
    // Eight boilers of the first house and one of each other failed.
    assert_eq!(view.trend.unwrap().units, 11);
    assert_eq!(view.failures, fit.failures as usize);
    let by_band: u32 = view.bands.iter().map(|b| b.failures).sum();
    assert_eq!(by_band, fit.failures);
    // The same record made the fit: what it expects is of the size of what happened.
    let expected: f64 = view.bands.iter().map(|b| b.expected).sum();
    assert!(
        (0.5..2.0).contains(&(expected / f64::from(fit.failures))),
        "{expected}"
    );
    // The interval by profile is kept with the fit and holds its middle.
    let profiled = fit.profiled.unwrap();
    let (low, high) = (profiled.rate.0.unwrap(), profiled.rate.1.unwrap());
    assert!(low < fit.rate_10y && fit.rate_10y < high);
    assert_eq!(profiled.beta, None);
    assert!(!fit.sooner, "nothing was written off");
    let unknown = forecast::kind_record(estate.world(), &estate.seat, "none-such");
    assert!(matches!(unknown, Err(usecases::Error::NotFound("kind"))));
    // A kind nobody has is told as such.
    let none = forecast::kind_record(estate.world(), &estate.seat, "UV").unwrap();
    assert_eq!(
        (none.units, none.curve.is_none(), none.trend),
        (0, true, None)
    );
    assert_eq!(houses.len(), 4);
}

#[test]
fn a_day_begins_where_the_building_stands() {
    let (estate, houses) = four_houses();
    // 23:30 UTC on 30 June 2027 is half past midnight on 1 July in London.
    let late = "2027-06-30T23:30:00Z".parse().unwrap();
    estate.database().clock.set(late);
    forecast::refit(estate.world(), &estate.seat).unwrap();
    let told = unit_outlook(estate.world(), &estate.seat, houses[0].1[0], 0.5).unwrap();
    assert_eq!(told.today, day("2027-07-01"));
    assert_eq!(told.told.unwrap().row.made_on, day("2027-07-01"));
}

#[test]
fn what_stands_out_is_found_once_a_week_and_others_see_nothing_of_it() {
    let (estate, houses) = four_houses();
    let look = || look_for_groups(estate.world(), &estate.seat).unwrap();
    assert!(
        last_look(estate.world(), &estate.seat)
            .unwrap()
            .week
            .is_none()
    );
    let Looked::Now { groups, found } = look() else {
        panic!("the first look of the week");
    };
    // Four houses; the one month all were fitted in leaves nobody outside.
    assert_eq!((groups, found), (4, 1));
    assert_eq!(look(), Looked::Before);
    let last = last_look(estate.world(), &estate.seat).unwrap();
    let out = &last.stand_outs[0].found;
    assert_eq!(out.ties, [Tie::Building(houses[0].0)]);
    assert_eq!(
        (out.failures, out.failed_units, out.units.len()),
        (24, 8, 10)
    );
    assert!(out.luck <= stands_out::LEVEL && out.expected < 12.0);
    let first = last.stand_outs[0].since_week;
    estate.database().clock.advance(TimeDelta::days(7));
    assert!(matches!(look(), Looked::Now { found: 1, .. }));
    let later = last_look(estate.world(), &estate.seat).unwrap();
    assert_eq!((later.stand_outs[0].since_week, later.looks), (first, 2));
    let other = usecases::founding::found_estate(estate.world(), "Other Estate", false).unwrap();
    assert!(last_look(estate.world(), &other).unwrap().week.is_none());
    let chain = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.verify_chain()?))
        .unwrap();
    assert!(matches!(chain, store::audit::ChainVerdict::Whole { .. }));
}

#[test]
fn without_anything_out_of_line_it_is_silent() {
    let estate = Estate::new();
    for code in ["AA", "BB", "CC"] {
        let (_, units) = house(&estate, code);
        fails(&estate, units[0], "2025-03-01");
        fails(&estate, units[4], "2026-01-01");
    }
    forecast::refit(estate.world(), &estate.seat).unwrap();
    assert_eq!(
        look_for_groups(estate.world(), &estate.seat).unwrap(),
        Looked::Now {
            groups: 3,
            found: 0
        }
    );
    let last = last_look(estate.world(), &estate.seat).unwrap();
    assert!(last.stand_outs.is_empty() && last.kept.least > stands_out::LEVEL);
}

#[test]
fn a_spare_feeder_is_worth_something_and_a_common_cause_takes_it_away() {
    let estate = Estate::new();
    let flats: Vec<SpaceId> = (0..4).map(|_| estate.flat(None)).collect();
    let feeders: Vec<UnitId> = (0..2)
        .map(|n| estate.unit("CB", &format!("EL-{n}"), flats[n], Some("2014-06-01")))
        .collect();
    let on = day("2020-01-01");
    estate
        .world()
        .acting(&estate.seat, |tx| {
            for (name, needed) in [
                ("Header 1", Some(1)),
                ("Header 2", Some(2)),
                ("Header 3", None),
            ] {
                let branch = tx.add_branch(estate.building, name, "header", needed)?;
                for unit in &feeders {
                    tx.link_branch(branch, End::FedBy(*unit), on)?;
                }
            }
            Ok(())
        })
        .unwrap();
    forecast::refit(estate.world(), &estate.seat).unwrap();
    let chances = |common: f64| -> Vec<f64> {
        let view = building_outlook(estate.world(), &estate.seat, estate.building, common).unwrap();
        assert_eq!(view.branches.len(), 3);
        view.branches.iter().map(|b| b.chance.unwrap()).collect()
    };
    let (none, tenth, all) = (chances(0.0), chances(0.1), chances(1.0));
    assert!(none[0] < none[1] / 10.0, "{none:?}");
    assert_eq!(none[1], none[2], "not stated: all are needed");
    assert!(none[0] < tenth[0] && tenth[0] < all[0]);
    assert!((all[0] / all[1] - 1.0).abs() < 1e-9, "all at once or none");
    // Headers 1 to 3 are fed by the same two units: whenever one of them is lost, so are those that need both, and the
    // chance of any loss is theirs, not that of three headers with units of their own.
    let any = |common: f64| {
        let view = building_outlook(estate.world(), &estate.seat, estate.building, common).unwrap();
        let any = view.any_branch.unwrap();
        assert!(!any.at_most);
        any.value
    };
    for (common, each) in [(0.0, &none), (0.1, &tenth), (1.0, &all)] {
        let apart = 1.0 - each.iter().map(|p| 1.0 - p).product::<f64>();
        assert!((any(common) / each[1] - 1.0).abs() < 1e-9, "{each:?}");
        assert!(any(common) < 0.9 * apart, "{each:?}");
    }
}

fn a_kinds_page_says_it(agent: &Client, landlord: &Client) {
    let kind = agent.page("/kinds/CB/record");
    for words in [
        "Counted, without a model",
        "grow older",
        "Against the fit",
        "What its fit says",
    ] {
        assert!(kind.contains(words), "{words}");
    }
    assert_eq!(agent.get("/kinds/none-such/record").status(), 404);
    assert_eq!(landlord.get("/kinds/CB/record").status(), 200);
}

#[test]
fn pages_of_the_demo_say_it_all_and_keep_to_their_readers() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let agent = app.signed_in(seed_demo::AGENT);
    let buildings = agent.page("/buildings");
    let building = address(&buildings, "/buildings/");
    let page = agent.page(&format!("{building}/forecast"));
    for words in [
        "are to be expected",
        "How many",
        "Why this?",
        "Within three years",
        "8 cases in 10",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let unit = world
        .acting(&seat, |tx| Ok(tx.units(store::units::Which::All)?))
        .unwrap()
        .into_iter()
        .find(|u| u.kind == "CB" && u.fate == terms::Fate::InService)
        .expect("a boiler");
    let own = format!("/units/{}", unit.id);
    assert!(agent.page(&own).contains(&format!("{own}/forecast")));
    let page = agent.page(&format!("{own}/forecast"));
    for words in [
        "would fail within twelve months",
        "Within three months",
        "Until when",
        "Which part",
        "What moves it, and what it rests on",
        "How long such units stay",
        "Never a reason to replace on age alone",
        "official gas safety register",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let quarter = agent.page(&format!("{own}/forecast?level=quarter"));
    assert_ne!(quarter, page);
    // A level nobody offers is the usual one.
    assert_eq!(agent.page(&format!("{own}/forecast?level=NaN")), page);
    assert!(page.contains("/kinds/CB/record"));
    let landlord = app.signed_in(seed_demo::LANDLORD);
    a_kinds_page_says_it(&agent, &landlord);
    assert_eq!(landlord.get("/stands-out").status(), 200);
    assert!(agent.page("/stands-out").contains("How it is looked for"));
    let nobody = format!("/units/{}/forecast", Uuid::from_u128(7));
    assert_eq!(agent.get(&nobody).status(), 404);
    assert_eq!(agent.get("/units/x/forecast").status(), 404);
    let nobody = format!("/buildings/{}/forecast", Uuid::from_u128(7));
    assert_eq!(agent.get(&nobody).status(), 404);
    for width in [Width::Desk, Width::Phone] {
        let b = Browser::open(&app.address, "outlook", width);
        b.come_in_as("Nell Askwith");
        b.go(&format!("{own}/forecast"));
        b.shot("unit");
        b.go("/kinds/CB/record");
        b.shot("kind");
        b.go(&format!("{building}/forecast"));
        b.shot("building");
        b.go("/stands-out");
        b.shot("stands-out");
    }
}

/// The first address in a page that begins so and goes on with an id.
fn address(page: &str, begins: &str) -> String {
    page.split('"')
        .find(|part| part.strip_prefix(begins).is_some_and(|id| id.len() == 36))
        .expect("an address")
        .to_owned()
}
