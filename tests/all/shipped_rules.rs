//! Duty rules shipped since an estate was founded: what is new comes in once, on record; what is stated otherwise is offered and
//! never written over. The rules are invented.
use store::audit::ChainVerdict;
use terms::trade::DutyRule;
use terms::{Role, UnitId};
use usecases::Error;
use usecases::duties;
use usecases::founding;

use crate::work_estate::{AGENT, ANNA, Loop, day, fresh};

const CAME: &str = "estate.audit_entries WHERE act = 'duty rules came with the program'";

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").replace("&#39;", "'")
}

/// What is shipped, and a rule of combi boilers beside it.
fn with_a_new_one() -> Vec<DutyRule> {
    let mut rules = founding::shipped().unwrap().duties;
    let service = rules.iter().find(|r| r.code == "G4").unwrap().clone();
    rules.push(DutyRule {
        code: "X9".to_owned(),
        name: "Seal looked at".to_owned(),
        kinds: vec!["CB".to_owned()],
        as_at: day("2026-11-01"),
        ..service
    });
    rules
}

fn rules_of(estate: &Loop) -> Vec<DutyRule> {
    let world = estate.world();
    world
        .acting(&estate.seat, |tx| Ok::<_, Error>(tx.duty_rules()?))
        .unwrap()
}

fn open_on(estate: &Loop, unit: UnitId, rule: &str) -> i64 {
    estate.count(&format!(
        "estate.duties WHERE rule_code = '{rule}' AND unit_id = '{unit}' AND ended_on IS NULL"
    ))
}

#[test]
fn a_rule_shipped_since_comes_in_once_with_its_duties_and_on_record() {
    let estate = Loop::start();
    // The program's own seat, as the nightly task has it.
    let (world, seat) = (estate.world(), estate.seat.clone());
    // What the estate was founded with is known: nothing comes, nothing is noted.
    assert!(duties::take_in_shipped(world, &seat).unwrap().is_empty());
    assert_eq!(estate.count(CAME), 0);
    let before = rules_of(&estate);
    let rules = with_a_new_one();
    assert_eq!(duties::take_in(world, &seat, &rules).unwrap(), ["X9"]);
    duties::refresh(world, &seat).unwrap();
    assert_eq!(open_on(&estate, estate.boiler, "X9"), 1);
    assert_eq!(open_on(&estate, estate.cylinder, "X9"), 0);
    // Twice: it is there, once.
    assert!(duties::take_in(world, &seat, &rules).unwrap().is_empty());
    duties::refresh(world, &seat).unwrap();
    assert_eq!(open_on(&estate, estate.boiler, "X9"), 1);
    assert_eq!(estate.count("estate.duty_rules WHERE rule_code = 'X9'"), 1);
    assert_eq!(estate.count(CAME), 1);
    let mut now = rules_of(&estate);
    now.retain(|rule| rule.code != "X9");
    assert_eq!(now, before, "no other rule is touched");
    // The day it came stands beside it.
    let page = plain(&estate.client(AGENT).page("/duties/rules/X9"));
    let said = "Came with the program, which ships it since this estate was founded; taken in on 25 November 2026";
    assert!(page.contains(said), "“{said}” is not in {page}");
    let chain = world
        .acting(&estate.seat, |tx| Ok::<_, Error>(tx.verify_chain()?))
        .unwrap();
    assert!(matches!(chain, ChainVerdict::Whole { .. }), "{chain:?}");
    // The clock or the desk, nobody on the road.
    let anna = estate.seat_of(ANNA);
    assert_ne!(anna.role(), Role::Agent);
    assert!(duties::take_in(world, &anna, &rules).is_err());
}

#[test]
fn a_rule_the_desk_stated_is_never_written_over() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let line = |code: &str| {
        let lines = duties::rule_lines(estate.world(), &estate.seat).unwrap();
        lines.into_iter().find(|l| l.rule.code == code).unwrap()
    };
    let form = [
        ("once", "s"),
        ("read", &line("G4").read()),
        ("window_rule", "W3"),
        ("months", "6"),
        ("basis", "contract"),
        ("status", "contract read"),
        ("evidence", "sheet"),
        ("as_at", "2026-11-20"),
        ("note", "The contract says twice a year."),
    ];
    assert_eq!(agent.post("/duties/rules/G4", &form).status(), 303);
    let stated = line("G4").rule;
    assert_eq!(stated.months, 6);
    // Shipped otherwise meanwhile, and for a later day.
    let mut rules = with_a_new_one();
    for rule in rules.iter_mut().filter(|r| r.code == "G4") {
        (rule.months, rule.as_at) = (24, day("2026-11-24"));
    }
    let came = duties::take_in(estate.world(), &estate.seat, &rules).unwrap();
    assert_eq!(came, ["X9"]);
    assert_eq!(line("G4").rule, stated);
    assert_eq!(estate.count("estate.duty_rules WHERE rule_code = 'G4'"), 2);
    // What is shipped stands for an earlier day than the desk's word: nothing is offered.
    assert_eq!(line("G4").offered, None);
    assert!(
        !agent
            .page("/duties/rules/G4")
            .contains("As the program ships it")
    );
}

/// A rule that came with an earlier program, other than this one ships it, is offered; the desk takes it by one press, once.
#[test]
fn a_rule_an_earlier_program_shipped_otherwise_is_offered() {
    let estate = Loop::start();
    let shipped = founding::shipped().unwrap().duties;
    let shipped = shipped.into_iter().find(|r| r.code == "G4").unwrap();
    let earlier = DutyRule {
        months: 24,
        as_at: day("2025-01-01"),
        ..shipped.clone()
    };
    estate
        .world()
        .acting(&estate.seat, |tx| {
            tx.supersede_duty_rule("G4")?;
            tx.add_duty_rule(&earlier, "")?;
            Ok::<_, Error>(())
        })
        .unwrap();
    let came = duties::take_in_shipped(estate.world(), &estate.seat).unwrap();
    assert!(came.is_empty(), "what is known is not written over");
    let agent = estate.client(AGENT);
    assert!(plain(&agent.page("/duties/rules")).contains("The program ships it otherwise"));
    let page = plain(&agent.page("/duties/rules/G4"));
    assert!(
        page.contains("As the program ships it") && page.contains("every 24 months"),
        "{page}"
    );
    let lines = duties::rule_lines(estate.world(), &estate.seat).unwrap();
    let read = lines.iter().find(|l| l.rule.code == "G4").unwrap().read();
    let take = |read: &str, once: &str| {
        agent.post(
            "/duties/rules/G4/shipped",
            &[("once", once), ("read", read)],
        )
    };
    assert_eq!(take("0 long ago", &fresh()).status(), 409);
    assert_eq!(take(&read, "t").status(), 303);
    assert_eq!(take(&read, "t").status(), 303, "the same post again");
    assert_eq!(take(&read, &fresh()).status(), 409, "stated in between");
    let stands = rules_of(&estate).into_iter().find(|r| r.code == "G4");
    assert_eq!(stands, Some(shipped));
    assert_eq!(estate.count("estate.duty_rules WHERE rule_code = 'G4'"), 3);
    assert_eq!(
        estate.count("estate.audit_entries WHERE act = 'duty rule stated'"),
        1
    );
    assert!(!plain(&agent.page("/duties/rules/G4")).contains("State it so"));
    let anna = estate.client(ANNA);
    let refused = anna.post(
        "/duties/rules/G4/shipped",
        &[("once", "x"), ("read", read.as_str())],
    );
    assert_eq!(refused.status(), 404);
}

/// The nightly task brings them in before it looks at the units.
#[test]
fn the_nightly_look_at_the_duties_takes_in_what_is_shipped() {
    let estate = Loop::start();
    let settings = jobs::Settings {
        worker: "w1".to_owned(),
        ..jobs::Settings::default()
    };
    // Founded before the flushing of little-used outlets was shipped: its rule is not there.
    estate.forget_rule("L10");
    assert!(!rules_of(&estate).iter().any(|r| r.code == "L10"));
    let id = estate.seat.estate();
    for round in 0..2 {
        assert!(jobs::enqueue(estate.world(), id, "due_list").unwrap());
        assert_eq!(jobs::run_queue(estate.world(), &settings), 1, "{round}");
        assert!(rules_of(&estate).iter().any(|r| r.code == "L10"));
        assert_eq!(estate.count(CAME), 1, "{round}");
    }
    let tasks = usecases::tasks::recent(estate.world(), &estate.seat, 10).unwrap();
    let told: Vec<&str> = tasks.iter().filter_map(|t| t.progress.as_deref()).collect();
    assert!(
        told.iter()
            .any(|words| words.contains("duty rules came with the program: L10")),
        "{told:?}"
    );
}
