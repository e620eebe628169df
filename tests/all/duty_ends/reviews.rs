//! Reviews by what changed, duties a building has once, and that every date says itself.
use chrono::NaiveDate;
use inspection::calendar::date_words;
use terms::UnitId;
use usecases::duties::{self, Standing, Trigger};
use usecases::{Error, founding};

use super::{fields, tank};
use crate::duties::{Estate, day};
use crate::support::TestDatabase;

#[test]
fn a_review_comes_due_when_something_changes_and_never_past_its_gap() {
    let estate = Estate::new();
    let unit = tank(&estate, "EL-T1");
    let duty = estate.proved(unit, "L1").card.id;
    estate.check(unit, "L1", "2025-06-10", true);
    // Two years at the longest: common practice, no source.
    assert_eq!(estate.deadline(unit, "L1"), Some(day("2027-06-10")));
    let changed = |on: &str, words: &str, once: &str| {
        let form = Trigger {
            duty,
            on: day(on),
            words: words.to_owned(),
        };
        duties::trigger_review(estate.world(), &estate.seat, form, once)
    };
    assert_eq!(
        fields(changed("2025-06-10", "", "c1").unwrap_err()),
        ["words", "on"]
    );
    assert_eq!(
        fields(changed("2026-11-26", "new pipes", "c2").unwrap_err()),
        ["on"]
    );
    changed("2026-11-10", "The tank was lined.", "c3").unwrap();
    changed("2026-11-10", "The tank was lined.", "c3").unwrap();
    let proved = estate.proved(unit, "L1");
    assert_eq!(
        proved.line.window.map(|w| w.deadline),
        Some(day("2026-11-10"))
    );
    assert_eq!(proved.line.standing, Standing::Late { days: 15 });
    assert!(
        proved
            .line
            .explained()
            .contains("something changed after the review of 10 June 2025")
    );
    assert!(proved.line.explained().contains("The tank was lined."));
    estate.check(unit, "L1", "2026-11-20", true);
    assert_eq!(estate.deadline(unit, "L1"), Some(day("2028-11-20")));
    let gas = estate.unit("CB", "EL-002", estate.flat(Some(true)), None);
    let form = Trigger {
        duty: estate.proved(gas, "G1").card.id,
        on: day("2026-11-10"),
        words: "new flue".to_owned(),
    };
    assert!(matches!(
        duties::trigger_review(estate.world(), &estate.seat, form, "g"),
        Err(Error::NotFound(_))
    ));
}

#[test]
fn a_building_bears_its_own_duty_once_and_hands_its_date_on() {
    let estate = Estate::new();
    let first = tank(&estate, "EL-T1");
    let second = tank(&estate, "EL-T2");
    let has = |unit: UnitId, rule: &str| {
        let proof = duties::proof(estate.world(), &estate.seat, unit).unwrap();
        assert!(proof.not_ours.is_empty(), "nobody else answers for it");
        proof
            .duties
            .iter()
            .any(|d| d.line.rule.code == rule && d.card.ended_on.is_none())
    };
    // Each tank is looked into; the water of the house is assessed, and its cold taps read, once.
    for (rule, of_second) in [("L7", true), ("L1", false), ("L4", false)] {
        assert!(has(first, rule), "{rule}");
        assert_eq!(has(second, rule), of_second, "{rule}");
    }
    estate.check(first, "L4", "2026-11-03", true);
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let mut card = tx.unit(first)?;
            card.fate = terms::Fate::Removed;
            card.fate_on = Some(day("2026-11-24"));
            tx.state_unit(first, &card, None)?;
            tx.end_stay(first, day("2026-11-24"))?;
            let card = tx.unit(first)?;
            duties::ensure_for_unit(tx, &card)
        })
        .unwrap();
    duties::refresh(estate.world(), &estate.seat).unwrap();
    assert!(has(second, "L4") && has(second, "L1"));
    assert_eq!(
        estate.deadline(second, "L4"),
        Some(day("2026-12-03")),
        "the date goes on"
    );
    assert!(
        estate
            .proved(second, "L4")
            .line
            .explained()
            .contains("Taken over")
    );
}

#[test]
fn every_date_says_itself_in_a_sentence() {
    let database = TestDatabase::demo();
    let world = &database.world;
    let (estate, name, _) = founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let lines = duties::due(world, &seat, NaiveDate::MAX).unwrap();
    let mut dated = 0;
    for line in &lines {
        let said = line.explained();
        assert!(said.ends_with('.') || said.ends_with(['”', ')']), "{said}");
        if let Some(window) = line.window {
            dated += 1;
            assert!(
                said.contains(&date_words(window.deadline)),
                "{} of {}: {said}",
                line.rule.code,
                line.number()
            );
        }
    }
    assert!(dated > 200, "{dated} dates");
    // A day stated by hand says itself too.
    let estate = Estate::new();
    let unit = estate.unit("CB", "EL-001", estate.flat(Some(true)), None);
    estate.start(unit, "G1", "2027-03-15");
    let line = estate.proved(unit, "G1").line;
    assert_eq!(
        line.explained(),
        "Stated as due by 15 March 2027: from the old list"
    );
}
