//! What is asked of a programme and what it answers: which limit makes a unit wait, how far it looks ahead, what must go
//! by a year, what replacing a kept unit would cost.
use terms::{Pence, Role};
use usecases::Error;
use usecases::plan::{self, Limits, TieKind};

use crate::duties::Estate;
use crate::plan_estate::Old;
use crate::support::TestApp;

fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ").replace("&#39;", "'")
}

/// With money for all and one replacement a year, or £4,500 a year, it is that limit and no other which makes units wait,
/// and the page of each says so.
#[test]
fn the_limit_that_makes_a_unit_wait_is_named() {
    let old = Old::new(5);
    old.money(100_000, 100_000, "m1");
    for (n, (limits, binds)) in [
        (
            Limits {
                homes_a_year: Some(1),
                ..Limits::default()
            },
            plan::Binds::Homes,
        ),
        (
            Limits {
                cap: Some(Pence(450_000)),
                ..Limits::default()
            },
            plan::Binds::Cap,
        ),
    ]
    .into_iter()
    .enumerate()
    {
        let seat = &old.estate.seat;
        let stated = (old.building(), limits);
        plan::state_limits(old.world(), seat, stated, &format!("l{n}")).unwrap();
        let found = old.planned(&format!("p{n}"));
        let late = found.programme.years.iter().flat_map(|l| &l.replacements);
        let late = late
            .filter(|r| r.years_late > 0)
            .map(|r| r.unit)
            .next()
            .expect("a unit waits");
        if let Some(cap) = limits.cap {
            for line in &found.programme.years {
                assert!(line.spent.0 + line.set_up.0 <= cap.0, "{line:?}");
            }
        }
        let view = plan::unit_year(old.world(), seat, (old.building(), late), None).unwrap();
        assert_eq!(view.binds, Some(vec![binds]));
    }
    // Without either, too little money is what binds.
    let stated = (old.building(), Limits::default());
    plan::state_limits(old.world(), &old.estate.seat, stated, "l9").unwrap();
    old.money(4_500, 0, "m2");
    let found = old.planned("p9");
    let late = found.programme.years.iter().flat_map(|l| &l.replacements);
    let late = late
        .filter(|r| r.years_late > 0)
        .map(|r| r.unit)
        .next()
        .expect("a unit waits for money");
    let view =
        plan::unit_year(old.world(), &old.estate.seat, (old.building(), late), None).unwrap();
    assert_eq!(view.binds, Some(vec![plan::Binds::Purse]));
}

#[test]
fn a_programme_looks_ahead_as_far_as_is_stated_and_what_must_go_by_a_year_does() {
    let old = Old::new(4);
    let flat = old.estate.flat(Some(true));
    let sound = old.estate.unit("CB", "EL-900", flat, Some("2024-05-01"));
    old.money(20_000, 5_000, "m1");
    let seat = &old.estate.seat;
    for (years, fits) in [(4, false), (31, false), (5, true), (30, true)] {
        let limits = Limits {
            years: Some(years),
            ..Limits::default()
        };
        let stated = plan::state_limits(
            old.world(),
            seat,
            (old.building(), limits),
            &format!("y{years}"),
        );
        match (fits, stated) {
            (true, Ok(())) => {
                let found = old.planned(&format!("p{years}"));
                assert_eq!(found.programme.years.len(), years as usize);
                assert_eq!(found.money.len(), years as usize);
            }
            (false, Err(Error::Invalid(wrongs))) => assert_eq!(wrongs[0].field, "years"),
            (_, other) => panic!("{years}: {other:?}"),
        }
    }
    let stated = (old.building(), Limits::default());
    plan::state_limits(old.world(), seat, stated, "y10").unwrap();
    let kept = old.planned("p10");
    let year_of = |found: &plan::BuildingProgramme| {
        let here = |l: &&plan::YearLine| l.replacements.iter().any(|r| r.unit == sound);
        found.programme.years.iter().find(here).map(|l| l.year)
    };
    assert_eq!(year_of(&kept), None, "a sound young boiler is kept");
    old.tie(TieKind::By, &[sound], Some(2029), "t1").unwrap();
    assert_eq!(old.read().changes, [plan::Change::Ties]);
    let bound = old.planned("p11");
    assert!(year_of(&bound).is_some_and(|year| year <= 2029));
    let view = plan::unit_year(old.world(), seat, (old.building(), sound), None).unwrap();
    assert_eq!(view.binds, Some(vec![plan::Binds::Latest]));
    // A year after it has no plan, a pin there is refused at its field and says why; one before it is taken.
    let later = plan::unit_year(old.world(), seat, (old.building(), sound), Some(2031)).unwrap();
    assert!(!later.tried[0].proven.stands(), "{:?}", later.tried[0]);
    match old.tie(TieKind::Pin, &[sound], Some(2031), "t2") {
        Err(Error::Invalid(wrongs)) => {
            assert_eq!(wrongs[0].field, "year");
            let said = "It must go by 2029: the scaffold stands then";
            assert!(wrongs[0].sentence.contains(said), "{}", wrongs[0].sentence);
        }
        other => panic!("{other:?}"),
    }
    old.tie(TieKind::Pin, &[sound], Some(2028), "t4").unwrap();
    let pinned = old.planned("p12");
    assert_eq!(year_of(&pinned), Some(2028));
    // A last year before the pin is refused too, and so is a year that is none of the programme's.
    assert!(matches!(
        old.tie(TieKind::By, &[sound], Some(2027), "t5"),
        Err(Error::Invalid(_))
    ));
    assert!(matches!(
        old.tie(TieKind::By, &[sound], Some(1999), "t3"),
        Err(Error::Invalid(_))
    ));
}

/// A unit that is kept can be asked about too, and pinned there it costs what the page said.
#[test]
fn what_replacing_a_kept_unit_in_any_year_would_cost_is_asked_and_true() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 6);
    old.person("agent@test", Role::Agent);
    let agent = app.signed_in("agent@test");
    let flat = old.estate.flat(Some(true));
    let sound = old.estate.unit("CB", "EL-900", flat, Some("2024-05-01"));
    old.money(20_000, 5_000, "m");
    let base = old.planned("p").plan.unwrap().made.proven.cost;
    let b = old.building();
    let page = plain(&agent.page("/programme"));
    assert!(
        page.contains(&format!("/programme/{b}/units/{sound}")),
        "{page}"
    );
    for year in [2027, 2031, 2036] {
        let seat = &old.estate.seat;
        let view = plan::unit_year(old.world(), seat, (b, sound), Some(year)).unwrap();
        assert_eq!(view.year, None);
        let told = view.tried[0].costs;
        assert!(told > Pence(0), "{year}: {told:?}");
        let read = agent.page(&format!("/programme/{b}/units/{sound}?year={year}"));
        let said = format!(
            "in {year} would cost about {} more",
            wording::sentences::money::whole(told)
        );
        assert!(plain(&read).contains(&plain(&said)), "{said}: {read}");
        let once = format!("t{year}");
        old.tie(TieKind::Pin, &[sound], Some(year), &once).unwrap();
        let pinned = old.planned(&format!("p{year}"));
        let made = pinned.plan.unwrap().made.proven;
        assert_eq!(made.cost.0 - base.0, told.0, "{year}");
        let tie = pinned.ties[0].tie.id;
        plan::untie_units(old.world(), seat, (b, tie), &format!("u{year}")).unwrap();
        old.planned(&format!("q{year}"));
    }
}
