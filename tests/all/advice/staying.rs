//! Failures in what stays when a unit is replaced: counted on both sides, said in one sentence, marked in the table; and a quote
//! of the new unit asked for from the page.
use terms::unit::FailureRecord;
use terms::{AdviceId, FailureId, JobKind, Pence};
use usecases::advice::{self, NewQuote};

use super::adds_up::adds_up;
use super::estate::{Estate, a_unit, blocks};

/// An estate whose unit is an interface unit, with these failures behind it, about four months apart.
fn interface_unit(parts: &[&str]) -> Estate {
    let mut estate = Estate::new();
    estate.unit = a_unit(estate.world(), &estate.seat, "HIU", "AH-22-H1", estate.flat);
    let first = "2024-08-01".parse::<chrono::NaiveDate>().unwrap();
    for (n, part) in (0..).zip(parts) {
        let record = FailureRecord {
            id: FailureId(uuid::Uuid::nil()),
            unit: estate.unit,
            part: Some((*part).to_owned()),
            function_lost: Some("hot_water".to_owned()),
            happened_on: first + chrono::Days::new(120 * n),
            happened_until: None,
            found_at_service: false,
            no_fault_found: false,
            cost: Some(Pence(21_000)),
            job: None,
            same_as: String::new(),
            words: String::new(),
            recorded_at: chrono::DateTime::UNIX_EPOCH,
        };
        estate
            .world()
            .acting(&estate.seat, |tx| Ok(tx.add_failure(&record, None)?))
            .unwrap();
    }
    estate
}

fn advised_upon(estate: &Estate, part: &str, pence: i64) -> AdviceId {
    let job = estate.job();
    let new = NewQuote {
        part: Some(part.to_owned()),
        lines: vec![("The part, fitted".to_owned(), Pence(pence), 0.0)],
        ..estate.new_quote(job, pence)
    };
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let quote = advice::quote(tx, new)?;
            advice::advise(tx, estate.unit, Some(job), Some(quote))
        })
        .unwrap()
}

/// Failures of the first year, and those of them in what stays beside a like unit.
fn counted(estate: &Estate, id: AdviceId) -> (f64, f64) {
    let stored = estate.stored(id);
    let lines = stored.inputs["lines"].as_array().unwrap().clone();
    let staying = lines
        .iter()
        .find(|l| l["code"] == "failures_staying" && l["option"] == "HIU")
        .unwrap();
    let first = stored.inputs["case"]["old"]["faults"][0].as_f64().unwrap();
    (first, staying["value"].as_f64().unwrap())
}

const SIX: [&str; 6] = [
    "network",
    "pump",
    "strainer",
    "dhw_valve",
    "room_controls",
    "board",
];

#[test]
fn what_a_new_unit_would_not_stop_is_said_on_the_page_and_in_the_pack_and_marked() {
    let estate = interface_unit(&SIX);
    let id = advised_upon(&estate, "dhw_valve", 41_200);
    let landlord = estate.app.signed_in("landlord@test");
    let said = "Of the six failures, three were in the room’s controls or the network’s supply; a new unit would not stop those, so they are counted on both sides.";
    let html = landlord.page(&format!("/advice/{id}"));
    let page = blocks(&html).join("\n");
    assert!(page.contains(said), "{page}");
    let pack = landlord.page(&format!("/advice/{id}/pack"));
    assert!(blocks(&pack).join("\n").contains(said), "{pack}");
    assert!(adds_up(&html) >= 3 && adds_up(&pack) >= 3);
    // Marked where they stand, and only they.
    let (_, rest) = page.split_once("latest first. “Stays” marks").unwrap();
    let table = rest.split_once("The fork").map_or(rest, |(table, _)| table);
    assert_eq!(table.matches("; stays").count(), 3, "{table}");
    // One of the unit's own stands in the same table without the mark.
    let pump = table.lines().find(|line| line.contains("pump"));
    assert!(pump.is_some_and(|line| !line.contains("stays")), "{table}");
    // What they come to stands apart, and what went in says where it comes from.
    assert!(
        page.contains("these stay when it is replaced, and fail as often beside a new one"),
        "{page}"
    );
    assert!(
        page.contains("3 of the 6 failures on its whole record whose part is known, beside "),
        "{page}"
    );
    assert!(
        page.contains("what stays: common practice, no source"),
        "{page}"
    );
}

#[test]
fn that_the_share_is_its_kinds_is_said_until_a_failure_of_its_own_names_a_part() {
    let said = "no failure on record names its part, so the share of its kind stands in";
    let page = |parts: &[&str]| {
        let estate = interface_unit(parts);
        let id = advised_upon(&estate, "dhw_valve", 41_200);
        let landlord = estate.app.signed_in("landlord@test");
        blocks(&landlord.page(&format!("/advice/{id}"))).join("\n")
    };
    let (none, three) = (page(&[]), page(&["network", "pump", "board"]));
    assert!(none.contains(said), "{none}");
    assert!(!three.contains(said), "{three}");
}

#[test]
fn the_units_own_failures_move_the_share_and_the_share_moves_the_advice() {
    let with = |parts: &[&str]| {
        let estate = interface_unit(parts);
        let id = advised_upon(&estate, "dhw_valve", 41_200);
        let (all, stays) = counted(&estate, id);
        (stays / all, estate.stored(id))
    };
    let (by_kind, plain) = with(&[]);
    let (own, more) = with(&["network", "strainer", "room_controls"]);
    let (none, less) = with(&["pump", "dhw_valve", "board"]);
    // No forecast of their own: all three are expected to fail alike often, so only the share differs.
    assert!(none < by_kind && by_kind < own, "{none} {by_kind} {own}");
    // Three of three where the kind has a fifth to a quarter: (3 + 20 v)/23 against v.
    assert!((0.1..0.3).contains(&by_kind), "{by_kind}");
    let limit = |stored: &store::advices::Advice| stored.limit.unwrap().0;
    assert!(
        limit(&less) < limit(&plain) && limit(&plain) < limit(&more),
        "{} {} {}: the more stays, the more a repair is worth beside a new unit",
        limit(&less),
        limit(&plain),
        limit(&more)
    );
}

#[test]
fn a_fault_in_what_stays_says_that_a_new_unit_would_not_put_it_right() {
    let estate = interface_unit(&["network"]);
    let words = "a new unit would not put this fault right";
    let agent = estate.app.signed_in("agent@test");
    let page = |id| blocks(&agent.page(&format!("/advice/{id}"))).join("\n");
    let (cheap, dear) = (
        advised_upon(&estate, "network", 10_000),
        advised_upon(&estate, "network", 90_000),
    );
    assert!(page(dear).contains(words));
    let (cheap, dear) = (estate.stored(cheap), estate.stored(dear));
    assert_eq!(cheap.advantage, dear.advantage, "paid for either way");
    assert_eq!(
        dear.advantage.unwrap().0,
        dear.quote_pence.unwrap().0 - dear.limit.unwrap().0
    );
    let own = advised_upon(&estate, "pump", 90_000);
    assert!(!page(own).contains(words));
}

#[test]
fn a_kind_of_which_nothing_stays_says_nothing_of_it() {
    let mut estate = Estate::new();
    estate.unit = a_unit(estate.world(), &estate.seat, "HP", "AH-22-P1", estate.flat);
    let id = advised_upon(&estate, "fan", 41_200);
    let page = estate
        .app
        .signed_in("agent@test")
        .page(&format!("/advice/{id}"));
    assert!(!page.contains("counted on both sides"), "{page}");
    let stored = estate.stored(id);
    assert_eq!(stored.inputs["case"]["old"].get("stays"), None);
}

#[test]
fn a_landlord_asks_for_a_quote_of_the_new_unit_once() {
    let estate = Estate::new();
    let id = estate.advised(estate.job(), 60_000);
    let landlord = estate.app.signed_in("landlord@test");
    let at = format!("/advice/{id}");
    assert!(
        landlord
            .page(&at)
            .contains("Ask for a quote of the new one")
    );
    let asked = || landlord.post(&format!("{at}/quote-new"), &[("once", "q-1")]);
    assert_eq!(asked().status(), 303);
    assert_eq!(asked().status(), 303, "the same post again");
    let surveys = || {
        let jobs = estate
            .world()
            .acting(&estate.seat, |tx| {
                Ok(tx.jobs(&store::jobs::Which::Unit(estate.unit))?)
            })
            .unwrap();
        jobs.into_iter()
            .filter(|job| job.kind == JobKind::Survey)
            .collect::<Vec<_>>()
    };
    let [survey] = surveys().try_into().unwrap();
    assert!(
        survey.words.contains("quote a new combi gas boiler"),
        "{}",
        survey.words
    );
    let page = blocks(&landlord.page(&at)).join("\n");
    assert!(
        page.contains(&format!(
            "job {}: the new one can be quoted there",
            survey.number
        )),
        "{page}"
    );
    assert!(!page.contains("Ask for a quote of the new one"), "{page}");
    // Asked anew it stays the one survey; nobody else's advice is there to ask of.
    assert_eq!(
        landlord
            .post(&format!("{at}/quote-new"), &[("once", "q-2")])
            .status(),
        409
    );
    assert_eq!(surveys().len(), 1);
    for stranger in ["elsewhere@test", "engineer@test"] {
        let who = estate.app.signed_in(stranger);
        assert_eq!(
            who.post(&format!("{at}/quote-new"), &[("once", "q-3")])
                .status(),
            404
        );
    }
    assert_eq!(surveys().len(), 1);
}

/// What is close is not called dearer without more ado on the other course's card, and whose yes is wanted has a name.
#[test]
fn a_close_advice_contradicts_itself_nowhere() {
    let estate = Estate::new();
    let limit = estate
        .stored(estate.advised(estate.job(), 41_200))
        .limit
        .unwrap();
    for pence in [limit.0 - 1, limit.0 + 1] {
        let id = estate.advised(estate.job(), pence);
        let page = blocks(
            &estate
                .app
                .signed_in("landlord@test")
                .page(&format!("/advice/{id}")),
        )
        .join("\n");
        assert!(page.contains("Close: either is defensible"), "{page}");
        assert!(
            page.contains("Slightly the dearer course; either is defensible"),
            "{page}"
        );
        for bare in ["Dearer than keeping it", "Dearer, however long it is kept"] {
            assert!(!page.contains(bare), "{page}");
        }
        assert!(page.contains("Lou Landlord"), "{page}");
    }
}
