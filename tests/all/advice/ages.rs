//! An unknown age is weighed over the doubt that the register carries. Scenario ours.
use chrono::NaiveDate;
use terms::unit::UnitCard;
use usecases::advice::{AgesFrom, Unknown, WorthAsking, questions_for};

use super::estate::{Estate, a_unit, blocks};

/// What is asked about the age of a unit fitted in this span (or nobody knows when), upon a quote that would be the repair
/// limit had it been fitted on `middle`: there the courses are alike, younger it would be repaired and older replaced, so that
/// knowing is worth something. And the page of that advice.
fn asked(estate: &Estate, span: Option<(&str, &str)>, middle: &str) -> (WorthAsking, String) {
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    restate(estate, |card| {
        card.installed = Some((day(middle), day(middle)));
    });
    let first = estate.advised(estate.job(), 41_200);
    let limit = estate.stored(first).limit.unwrap();
    restate(estate, |card| {
        card.installed = span.map(|(a, b)| (day(a), day(b)));
    });
    let job = estate.job();
    let id = estate.advised(job, limit.0);
    let all = questions_for(estate.world(), &estate.seat, job).unwrap();
    let about = all.into_iter().find(|ask| ask.what == Unknown::Age);
    let agent = estate.app.signed_in("agent@test");
    let page = blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    (about.expect("the age is worth asking"), page)
}

fn restate(estate: &Estate, change: impl Fn(&mut UnitCard)) {
    let stated = estate.world().acting(&estate.seat, |tx| {
        let mut card = tx.unit(estate.unit)?;
        change(&mut card);
        Ok(tx.state_unit(estate.unit, &card, None)?)
    });
    stated.unwrap();
}

#[test]
fn an_unknown_age_is_weighed_over_what_the_register_says() {
    let estate = Estate::new();
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    // Nothing on record and nobody to compare: twice the usual life of a combi back (KINDS.csv: 14 years), for the building is
    // older than that.
    let (ask, page) = asked(&estate, None, "1998-01-01");
    let ages = ask.ages.unwrap();
    assert_eq!((ages.from, ages.fitted.len()), (AgesFrom::UsualLife, 5));
    assert!(
        page.contains("from twice the usual life of its kind back"),
        "{page}"
    );
    assert!(ages.fitted.iter().all(|day| *day >= day_of(1983)));
    // Six others of the kind in the building, known to the year and older than this one is known: theirs.
    let world = estate.world();
    for (n, year) in [1996, 1999, 2002, 2005, 2008, 2011].iter().enumerate() {
        let unit = a_unit(
            world,
            &estate.seat,
            "CB",
            &format!("AH-{n}-B1"),
            estate.flat,
        );
        let fitted = NaiveDate::from_ymd_opt(*year, 6, 1);
        let stated = world.acting(&estate.seat, |tx| {
            let mut card = tx.unit(unit)?;
            card.installed = fitted.map(|day| (day, day));
            Ok(tx.state_unit(unit, &card, None)?)
        });
        stated.unwrap();
    }
    let (ask, page) = asked(&estate, None, "2002-06-01");
    let ages = ask.ages.unwrap();
    assert_eq!(ages.from, AgesFrom::Building(6));
    let years: Vec<String> = ages
        .fitted
        .iter()
        .map(|d| d.format("%Y").to_string())
        .collect();
    assert_eq!(years, ["2011", "2008", "2002", "1999", "1996"]);
    assert!(
        page.contains("the 6 others of its kind in this building"),
        "{page}"
    );
    // A span on record stands before them; a year on record leaves nothing to ask.
    let span = Some(("1990-01-01", "2009-12-31"));
    let (ask, page) = asked(&estate, span, "2000-01-01");
    assert_eq!(ask.ages.unwrap().from, AgesFrom::Record);
    assert!(page.contains("from the span on record"), "{page}");
    restate(&estate, |card| {
        card.installed = Some((day("2009-01-01"), day("2009-12-31")));
    });
    let job = estate.job();
    estate.advised(job, 41_200);
    let all = questions_for(world, &estate.seat, job).unwrap();
    assert!(all.iter().all(|ask| ask.what != Unknown::Age), "{all:?}");
}

fn day_of(year: i32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, 1, 1).unwrap()
}
