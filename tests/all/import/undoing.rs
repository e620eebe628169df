//! A list taken back in one step.
use terms::Fate;
use usecases::Error;
use usecases::import;
use usecases::register::{self, UnitFacts};

use super::estate::{Estate, HISTORY, UNITS};

#[test]
fn undoing_a_change_says_again_what_was_known_before() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let before = estate.units();
    let changed = estate.send("units2.csv", UNITS.replace("24kW", "28").as_bytes());
    estate.commit(changed).unwrap();
    assert_eq!(estate.unit("B1").rated_kw, Some(28.0));
    let undone = import::undo(estate.world(), &estate.seat, changed, "undo").unwrap();
    assert_eq!((undone.units, undone.restored, undone.events), (0, 1, 0));
    assert_eq!(estate.units(), before);
    let again = import::undo(estate.world(), &estate.seat, changed, "undo").unwrap();
    assert_eq!(again, undone, "the same post again does nothing twice");
    assert!(matches!(
        import::undo(estate.world(), &estate.seat, changed, "undo once more"),
        Err(Error::Conflict(_))
    ));
}

#[test]
fn units_cannot_leave_while_their_history_stands_and_both_leave_in_turn() {
    let estate = Estate::new();
    let units = estate.send("units.csv", UNITS.as_bytes());
    estate.commit(units).unwrap();
    let duties = estate.open_duties();
    let history = estate.send("history.csv", HISTORY.as_bytes());
    estate.commit(history).unwrap();
    let Err(Error::Conflict(sentence)) = import::undo(estate.world(), &estate.seat, units, "u1")
    else {
        panic!("two units have a history");
    };
    assert!(sentence.starts_with("2 of the units"), "{sentence}");
    let undone = import::undo(estate.world(), &estate.seat, history, "h").unwrap();
    assert_eq!(
        undone.events, 8,
        "four failures, two parts, two records of work and money"
    );
    let undone = import::undo(estate.world(), &estate.seat, units, "u2").unwrap();
    assert_eq!(undone.units, 5);
    assert_eq!((estate.units().len(), estate.open_duties()), (0, 0));
    let found = register::find(estate.world(), &estate.seat, "8B5S").unwrap();
    assert!(
        found.is_empty(),
        "nothing is found by the words of what left"
    );
    let again = estate.send("units.csv", UNITS.as_bytes());
    assert_ne!(again, units, "what was taken back may come again");
    estate.commit(again).unwrap();
    assert_eq!((estate.units().len(), estate.open_duties()), (5, duties));
    assert_eq!(estate.unit("B1").fate, Fate::InService);
}

#[test]
fn after_thirty_days_a_list_stays() {
    let estate = Estate::new();
    let id = estate.send("units.csv", UNITS.as_bytes());
    estate.commit(id).unwrap();
    estate.database.clock.advance(chrono::TimeDelta::days(31));
    let refused = import::undo(estate.world(), &estate.seat, id, "late");
    assert!(matches!(refused, Err(Error::Conflict(s)) if s.contains("30 days")));
    assert_eq!(estate.units().len(), 5);
}

/// Correcting the day a unit was fitted moves its stay; the stay is the list's all the same, so that the list does not go without
/// the unit: a correction is to be taken back first, as any other.
#[test]
fn a_unit_whose_fitting_was_corrected_is_still_its_lists() {
    let estate = Estate::new();
    let list = estate.send("units.csv", UNITS.as_bytes());
    estate.commit(list).unwrap();
    let card = estate.unit("B4");
    let was = card.placed_from;
    let fitted = "2014-11-10".parse().unwrap();
    let facts = UnitFacts {
        kind: card.kind.clone(),
        serial: card.serial.clone(),
        installed: Some((fitted, fitted)),
        rated_kw: card.rated_kw,
        litres: card.litres,
        filter_fitted: card.filter_fitted,
        reducer_fitted: card.reducer_fitted,
        warranty_until: card.warranty_until,
        note: card.note.clone(),
    };
    let (world, seat) = (estate.world(), &estate.seat);
    register::correct_unit(world, seat, card.id, (facts, None), None, "correct").unwrap();
    assert_eq!(was, "2014-11-25".parse().ok(), "as the list says it");
    assert_eq!(
        estate.unit("B4").placed_from,
        Some(fitted),
        "the stay moved"
    );
    let refused = import::undo(world, seat, list, "undo");
    assert!(
        matches!(&refused, Err(Error::Conflict(s)) if s.contains("B4 (a correction)")),
        "{refused:?}"
    );
    assert_eq!(estate.units().len(), 5, "nothing was changed");
}
