//! A yearly service finds a failing part: readings lead to findings, the ranking, the best test and
//! the way the visit may end. Figures are common practice without a source; the scenario is ours.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::completion::{self, FunctionLost, Outcome, Sheet, gas_part};
use inspection::findings::{EarlierVisit, VisitFindings, VisitInput, at_visit};
use inspection::readings::{read_fields, set_for, tests_for};
use inspection::suspects::{RankQuery, rank};
use inspection::{Level, RuleBook, Values};

fn book() -> &'static RuleBook {
    RuleBook::shipped().expect("the shipped book")
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

fn service() -> Values {
    let typed = [
        ("working_mbar", "20.1"),
        ("co_ppm", "62"),
        ("co2_percent", "9,1"),
        ("flow_c", "68"),
        ("return_c", "52"),
        ("cold_c", "9"),
        ("hot_c", "36"),
        ("flow_lpm", "11"),
        ("cold_bar", "1.2"),
        ("hot_bar", "1.8"),
        ("charge_bar", "0.75"),
        ("condensate_clear", "yes"),
        ("inhibitor_ppm", ""),
        ("co_alarm_works", "yes"),
        ("flow_pipe_start_c", "24"),
        ("flow_pipe_end_c", "71"),
    ];
    read_fields(book(), "CB", typed).expect("plausible entries")
}

fn visit(readings: &Values) -> VisitFindings {
    let last = Values::new()
        .with("cold_c", 8.0)
        .with("hot_c", 42.0)
        .with("flow_lpm", 11.0);
    let earlier = [EarlierVisit {
        on: day("2026-03-03"),
        readings: last,
    }];
    let plate = Values::new()
        .with("rated_kw", 30.0)
        .with("vessel_setting_bar", 0.75);
    let calibrated = [
        ("co_ppm".to_owned(), day("2027-01-31")),
        ("hot_rise_and_flow".to_owned(), day("2026-11-11")),
    ];
    at_visit(
        book(),
        &VisitInput {
            kind: "CB",
            on: day("2026-11-12"),
            first_service: false,
            service: true,
            readings,
            earlier: &earlier,
            plate: &plate,
            site: &Values::new(),
            makers: &BTreeMap::new(),
            calibrated_until: &BTreeMap::from(calibrated),
            next_due: Some(day("2027-11-12")),
            work_recorded_since_last: false,
        },
    )
    .expect("a visit that can be judged")
}

fn codes(found: &VisitFindings) -> Vec<&str> {
    found.findings.iter().map(|f| f.code.as_str()).collect()
}

/// A figure typed as 0 that others are divided by is a finding of its own; the rest of the sheet is judged all the same.
#[test]
fn carbon_dioxide_of_nought_is_said_and_stops_nothing() {
    let found = visit(&service().with("co2_percent", 0.0));
    let codes = codes(&found);
    assert!(codes.contains(&"A6_INVALID"), "{codes:?}");
    assert!(codes.contains(&"A1_LOW_RISE"), "{codes:?}");
}

#[test]
fn the_diverter_comes_first_and_a_test_is_named() {
    let found = visit(&service());
    assert_eq!(
        codes(&found),
        [
            "A1_LOW_RISE",
            "A2_DIVERTER",
            "TREND",
            "CALIBRATION_OUT",
            "MISSING"
        ]
    );
    assert_eq!(found.gravest(), Level::Act);
    assert_eq!(
        found.findings[0].sentence,
        "The water rises 27 K at 11 l/min; 35 K is expected. Judge the diverter valve first, then the hot-water plate."
    );
    assert!(
        found.findings[2]
            .sentence
            .starts_with("The rise of the hot water is 27 K; it was 34 K on 3 March 2026."),
        "{}",
        found.findings[2].sentence
    );
    assert_eq!(
        found.findings[4].sentence,
        "Inhibitor: not measured at this visit."
    );
    assert_eq!(found.seen, ["flow_pipe_heats", "rise_low"]);
    assert!(found.not_seen.contains(&"gauge_low".to_owned()));
    let ranking = rank(
        book(),
        &RankQuery {
            unit_kind: "CB".to_owned(),
            seen: found.seen.clone(),
            not_seen: found.not_seen,
            ..RankQuery::default()
        },
    )
    .expect("a ranking");
    assert_eq!(ranking.top3[..2], ["diverter_valve", "dhw_plate"]);
    assert_eq!(ranking.take, ["diverter_valve"]);
    assert!(ranking.best_test_words.is_some());
}

#[test]
fn a_cool_pipe_points_to_the_plate() {
    let mut readings = service();
    readings.set("flow_pipe_end_c", 26.0);
    let found = visit(&readings);
    assert_eq!(found.seen, ["rise_low"]);
    assert!(found.not_seen.contains(&"flow_pipe_heats".to_owned()));
    let query = RankQuery {
        unit_kind: "CB".to_owned(),
        seen: found.seen,
        not_seen: found.not_seen,
        ..RankQuery::default()
    };
    assert_eq!(
        rank(book(), &query).expect("a ranking").top3[0],
        "dhw_plate"
    );
}

#[test]
fn the_sheet_closes_only_when_proved() {
    let readings = service();
    let found = visit(&readings);
    let mut sheet = Sheet::on(day("2026-11-12"));
    sheet.gas_work = true;
    sheet.engineer = Some(completion::Engineer {
        registration_number: Some("123456".to_owned()),
        category_covers_unit: Some(true),
        valid_until: Some(day("2027-03-31")),
    });
    sheet.gas = Some(gas_part(&found, &readings, None, Some(day("2027-01-31"))));
    sheet.function_lost = Some(FunctionLost {
        function: Some("hot water".to_owned()),
        works_after: None,
    });
    let open = completion::check(&sheet).expect("checked");
    assert_eq!(open.hard_blocks, [9]);
    assert!(!open.allowed_outcomes.contains(&Outcome::Complete));
    assert_eq!(
        completion::words_for(book(), &open),
        ["The function that was lost has not been tested again and found working."]
    );
    sheet.function_lost = Some(FunctionLost {
        function: Some("hot water".to_owned()),
        works_after: Some(true),
    });
    assert!(completion::check(&sheet).expect("checked").complete_allowed);
}

// JOB section 14, question 21: closing with CO/CO₂ of 0.0044 (READINGS E10) is refused, and nobody
// may override it.
#[test]
fn a_bad_ratio_cannot_be_closed_over() {
    let mut readings = service();
    readings.set("co_ppm", 400.0);
    readings.set("co2_percent", 9.0);
    let found = visit(&readings);
    assert_eq!(found.gravest(), Level::Stop);
    let mut sheet = Sheet::on(day("2026-11-12"));
    sheet.gas_work = true;
    sheet.engineer = Some(completion::Engineer {
        registration_number: Some("123456".to_owned()),
        category_covers_unit: Some(true),
        valid_until: Some(day("2027-03-31")),
    });
    sheet.gas = Some(gas_part(&found, &readings, None, Some(day("2027-01-31"))));
    sheet.override_by = Some(completion::Override {
        supervisor: Some("a supervisor".to_owned()),
        reason: Some("in a hurry".to_owned()),
        at: Some("2026-11-12T16:20".to_owned()),
    });
    let refused = completion::check(&sheet).expect("checked");
    assert_eq!(
        (refused.hard_blocks, refused.complete_allowed),
        (vec![3], false)
    );
    assert_eq!(
        refused.who_may_override,
        Some(completion::WhoMayOverride::Nobody)
    );
}

#[test]
fn odd_entries_are_refused_in_words() {
    for (code, typed) in [
        ("cold_c", "warm"),
        ("cold_c", "4000"),
        ("turning", "perhaps"),
        ("co_alarm_replace_by", "soon"),
    ] {
        let refused = read_fields(book(), "CB", [(code, typed)]).expect_err("refused");
        assert!(refused.to_string().len() > 10, "{refused}");
    }
    assert!(read_fields(book(), "CB", [("no_such_field", "1")]).is_err());
    assert!(set_for(book(), "no such kind").is_empty());
}

/// Every kind with a set takes a visit with nothing and with everything entered at one plain value.
#[test]
fn every_kind_survives_an_empty_and_a_full_sheet() {
    for set in book().sets() {
        let kind = set.kinds[0].as_str();
        let mut full = Values::new();
        for field in set_for(book(), kind)
            .iter()
            .chain(tests_for(book(), kind))
            .flat_map(|r| &r.fields)
        {
            let typed = match field.answer.code() {
                "number" => "1",
                "yes_no" => "yes",
                "date" => "2027-01-01",
                _ => field.choices.first().map_or("words", |c| c.0.as_str()),
            };
            full.set(&field.code, field.read(typed).expect("a plain value"));
        }
        for readings in [Values::new(), full] {
            let found = at_visit(
                book(),
                &VisitInput {
                    kind,
                    on: day("2026-11-12"),
                    first_service: true,
                    service: true,
                    readings: &readings,
                    earlier: &[EarlierVisit {
                        on: day("2025-11-12"),
                        readings: readings.clone(),
                    }],
                    plate: &Values::new(),
                    site: &Values::new(),
                    makers: &BTreeMap::new(),
                    calibrated_until: &BTreeMap::new(),
                    next_due: None,
                    work_recorded_since_last: false,
                },
            )
            .expect("judged");
            let missing = found
                .findings
                .iter()
                .filter(|f| f.code == "MISSING")
                .count();
            let empty = readings == Values::new();
            assert_eq!(
                missing,
                if empty { set.readings.len() } else { 0 },
                "{kind}"
            );
        }
    }
}
