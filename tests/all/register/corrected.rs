//! A fitting date that was wrong moves what followed from it, and nothing that was stated by itself.
use chrono::NaiveDate;
use terms::unit::UnitCard;
use terms::{SpaceId, UnitId};
use usecases::register::{self, NewUnit, UnitFacts};

use super::estate::{Estate, boiler, estate, house};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Fitted on a day, with the days stated of it by themselves.
fn enter(
    estate: &Estate,
    space: SpaceId,
    (serial, fitted): (&str, &str),
    (placed_from, watched_from): (Option<NaiveDate>, Option<NaiveDate>),
) -> UnitId {
    let form = NewUnit {
        space,
        facts: UnitFacts {
            installed: Some((day(fitted), day(fitted))),
            ..boiler(serial)
        },
        placed_from,
        watched_from,
    };
    register::add_unit(&estate.app.database.world, &estate.seat, form, serial).unwrap()
}

fn card(estate: &Estate, unit: UnitId) -> UnitCard {
    let world = &estate.app.database.world;
    world
        .acting(&estate.seat, |tx| Ok::<_, usecases::Error>(tx.unit(unit)?))
        .unwrap()
}

/// Corrects the fitting on the page: every other field comes back as the form was filled in.
fn correct(estate: &Estate, unit: UnitId, (serial, fitted): (&str, &str), once: &str) {
    let watched = card(estate, unit).watched_from.to_string();
    let fields = [
        ("once", once),
        ("kind", "CB"),
        ("serial", serial),
        ("fitted", fitted),
        ("watched", watched.as_str()),
    ];
    let kept = estate
        .agent
        .post(&format!("/units/{unit}/correct"), &fields);
    assert_eq!(kept.status(), 303);
}

#[test]
fn a_corrected_fitting_moves_what_followed_from_it_and_nothing_stated_by_itself() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let (home, other) = (
        estate.flat(building, "Flat 1"),
        estate.flat(building, "Flat 2"),
    );
    // Today is 25 November 2026.
    let new = enter(&estate, home, ("N-1", "2026-11-10"), (None, None));
    assert_eq!(card(&estate, new).watched_from, day("2026-11-10"));
    correct(&estate, new, ("N-1", "2026-11-16"), "c-1");
    let moved = card(&estate, new);
    assert_eq!(moved.placed_from, Some(day("2026-11-16")));
    assert_eq!(moved.watched_from, day("2026-11-16"));
    let page = estate.agent.page(&format!("/spaces/{home}"));
    let page = page.replace('\u{a0}', " ");
    assert!(page.contains("here ever since"), "{page}");
    assert!(!page.contains("10 November 2026"), "{page}");
    let page = estate.agent.page(&format!("/units/{new}"));
    let page = page.replace('\u{a0}', " ");
    assert!(
        page.contains("records since was 10 November 2026, now 16 November 2026"),
        "{page}"
    );
    // Fitted long ago after all: it was watched from the day it was entered.
    correct(&estate, new, ("N-1", "2019-05-02"), "c-2");
    let long_ago = card(&estate, new);
    assert_eq!(long_ago.placed_from, Some(day("2019-05-02")));
    assert_eq!(long_ago.watched_from, day("2026-11-25"));
    // Since when it stands there and is watched was stated of this one.
    let stated = (Some(day("2020-02-03")), Some(day("2021-06-01")));
    let told = enter(&estate, other, ("T-1", "2018-04-05"), stated);
    correct(&estate, told, ("T-1", "2017-08-09"), "c-3");
    let kept = card(&estate, told);
    assert_eq!(kept.installed, Some((day("2017-08-09"), day("2017-08-09"))));
    assert_eq!((kept.placed_from, Some(kept.watched_from)), stated);
}
