//! The loose ends of duties: events with a time of their own, a first check lined up, reviews, care valves, one bearer a
//! building, and that every date says itself.
use chrono::NaiveDate;
use inspection::calendar::date_words;
use terms::place::SpaceCard;
use terms::{LevelId, Role, SpaceId, UnitId, UsedAs};
use usecases::Error;
use usecases::duties::{self, EnterEvent, EventDone, MixingTest, Standing, TakeBackEvent, Trigger};
use usecases::founding::{self, NewPerson};
use uuid::Uuid;

use crate::duties::{Estate, day};
use crate::support::{TestApp, TestDatabase};

fn event(estate: &Estate, happening: &str, space: Option<SpaceId>, on: &str) -> EnterEvent {
    EnterEvent {
        happening: happening.to_owned(),
        building: estate.building,
        space,
        on: day(on),
        period_days: None,
        words: String::new(),
    }
}

fn fields(error: Error) -> Vec<String> {
    match error {
        Error::Invalid(wrongs) => wrongs.into_iter().map(|w| w.field).collect(),
        other => panic!("{other}"),
    }
}

// Days after an event: trade file on duties, table 2 and section 3 (law text and published pages), counted by hand.
#[test]
fn an_event_raises_what_follows_with_its_day() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let enter = |form: EnterEvent, once: &str| {
        duties::enter_event(estate.world(), &estate.seat, form, once)
    };
    // A tenancy begins on 1 December: the record before or on it, the alarms on the day.
    assert_eq!(
        enter(
            event(&estate, "tenancy_begins", Some(flat), "2026-12-01"),
            "t1"
        )
        .unwrap()
        .len(),
        2
    );
    enter(
        event(&estate, "tenancy_begins", Some(flat), "2026-12-01"),
        "t1",
    )
    .unwrap();
    let cases = [
        ("gas_check_made", "2026-02-12", "2026-03-12"),
        ("dangerous_gas_fitting", "2026-02-12", "2026-02-26"),
        ("council_asks", "2026-11-20", "2026-11-27"),
        ("wiring_put_right", "2026-11-01", "2026-11-29"),
        ("flat_empty", "2026-11-20", "2026-11-27"),
    ];
    for (n, (happening, on, _)) in cases.iter().enumerate() {
        enter(event(&estate, happening, Some(flat), on), &format!("c{n}")).unwrap();
    }
    // Faults found on 4 August: 28 days starting with that day end on 31 August; a report may shorten, here to 14.
    let report = EnterEvent {
        period_days: Some(14),
        ..event(&estate, "wiring_inspected", Some(flat), "2026-08-04")
    };
    enter(report, "w").unwrap();
    let lines = duties::event_lines(estate.world(), &estate.seat).unwrap();
    assert_eq!(lines.len(), 2 + 5 + 2, "each once");
    let due = |code: &str| {
        let line = lines.iter().find(|l| l.duty.event == code).unwrap();
        assert!(
            line.duty.sentence.contains(&date_words(line.duty.due_on)),
            "{}",
            line.duty.sentence
        );
        assert!(!line.basis.is_empty() && !line.status.is_empty());
        line.duty.due_on
    };
    assert_eq!(due("gas_record_to_new_tenant"), day("2026-12-01"));
    assert_eq!(due("alarm_test_new_tenancy"), day("2026-12-01"));
    for (code, (_, _, by)) in [
        "gas_record_to_existing_tenant",
        "riddor_report",
        "eicr_copy_to_council",
        "eicr_proof_to_tenant",
        "void_first_flush",
    ]
    .iter()
    .zip(cases)
    {
        assert_eq!(due(code), day(by), "{code}");
    }
    assert_eq!(due("eicr_remedy"), day("2026-08-17"));
    assert_eq!(due("eicr_copy_to_tenant"), day("2026-09-01"));
    let late = lines
        .iter()
        .find(|l| l.duty.event == "riddor_report")
        .unwrap();
    // From 26 February to 25 November 2026, by hand: 2 + 31 + 30 + 31 + 30 + 31 + 31 + 30 + 31 + 25.
    assert_eq!(late.days_late, 272);
}

#[test]
fn an_event_is_done_with_evidence_or_taken_back_with_a_reason() {
    let estate = Estate::new();
    let flat = estate.flat(Some(true));
    let world = estate.world();
    let ids = duties::enter_event(
        world,
        &estate.seat,
        event(&estate, "tenancy_begins", Some(flat), "2026-11-24"),
        "t1",
    )
    .unwrap();
    let done = |id, on: &str, evidence: &str, once: &str| {
        let form = EventDone {
            id,
            on: day(on),
            evidence: evidence.to_owned(),
        };
        duties::event_done(world, &estate.seat, form, once)
    };
    assert_eq!(
        fields(done(ids[0], "2026-11-26", " ", "d1").unwrap_err()),
        ["on", "evidence"]
    );
    done(ids[0], "2026-11-25", "handed over, signed for", "d2").unwrap();
    done(ids[0], "2026-11-25", "handed over, signed for", "d2").unwrap();
    assert!(matches!(
        done(ids[0], "2026-11-25", "again", "d3"),
        Err(Error::Conflict(_))
    ));
    let back = |reason: &str, once: &str| {
        let form = TakeBackEvent {
            id: ids[1],
            reason: reason.to_owned(),
        };
        duties::take_back_event(world, &estate.seat, form, once)
    };
    assert_eq!(fields(back("", "b1").unwrap_err()), ["reason"]);
    back("the tenancy fell through", "b2").unwrap();
    let lines = duties::event_lines(world, &estate.seat).unwrap();
    assert_eq!(lines.len(), 1, "what was taken back is not due");
    assert_eq!(
        lines[0].days_late, 1,
        "done a day late, and that stays said"
    );
    let nowhere = event(&estate, "tenancy_begins", None, "2026-11-24");
    assert_eq!(
        fields(duties::enter_event(world, &estate.seat, nowhere, "n1").unwrap_err()),
        ["space"]
    );
    let moon = event(&estate, "moon_landing", Some(flat), "2026-11-24");
    assert_eq!(
        fields(duties::enter_event(world, &estate.seat, moon, "n2").unwrap_err()),
        ["happening"]
    );
    let stranger = founding::found_estate(world, "Other Estate", false).unwrap();
    let theirs = event(&estate, "flat_empty", Some(flat), "2026-11-24");
    assert!(matches!(
        duties::enter_event(world, &stranger, theirs, "s1"),
        Err(Error::NotFound(_))
    ));
    assert!(duties::event_lines(world, &stranger).unwrap().is_empty());
}

// Scheme D 08 and three makers' manuals (published pages): 6 to 8, 12 to 15, then 18 to 21 or 24 to 28 weeks after
// fitting. Fitted on 5 January 2026; weeks counted by hand.
#[test]
fn a_care_valve_is_tested_by_what_was_found() {
    for (moved, third) in [
        ([0.4, -0.8], "2026-07-20"),
        ([0.4, 2.5], "2026-06-01"),
        ([1.5, -1.5], "2026-06-01"),
    ] {
        let estate = Estate::new();
        let flat = estate.flat(None);
        let valve = estate.unit("TMV", "EL-001", flat, Some("2026-01-05"));
        let duty = duties::start_mixing_tests(estate.world(), &estate.seat, valve, "v1").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day("2026-03-02")));
        let test = |on: &str, moved_k: f64, once: &str| {
            let form = MixingTest {
                duty,
                on: day(on),
                moved_k,
                evidence: "record 4".to_owned(),
            };
            duties::record_mixing_test(estate.world(), &estate.seat, form, once)
        };
        test("2026-02-20", moved[0], "a").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day("2026-04-20")));
        // Too early for the second, which may first be made on 30 March: it stays due.
        test("2026-03-20", 0.0, "early").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day("2026-04-20")));
        test("2026-04-10", moved[1], "b").unwrap();
        assert_eq!(estate.deadline(valve, "V1"), Some(day(third)), "{moved:?}");
        let after = day(third);
        test(third, 0.0, "c").unwrap();
        assert_eq!(
            estate.deadline(valve, "V1"),
            Some(inspection::calendar::add_months(after, 12))
        );
        // The clock's own task leaves what the desk opened.
        duties::refresh(estate.world(), &estate.seat).unwrap();
        assert!(estate.proved(valve, "V1").card.ended_on.is_none());
        assert!(matches!(
            duties::start_mixing_tests(estate.world(), &estate.seat, valve, "v2"),
            Err(Error::Conflict(_))
        ));
    }
    let estate = Estate::new();
    let flat = estate.flat(None);
    let undated = estate.unit("TMV", "EL-009", flat, None);
    assert!(matches!(
        duties::start_mixing_tests(estate.world(), &estate.seat, undated, "v3"),
        Err(Error::Conflict(_))
    ));
}

fn tank(estate: &Estate, number: &str) -> UnitId {
    let roof = SpaceCard {
        id: SpaceId(Uuid::nil()),
        building: estate.building,
        building_name: String::new(),
        level: LevelId(estate.level.0),
        ordinal: 0,
        place: 90,
        name: format!("Roof {number}"),
        used_as: UsedAs::Roof,
        stair: None,
        let_short: None,
        site: serde_json::json!({}),
    };
    let roof = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.add_space(&roof, None)?)
        })
        .unwrap();
    estate.unit("CT", number, roof, None)
}

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
    let database = TestDatabase::new();
    let world = &database.world;
    seed_demo::fill(world).unwrap().expect("an empty database");
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
                line.unit.number
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

#[test]
fn the_desk_does_all_of_it_on_its_pages() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    for (email, role) in [("agent@ends", Role::Agent), ("owner@ends", Role::Landlord)] {
        let person = NewPerson {
            email: format!("{email}.test"),
            name: "Somebody".to_owned(),
            password: usecases::door::DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: estate.seat.estate(),
            role,
            firm: None,
            buildings: None,
        };
        founding::add_person(estate.world(), &person).unwrap();
    }
    let (agent, owner) = (
        app.signed_in("agent@ends.test"),
        app.signed_in("owner@ends.test"),
    );
    let flat = estate.flat(Some(true));
    let old = estate.unit("GB", "EL-001", flat, None);
    estate.start(old, "G1", "2027-07-20");
    let new = estate.unit("CB", "EL-002", flat, Some("2026-06-01"));
    let page = agent.page("/duties").replace('\u{a0}', " ");
    assert!(
        page.contains("It can line up once with 20 July 2027"),
        "{page}"
    );
    assert!(page.contains("Line it up with 20 July"));
    assert!(
        !owner.page("/duties").contains("line up"),
        "it is the desk's to say"
    );
    let duty = estate.proved(new, "G1").card.id.to_string();
    let at = format!("/duties/{new}/line-up");
    assert_eq!(
        owner.post(&at, &[("once", "x"), ("duty", &duty)]).status(),
        404
    );
    assert_eq!(
        agent.post(&at, &[("once", "l1"), ("duty", &duty)]).status(),
        303
    );
    assert_eq!(
        agent.post(&at, &[("once", "l2"), ("duty", &duty)]).status(),
        409
    );
    assert_eq!(estate.deadline(new, "G1"), Some(day("2027-07-20")));
    let proof = agent.page(&format!("/duties/{new}")).replace('\u{a0}', " ");
    assert!(proof.contains("moved once to line up with the flat") && !proof.contains("Line it up"));

    let events = |fields: &[(&str, &str)]| agent.post("/duties/events", fields);
    let building = estate.building.to_string();
    let space = flat.to_string();
    let form = |on: &'static str, once: &'static str| {
        vec![
            ("once", once),
            ("building", building.as_str()),
            ("space", space.as_str()),
            ("happening", "tenancy_begins"),
            ("on", on),
            ("words", "keys on Friday"),
        ]
    };
    let wrong = events(&form("soon", "e1"));
    assert_eq!(wrong.status(), 422);
    let kept = wrong.text().unwrap();
    assert!(kept.contains("is not a date") && kept.contains("keys on Friday"));
    assert_eq!(events(&form("2026-12-04", "e2")).status(), 303);
    let list = agent.page("/duties/events").replace('\u{a0}', " ");
    assert!(
        list.contains("alarms tested by Friday 4 December 2026."),
        "{list}"
    );
    let id = duties::event_lines(estate.world(), &estate.seat).unwrap()[0]
        .duty
        .id;
    let at = format!("/duties/events/{id}/done");
    assert_eq!(owner.get(&format!("/duties/events/{id}")).status(), 404);
    assert_eq!(
        agent
            .post(
                &at,
                &[("once", "d1"), ("on", "2026-11-25"), ("evidence", "")]
            )
            .status(),
        422
    );
    let done = [
        ("once", "d2"),
        ("on", "2026-11-25"),
        ("evidence", "handed over"),
    ];
    assert_eq!(agent.post(&at, &done).status(), 303);
    assert_eq!(agent.get("/duties/events/nonsense").status(), 404);

    let valve = estate.unit("TMV", "EL-003", flat, Some("2026-11-02"));
    let page = agent.page(&format!("/duties/{valve}"));
    assert!(page.contains("It serves somebody in care"));
    assert_eq!(
        agent
            .post(&format!("/duties/{valve}/care"), &[("once", "v1")])
            .status(),
        303
    );
    let page = agent
        .page(&format!("/duties/{valve}"))
        .replace('\u{a0}', " ");
    assert!(
        page.contains("Enter a test") && page.contains("28 December 2026"),
        "eight weeks on"
    );
    let duty = estate.proved(valve, "V1").card.id.to_string();
    let test = |moved: &str, once: &str| {
        agent.post(
            &format!("/duties/{valve}/test"),
            &[
                ("once", once),
                ("duty", &duty),
                ("on", "2026-11-25"),
                ("moved_k", moved),
                ("evidence", "r 1"),
            ],
        )
    };
    assert_eq!(test("a bit", "m1").status(), 422);
    assert_eq!(test("−0,5", "m2").status(), 303);
    let tank = tank(&estate, "EL-T1");
    let duty = estate.proved(tank, "L1").card.id.to_string();
    let review = agent.post(
        &format!("/duties/{tank}/review"),
        &[
            ("once", "r1"),
            ("duty", &duty),
            ("on", "2026-11-24"),
            ("words", "a new tank lid"),
        ],
    );
    assert_eq!(review.status(), 303);
    assert_eq!(
        agent
            .get(&format!("/duties/{tank}/test?duty={duty}"))
            .status(),
        404,
        "no valve"
    );
}
