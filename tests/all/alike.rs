//! What units are alike in: stated on their page and with their home, asked about by fit and forecast, looked at as groups.
use terms::UnitId;
use usecases::forecast::{self, Driver, FAMILY, PEOPLE, Told, unit_outlook};
use usecases::register::{self, AlikeForm, SpaceForm};
use usecases::stands_out::{Looked, Tie, last_look, look_for_groups};

use crate::duties::{Estate, day};
use crate::forecast::failure;
use crate::work_estate::{AGENT, ANNA, Loop, fresh, unit_card};

fn fails(world: &usecases::World, seat: &usecases::Seat, unit: UnitId, on: &str) {
    world
        .acting(seat, |tx| {
            tx.add_failure(&failure(unit, on), None)?;
            forecast::renew_unit(tx, unit)
        })
        .unwrap();
}

/// Sixteen boilers more, of which the first six are of one family and fail every year, the others seldom.
fn with_a_bad_family(estate: &Loop) -> Vec<UnitId> {
    let units: Vec<UnitId> = estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut all = Vec::new();
            for n in 1..=16 {
                let card = unit_card(&format!("AL-{n:02}"), "CB", estate.flat);
                all.push(tx.add_unit(&card, None)?);
            }
            Ok::<_, usecases::Error>(all)
        })
        .unwrap();
    for (n, unit) in units.iter().enumerate() {
        let years = match n {
            0..6 => 2022..2027,
            _ if n % 3 == 0 => 2024..2025,
            _ => 2024..2024,
        };
        for year in years {
            fails(
                estate.world(),
                &estate.seat,
                *unit,
                &format!("{year}-03-{:02}", n + 1),
            );
        }
    }
    units
}

#[test]
fn a_family_that_fails_more_is_named_on_its_units_pages() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let units = with_a_bad_family(&estate);
    let address = |unit: UnitId| format!("/units/{unit}/alike");
    // A day to come is refused, and what was typed stays.
    let wrong = agent.post(
        &address(units[0]),
        &[
            ("once", fresh().as_str()),
            ("family", "The 2014 order"),
            ("system", ""),
            ("from_on", "2031-01-01"),
        ],
    );
    assert_eq!(wrong.status(), 422);
    let said = wrong.text().unwrap();
    assert!(said.contains("a day to come") && said.contains("The 2014 order"));
    let form = |once: &str, unit: UnitId, family: &str| {
        let fields = [
            ("once", once),
            ("family", family),
            ("system", "open"),
            ("from_on", "2026-11-25"),
        ];
        agent.post(&address(unit), &fields).status()
    };
    let once = fresh();
    for _ in 0..2 {
        assert_eq!(form(&once, units[0], "The 2014 order"), 303);
    }
    let rows = "estate.unit_likes";
    assert_eq!(estate.count(rows), 2, "once is once");
    assert_eq!(form(&fresh(), units[0], " the  2014 ORDER"), 303);
    for unit in &units[1..6] {
        assert_eq!(form(&fresh(), *unit, "the 2014 order"), 303);
    }
    let page = agent.page(&address(units[1]));
    assert!(page.contains("In use:") && page.contains("2014"));
    let nobody = format!("/units/{}/alike", uuid::Uuid::from_u128(7));
    assert_eq!(agent.get(&nobody).status(), 404);
    assert_ne!(estate.client(ANNA).get(&address(units[0])).status(), 200);

    forecast::refit(estate.world(), &estate.seat).unwrap();
    let code = format!("{FAMILY}the 2014 order");
    let view = |unit| unit_outlook(estate.world(), &estate.seat, unit, 0.5).unwrap();
    let effect = |unit| {
        let fit = view(unit).fit.unwrap();
        let found = fit.effects90.iter().find(|e| e.0 == code);
        found.expect("it is asked about").1
    };
    let (middle, low, high) = effect(units[0]);
    assert!(middle > 1.3 && low < middle && middle < high, "{middle}");
    let factor = |unit| {
        let told = view(unit).told.unwrap();
        let drivers = &told.kept.forecast.horizons[0].drivers;
        drivers.iter().find_map(|d| match d {
            Driver::Covariate(own, f) if *own == code => Some(*f),
            _ => None,
        })
    };
    assert!(factor(units[0]).unwrap() > 1.3);
    assert_eq!(factor(units[15]), None, "of no known family");
    let page = agent.page(&format!("/units/{}/forecast", units[0]));
    assert!(page.contains("of the family “the 2014 order”"), "{page}");
    assert!(
        agent
            .page(&format!("/units/{}", units[0]))
            .contains("Family")
    );

    // One that a fit was not asked about is forecast as one of no family until the next.
    assert_eq!(form(&fresh(), units[15], "quite another"), 303);
    assert_eq!(factor(units[15]), None);

    // As a group to look at it stands out by all it does: the fit's own factor is not among what was to be expected.
    assert!(matches!(
        look_for_groups(estate.world(), &estate.seat).unwrap(),
        Looked::Now { .. }
    ));
    let look = last_look(estate.world(), &estate.seat).unwrap();
    let family = Tie::Family("the 2014 order".to_owned());
    let found = look
        .stand_outs
        .iter()
        .find(|s| s.found.ties.contains(&family));
    let found = &found.expect("it stands out").found;
    assert_eq!((found.units.len(), found.failed_units), (6, 6));
    let page = agent.page("/stands-out");
    assert!(page.contains("of the family “the 2014 order”"));
}

fn home(estate: &Estate, n: usize, people: u32) -> (UnitId, terms::SpaceId) {
    let flat = estate.flat(None);
    let unit = estate.unit("CB", &format!("EL-{n}"), flat, Some("2014-06-01"));
    live(estate, flat, people, &format!("people-{n}"));
    (unit, flat)
}

fn live(estate: &Estate, flat: terms::SpaceId, people: u32, once: &str) {
    let card = estate
        .world()
        .acting(&estate.seat, |tx| Ok::<_, usecases::Error>(tx.space(flat)?))
        .unwrap();
    let mut site = serde_json::Map::new();
    if people > 0 {
        site.insert("people".to_owned(), serde_json::json!(f64::from(people)));
    }
    let form = SpaceForm {
        name: card.name,
        let_short: card.let_short,
        stair: card.stair,
        site,
    };
    register::correct_space(estate.world(), &estate.seat, flat, form, once).unwrap();
}

/// Homes of eight fail every year, homes of two seldom; of some nobody says. What is stated holds before its day too.
#[test]
fn how_many_live_in_a_home_goes_along_with_its_forecast() {
    let estate = Estate::new();
    let mut full = Vec::new();
    for n in 0..18 {
        let (unit, flat) = home(&estate, n, [8, 2, 0][n % 3]);
        let years = if n % 3 == 0 { 2021..2026 } else { 2024..2025 };
        for year in years {
            let on = format!("{year}-0{}-11", 1 + n % 9);
            fails(estate.world(), &estate.seat, unit, &on);
        }
        full.push((unit, flat));
    }
    forecast::refit(estate.world(), &estate.seat).unwrap();
    let view = |unit| unit_outlook(estate.world(), &estate.seat, unit, 0.5).unwrap();
    let told = |unit| -> Told { view(unit).told.unwrap() };
    let factor = |unit| {
        let told = told(unit);
        let drivers = &told.kept.forecast.horizons[0].drivers;
        drivers.iter().find_map(|d| match d {
            Driver::Covariate(code, f) if code == PEOPLE => Some(*f),
            _ => None,
        })
    };
    let fit = view(full[0].0).fit.unwrap();
    let (_, effect) = fit.effects90.iter().find(|e| e.0 == PEOPLE).unwrap();
    assert!(effect.0 > 1.1, "{effect:?}");
    // Eight are two doublings of two; two, and homes of which nobody says, are none.
    assert!(factor(full[0].0).unwrap() > 1.2);
    assert_eq!((factor(full[1].0), factor(full[2].0)), (None, None));

    // A month on two live there: its page is told at once, and its past stays that of eight.
    estate.database().clock.advance(chrono::TimeDelta::days(40));
    forecast::refit(estate.world(), &estate.seat).unwrap();
    let before = told(full[0].0);
    live(&estate, full[0].1, 2, "fewer");
    let after = told(full[0].0);
    assert!(after.row.year.chance < before.row.year.chance);
    assert_eq!(factor(full[0].0), None);
    assert!((after.kept.forecast.mu - before.kept.forecast.mu).abs() < 1e-6);
    assert_eq!(after.row.fit, before.row.fit, "without a refit");
}

/// What an open circuit does is asked where somebody says that one is open, and nowhere else.
#[test]
fn nothing_is_asked_that_nobody_states() {
    let estate = Estate::new();
    let (one, _) = home(&estate, 0, 0);
    let asked = |unit| -> Vec<String> {
        forecast::refit(estate.world(), &estate.seat).unwrap();
        let view = unit_outlook(estate.world(), &estate.seat, unit, 0.5).unwrap();
        let codes = view.fit.unwrap().effects90.into_iter().map(|e| e.0);
        codes.collect()
    };
    let plain = asked(one);
    assert!(
        !plain
            .iter()
            .any(|c| c == forecast::OPEN_SYSTEM || c == PEOPLE)
    );
    let form = AlikeForm {
        family: String::new(),
        system: Some(terms::HeatingSystem::Open),
        from_on: day("2020-01-01"),
    };
    register::state_alike(estate.world(), &estate.seat, (one, form), "open").unwrap();
    let now = asked(one);
    assert_eq!(now.len(), plain.len() + 1);
    assert!(now.iter().any(|c| c == forecast::OPEN_SYSTEM));
}
