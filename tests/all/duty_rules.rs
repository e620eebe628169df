//! Duty rules as dated data: stated anew by the desk with errors at the fields, what held before kept, the dates reckoned
//! and explained; a duty no kind has by itself opened where it holds.
use usecases::Error;
use usecases::duties;

use crate::work_estate::{AGENT, ANNA, Loop, day, fresh};

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").replace("&#39;", "'")
}

/// The mark of the statement in force, as the form carries it.
fn mark(estate: &Loop, code: &str) -> String {
    let lines = duties::rule_lines(estate.world(), &estate.seat).unwrap();
    lines
        .into_iter()
        .find(|l| l.rule.code == code)
        .unwrap()
        .read()
}

fn deadline(estate: &Loop, code: &str) -> (chrono::NaiveDate, String) {
    let duty = estate.duty(estate.boiler, code);
    let rows = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.completions_of(&[duty], false)?)
        })
        .unwrap();
    let last = rows.last().unwrap();
    (last.next_deadline.unwrap(), last.reason.clone())
}

#[test]
fn a_rule_stated_anew_moves_what_is_open_and_leaves_what_was_met() {
    let estate = Loop::start();
    for done in ["2024-03-10", "2025-03-10", "2026-03-10"] {
        estate
            .world()
            .acting(&estate.seat, |tx| {
                let done = duties::Done {
                    on: day(done),
                    check_complete: true,
                    job: None,
                    evidence: "sheet".to_owned(),
                };
                duties::complete(tx, estate.boiler, "G4", &done)
            })
            .unwrap();
    }
    assert_eq!(deadline(&estate, "G4").0, day("2027-03-10"));
    let kept = "estate.duty_completions WHERE superseded_at IS NULL AND result = 'late'";
    assert_eq!(estate.count(kept), 0);
    let agent = estate.client(AGENT);
    assert!(agent.page("/facts?about=duties").contains("/duties/rules"));
    let read = mark(&estate, "G4");
    let form = |months: &str, as_at: &str, note: &str, read: &str| {
        agent.post(
            "/duties/rules/G4",
            &[
                ("once", fresh().as_str()),
                ("read", read),
                ("window_rule", "W3"),
                ("months", months),
                ("basis", "contract"),
                ("status", "maintenance contract, clause 4, read"),
                ("evidence", "service sheet"),
                ("as_at", as_at),
                ("note", note),
            ],
        )
    };
    for (months, as_at, note, said) in [
        ("none", "2026-11-20", "contract", "Give whole months"),
        ("6", "", "contract", "from which day on"),
        ("6", "2026-12-20", "contract", "once it holds, not before"),
        ("6", "2020-01-01", "contract", "stated for a later day"),
        ("6", "2026-11-20", "", "Say what changed"),
    ] {
        let wrong = form(months, as_at, note, &read);
        assert_eq!(wrong.status(), 422, "{said}");
        let page = plain(&wrong.text().unwrap());
        assert!(page.contains(said), "“{said}” is not said: {page}");
        assert!(
            page.contains("maintenance contract, clause 4, read"),
            "what was typed stays"
        );
    }
    assert_eq!(
        estate.count("estate.duty_rules WHERE superseded_at IS NOT NULL"),
        0
    );
    assert_eq!(
        form("6", "2026-11-20", "The contract says twice a year.", &read).status(),
        303
    );
    let (next, why) = deadline(&estate, "G4");
    assert_eq!(
        next,
        day("2026-09-10"),
        "six months after the round's last date: {why}"
    );
    assert!(
        why.contains("10 September 2026"),
        "the date explains itself: {why}"
    );
    assert_eq!(
        estate.count(kept),
        0,
        "what was met by the old rule is not late by the new one"
    );
    let page = plain(&agent.page("/duties/rules/G4"));
    for said in [
        "Basis: contract. How it is known: maintenance contract, clause 4, read. As at 20 November 2026.",
        "The contract says twice a year; written by Ada Agent",
        "Held before",
        "as shipped",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    let stale = form("3", "2026-11-21", "again", &read);
    assert_eq!(stale.status(), 409, "it was stated in between");
    let told = "estate.audit_entries WHERE act = 'duty rule stated'";
    assert_eq!(estate.count(told), 1);
    // Who works on the road states no rules, and the gas check keeps its date.
    assert_eq!(estate.client(ANNA).get("/duties/rules").status(), 404);
    let gas = agent.post(
        "/duties/rules/G1",
        &[
            ("once", fresh().as_str()),
            ("read", &mark(&estate, "G1")),
            ("window_rule", "W2"),
            ("months", "24"),
            ("basis", "law"),
            ("status", "x"),
            ("evidence", "x"),
            ("as_at", "2026-11-20"),
            ("note", "x"),
        ],
    );
    assert_eq!(gas.status(), 422);
    assert!(plain(&gas.text().unwrap()).contains("gas safety check keeps its date"));
}

#[test]
fn a_rule_is_stated_anew_only_as_its_law_lets_it() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let state = |code: &str, window: &str, months: &str| {
        agent.post(
            &format!("/duties/rules/{code}"),
            &[
                ("once", fresh().as_str()),
                ("read", &mark(&estate, code)),
                ("window_rule", window),
                ("months", months),
                ("basis", "law"),
                ("status", "the page that was read"),
                ("evidence", "record"),
                ("as_at", "2026-11-20"),
                ("note", "a test"),
            ],
        )
    };
    // The two months that keep the date are the gas safety check's alone (regulation 36A, law text read).
    for (code, window, months, said) in [
        ("G4", "W1", "12", "Only a duty whose law keeps its date"),
        ("E1", "W1", "12", "Only a duty whose law keeps its date"),
        ("V1", "W2", "12", "follow from what each test shows"),
        ("V1", "W3", "6", "follows from what each test shows"),
        ("G4", "W4", "12", "Choose how its dates come"),
    ] {
        let wrong = state(code, window, months);
        assert_eq!(wrong.status(), 422, "{code} as {window}");
        let page = plain(&wrong.text().unwrap());
        assert!(page.contains(said), "{code}: “{said}” is not said");
        assert!(
            page.contains("the page that was read"),
            "what was typed stays"
        );
    }
    let none = "estate.duty_rules WHERE superseded_at IS NOT NULL";
    assert_eq!(estate.count(none), 0);
    // What stands may stay while the rest is stated anew: an event, a care valve's own clock.
    for (code, window, months) in [("N1", "W4", "1"), ("V1", "W3", "12"), ("G1", "W1", "12")] {
        let chosen = format!("value=\"{window}\" selected");
        let page = agent.page(&format!("/duties/rules/{code}"));
        assert!(page.contains(&chosen), "{code}: {window} is not chosen");
        assert_eq!(page.contains("value=\"W1\""), code == "G1", "{code}");
        assert_eq!(state(code, window, months).status(), 303, "{code}");
    }
    assert_eq!(estate.count(none), 3);
    let page = plain(&agent.page("/duties/rules/N1"));
    assert!(
        page.contains("Registration of the heat network by W4, once."),
        "{page}"
    );
    let monthly = plain(&agent.page("/duties/rules/L2"));
    assert!(monthly.contains("every 1 month."), "{monthly}");
    for page in [&monthly, &plain(&agent.page("/duties/rules"))] {
        assert!(!page.contains(" 1 months"), "{page}");
    }
}

/// Regulation on electrical safety (trade file on duties, E1): the inspection is of the home, whichever unit stands in it.
#[test]
fn a_duty_opened_by_hand_holds_once_a_home_and_outlives_its_unit() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let valve = estate
        .world()
        .acting(&estate.seat, |tx| {
            let card = crate::work_estate::unit_card("AH-14-2", "TMV", estate.flat);
            Ok::<_, Error>(tx.add_unit(&card, None)?)
        })
        .unwrap();
    let post = |unit: terms::UnitId, rule: &str, deadline: &str| {
        agent.post(
            &format!("/duties/{unit}/open"),
            &[
                ("once", fresh().as_str()),
                ("rule", rule),
                ("deadline", deadline),
            ],
        )
    };
    for (rule, deadline) in [("E1", "2031-06-03"), ("E3", ""), ("P1", "2027-05-01")] {
        assert_eq!(post(estate.boiler, rule, deadline).status(), 303, "{rule}");
    }
    let twice = post(valve, "E1", "");
    assert_eq!(twice.status(), 409);
    assert!(plain(&twice.text().unwrap()).contains("in this home already, on AH-14-1"));
    let offered = plain(&agent.page(&format!("/duties/{valve}/open")));
    assert!(
        !offered.contains("E1 Inspection and test of the fixed wiring") && offered.contains("E3 ")
    );
    assert_eq!(
        post(estate.cylinder, "E1", "").status(),
        303,
        "another home"
    );
    // The combi goes, a regular boiler comes: the home's duties go on, the scheme of the old plant does not.
    let job = estate.annas(terms::JobKind::Replacement, estate.boiler, Vec::new());
    let sheet = crate::visit_sheet::good_service()
        .with("new.kind", "GB")
        .with("new.serial", "N-90")
        .with("soft.photo_missing", "Sent by mail.")
        .with("old_fate", "written_off");
    crate::visit_sheet::submit(&estate, job, &sheet).unwrap();
    let new = estate
        .world()
        .acting(&estate.seat, |tx| {
            let units = tx.units(store::units::Which::Space(estate.flat))?;
            Ok::<_, Error>(units.into_iter().find(|u| u.kind == "GB").expect("it came"))
        })
        .unwrap();
    let rows_of = |rule: &str| {
        let duty = estate.duty(new.id, rule);
        estate
            .world()
            .acting(&estate.seat, |tx| {
                Ok::<_, Error>(tx.completions_of(&[duty], false)?)
            })
            .unwrap()
    };
    let wiring = rows_of("E1");
    assert_eq!(wiring.len(), 1);
    assert_eq!(wiring[0].next_deadline, Some(day("2031-06-03")));
    let why = plain(&wiring[0].reason);
    assert!(
        why.contains("Handed on from AH-14-1") && why.contains("3 June 2031"),
        "{why}"
    );
    assert!(
        rows_of("E3").is_empty(),
        "no date was known, none is known now"
    );
    let scheme = format!(
        "estate.duties WHERE rule_code = 'P1' AND unit_id = '{}'",
        new.id
    );
    assert_eq!(estate.count(&scheme), 0);
    let open = "estate.duties WHERE rule_code = 'E1' AND ended_on IS NULL";
    assert_eq!(estate.count(open), 2, "one a home");
    duties::refresh(estate.world(), &estate.seat).unwrap();
    assert_eq!(estate.count(open), 2);
}

#[test]
fn the_wiring_check_is_opened_where_it_holds() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let to = format!("/duties/{}/open", estate.boiler);
    let post = |rule: &str, deadline: &str| {
        agent.post(
            &to,
            &[
                ("once", fresh().as_str()),
                ("rule", rule),
                ("deadline", deadline),
            ],
        )
    };
    assert!(
        plain(&agent.page(&to))
            .contains("E1 Inspection and test of the fixed wiring of a let home (law)")
    );
    let none = post("", "2026-09-03");
    assert_eq!(none.status(), 422);
    let page = none.text().unwrap();
    assert!(page.contains("Choose which duty holds here") && page.contains("2026-09-03"));
    assert_eq!(
        post("G4", "").status(),
        422,
        "a kind's own rule is not opened by hand"
    );
    // DUTIES section 3, E1: report of 3 September 2021, due by 3 September 2026.
    assert_eq!(post("E1", "2026-09-03").status(), 303);
    assert_eq!(post("E1", "").status(), 409, "once is enough");
    let shown = plain(&agent.page(&format!("/duties/{}", estate.boiler)));
    assert!(
        shown.contains("Inspection and test of the fixed wiring of a let home"),
        "{shown}"
    );
    assert!(shown.contains("3 September 2026"));
    // Tested three months early: five years from then (the same page).
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let done = duties::Done {
                on: day("2026-06-03"),
                check_complete: true,
                job: None,
                evidence: "report 9".to_owned(),
            };
            duties::complete(tx, estate.boiler, "E1", &done)
        })
        .unwrap();
    assert_eq!(deadline(&estate, "E1").0, day("2031-06-03"));
    duties::refresh(estate.world(), &estate.seat).unwrap();
    estate.duty(estate.boiler, "E1");
}
