//! Rounds by the optimiser: audited, beside services in date order, mended with the fewest moves and their reasons.
use chrono::Days;
use planning::rounds::Rule;
use terms::{Covers, EngineerId, Role, UnitId};
use usecases::Error;
use usecases::plan::{self, Afresh, RoundWish, Rounds};

use crate::duties::{Estate, day};
use crate::plan::{engineer, estate};
use crate::plan_demands::faultless;
use crate::plan_estate::person;
use crate::support::TestApp;

fn placed() -> (Estate, EngineerId) {
    let estate = estate();
    let who = engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    plan::place_visits(estate.world(), &estate.seat, "p1").unwrap();
    (estate, who)
}

fn read(estate: &Estate) -> Rounds {
    plan::rounds(estate.world(), &estate.seat).unwrap()
}

#[test]
fn a_round_stands_beside_its_bound_and_services_in_date_order() {
    let (estate, _) = placed();
    faultless(&estate);
    let round = read(&estate);
    let proof = round.proof.expect("something is placed");
    assert!(proof.at_least <= proof.ours.cost);
    assert!(proof.ours.cost <= proof.date_order.cost, "{proof:?}");
    assert_eq!(proof.ours.unplaced, 0);
    // Whole days out: no more journeys than visits in date order make.
    assert!(proof.ours.days <= proof.date_order.days, "{proof:?}");
    match plan::place_afresh(estate.world(), &estate.seat, "f1").unwrap() {
        Afresh::Placed(placing) => assert_eq!(placing.unplaced, 0),
        Afresh::Waits => panic!("twenty visits are no task"),
    }
    faultless(&estate);
}

#[test]
fn somebody_off_sick_moves_those_visits_alone_and_taking_it_back_moves_nothing_more() {
    let (estate, who) = placed();
    let before = read(&estate);
    let sick = before.visits[0].row.on_day.unwrap();
    let struck = before
        .visits
        .iter()
        .filter(|v| v.row.on_day == Some(sick))
        .count();
    let wish = |until: chrono::NaiveDate, why: &str| RoundWish::Away {
        engineer: who,
        from: sick,
        until,
        why: why.to_owned(),
    };
    let ask =
        |wish: RoundWish, once: &str| plan::ask_of_rounds(estate.world(), &estate.seat, wish, once);
    for (until, why, field) in [
        (sick - Days::new(1), "ill", "away_until"),
        (sick, " ", "why"),
        (sick + Days::new(500), "long", "away_until"),
    ] {
        match ask(wish(until, why), "x") {
            Err(Error::Invalid(wrongs)) => assert_eq!(wrongs[0].field, field),
            other => panic!("{other:?}"),
        }
    }
    ask(wish(sick, "not well"), "a1").unwrap();
    let broken = plan::round_breaches(estate.world(), &estate.seat).unwrap();
    assert_eq!(
        broken.iter().filter(|b| b.rule == Rule::NotWorking).count(),
        struck,
        "the audit sees what stands on the day off"
    );
    // A view loads the duties once for its reasons and for the audit, and says what a fresh audit says.
    let view = plan::rounds(estate.world(), &estate.seat).unwrap();
    assert_eq!(view.breaches, broken);
    let placing = plan::place_visits(estate.world(), &estate.seat, "p2").unwrap();
    assert_eq!((placing.moved, placing.unplaced), (struck, 0));
    faultless(&estate);
    let after = read(&estate);
    assert_eq!(after.moves.len(), struck);
    assert!(after.fewest, "each of them had to move");
    assert_eq!(after.stayed as usize, before.visits.len() - struck);
    for line in &after.moves {
        assert_eq!(line.from.day, sick);
        assert!(line.to.unwrap().day != sick);
        assert!(line.why.contains("away"), "{}", line.why);
    }
    assert_eq!(after.asks.len(), 1);
    plan::take_back_ask(estate.world(), &estate.seat, after.asks[0].ask.id, "b1").unwrap();
    assert!(matches!(
        plan::take_back_ask(estate.world(), &estate.seat, after.asks[0].ask.id, "b2"),
        Err(Error::NotFound(_))
    ));
    assert!(
        plan::place_visits(estate.world(), &estate.seat, "p3")
            .unwrap()
            .unchanged
    );
}

#[test]
fn access_refused_moves_that_visit_and_where_its_days_do_not_meet_it_is_said() {
    let (estate, _) = placed();
    let before = read(&estate);
    let visit = before
        .visits
        .iter()
        .find(|v| v.unit.number == "EL-012")
        .unwrap();
    let hold = |unit: UnitId, from: chrono::NaiveDate, once: &str| {
        let why = "nobody opened, twice".to_owned();
        plan::ask_of_rounds(
            estate.world(),
            &estate.seat,
            RoundWish::NotBefore { unit, from, why },
            once,
        )
    };
    let on = visit.row.on_day.unwrap();
    hold(visit.unit.id, on + Days::new(1), "h1").unwrap();
    let placing = plan::place_visits(estate.world(), &estate.seat, "p2").unwrap();
    faultless(&estate);
    let after = read(&estate);
    let now = after
        .visits
        .iter()
        .find(|v| v.unit.number == "EL-012")
        .unwrap();
    assert!(now.row.on_day.is_none_or(|d| d > on));
    assert_eq!(placing.moved, 1, "{:?}", after.moves);
    assert!(
        after.moves[0].why.contains("may not be done on that day"),
        "{}",
        after.moves[0].why
    );
    // Its window shuts on 13 March 2027: held back beyond that, the reason is said.
    hold(visit.unit.id, day("2027-04-01"), "h2").unwrap();
    plan::place_visits(estate.world(), &estate.seat, "p3").unwrap();
    let after = read(&estate);
    let now = after
        .visits
        .iter()
        .find(|v| v.unit.number == "EL-012")
        .unwrap();
    let why = now.row.unplaced_why.as_deref().unwrap();
    assert!(why.contains("its days do not meet"), "{why}");
    assert!(matches!(
        hold(visit.unit.id, day("2026-11-25"), "h3"),
        Err(Error::Invalid(_))
    ));
}

#[test]
fn a_promise_stays_whoever_is_away_and_is_named_for_a_person_to_settle() {
    let (estate, who) = placed();
    let before = read(&estate);
    let first = &before.visits[0];
    let on = first.row.on_day.unwrap();
    plan::offer_visit(estate.world(), &estate.seat, first.visit, "o1").unwrap();
    let wish = RoundWish::Away {
        engineer: who,
        from: on,
        until: on,
        why: "a course".to_owned(),
    };
    plan::ask_of_rounds(estate.world(), &estate.seat, wish, "a1").unwrap();
    plan::place_visits(estate.world(), &estate.seat, "p2").unwrap();
    let after = read(&estate);
    let same = after
        .visits
        .iter()
        .find(|v| v.visit == first.visit)
        .unwrap();
    assert_eq!(
        (same.row.on_day, same.row.start_minute),
        (Some(on), first.row.start_minute)
    );
    for breach in plan::round_breaches(estate.world(), &estate.seat).unwrap() {
        assert!(
            breach.promised && breach.rule == Rule::NotWorking,
            "{breach:?}"
        );
    }
}

#[test]
fn the_page_asks_says_what_moved_and_keeps_what_was_typed() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    for n in 0..6_u32 {
        let flat = estate.flat(Some(true));
        let unit = estate.unit("CB", &format!("EL-{n:03}"), flat, None);
        estate.start(unit, "G1", &format!("2027-02-{:02}", 10 + n));
    }
    let who = engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    )
    .to_string();
    let agent = app.signed_in("agent@test");
    assert_eq!(agent.post("/rounds/place", &[("once", "p1")]).status(), 303);
    let plain = |page: String| page.replace('\u{a0}', " ");
    let page = plain(agent.page("/rounds"));
    for said in [
        "Services in date order would be on the road for",
        "left to find",
        "Nobody is away, as far as was said.",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let sick = read(&estate).visits[0].row.on_day.unwrap().to_string();
    let wrong = agent.post(
        "/rounds/away",
        &[
            ("once", "a1"),
            ("away_engineer", who.as_str()),
            ("away_from", "soon"),
            ("why", "not well"),
        ],
    );
    assert_eq!(wrong.status(), 422);
    let typed = wrong.text().unwrap();
    assert!(
        typed.contains("is not a date") && typed.contains("not well"),
        "what was typed stays"
    );
    let fields = [
        ("once", "a2"),
        ("away_engineer", who.as_str()),
        ("away_from", sick.as_str()),
        ("why", "not well"),
    ];
    assert_eq!(agent.post("/rounds/away", &fields).status(), 303);
    let page = plain(agent.page("/rounds"));
    for said in [
        "A. Fitter is away on",
        "not well. Somebody,",
        "because nobody works that day, or the engineer is away",
        "No placing moves fewer.",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let visit = read(&estate).visits[0].visit;
    let held = agent.post(
        &format!("/rounds/{visit}/not-before"),
        &[("once", "h1"), ("not_before", "x"), ("why", "w")],
    );
    assert_eq!(held.status(), 422);
    let held = agent.post(
        &format!("/rounds/{visit}/not-before"),
        &[
            ("once", "h2"),
            ("not_before", "2027-02-05"),
            ("why", "in hospital"),
        ],
    );
    assert_eq!(held.status(), 303);
    assert!(plain(agent.page("/rounds")).contains("before 5 February 2027: in hospital."));
    // Large ones are placed afresh by a task.
    estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.set("round_at_once_visits", "1")?))
        .unwrap();
    assert_eq!(
        agent.post("/rounds/afresh", &[("once", "f1")]).status(),
        303
    );
    assert!(agent.page("/rounds").contains("You can leave this page"));
    let settings = jobs::Settings {
        bank_holidays_url: None,
        worker: "w1".to_owned(),
        mail: None,
        reader: None,
    };
    assert_eq!(jobs::run_queue(estate.world(), &settings), 1);
    assert!(!agent.page("/rounds").contains("You can leave this page"));
    faultless(&estate);
    // Another estate asks nothing of it.
    let other = Estate::over(&app.database.world, "Other Estate");
    person(&other, "other@test", Role::Agent, None);
    let stranger = app.signed_in("other@test");
    assert_eq!(
        stranger
            .post(
                &format!("/rounds/{visit}/not-before"),
                &[("once", "z"), ("not_before", "2027-02-05"), ("why", "w")]
            )
            .status(),
        404
    );
    let ask = read(&estate).asks[0].ask.id;
    assert_eq!(
        stranger
            .post(&format!("/rounds/asks/{ask}/back"), &[("once", "y")])
            .status(),
        404
    );
}
