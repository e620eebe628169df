//! Worked posteriors of the trade file on readings, section 5 (practitioner judgement, checked there
//! by program; the first two of each row to ±0.001), and what must hold of every ranking.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use std::collections::BTreeMap;

use inspection::RuleBook;
use inspection::suspects::{
    self, PartHistory, RankQuery, Ranking, chance_words, observations_for, rank,
};
use proptest::prelude::*;

fn book() -> &'static RuleBook {
    RuleBook::shipped().expect("the shipped book")
}

fn ranked(kind: &str, seen: &str, not_seen: &str) -> Ranking {
    let list = |text: &str| text.split_whitespace().map(str::to_owned).collect();
    let query = RankQuery {
        unit_kind: kind.to_owned(),
        seen: list(seen),
        not_seen: list(not_seen),
        ..RankQuery::default()
    };
    rank(book(), &query).expect("a ranking")
}

/// Kind; seen; looked for and not there; first; second.
const WORKED: &str = "
CB; no_hw_heat_ok flow_pipe_heats rise_low; ; diverter_valve 0.898; dhw_plate 0.079
CB; no_hw_heat_ok rise_low hw_swings; flow_pipe_heats; dhw_plate 0.654; flow_sensor 0.139
CB; neither pump_live_still; ; pump 0.958; electrode 0.007
CB; gauge_low gauge_high_hot; ; exp_vessel 0.892; relief_valve 0.050
CB; gauge_low relief_wet_cold; gauge_high_hot; relief_valve 0.807; leak 0.081
CB; gauge_low; gauge_high_hot relief_wet_cold; leak 0.628; main_hx 0.050
CB; flow_pipe_heats; ; diverter_valve 0.690; dhw_plate 0.063
HIU; no_hw_heat_ok hw_rise_low prim_ret_hot_draw; neighbours_too; dhw_plate 0.870; dhw_valve 0.122
HIU; neither neighbours_too; ; network 0.954; strainer 0.019
HIU; prim_ret_hot_idle; ; dhw_valve 0.540; heat_valve 0.240
TS; store_hot_tap_cool falls_with_flow; ; coil_scale 0.953; blending 0.034
TS; store_hot_tap_cool blend_out; ; blending 0.953; coil_scale 0.034
TS; store_cold imm_live_open; ; immersion 0.980; motor_valve 0.005
UV; tundish_heating; ; vessel 0.719; exp_valve 0.127
CP; live_still; frees_by_hand; motor 0.862; seized 0.132
CP; live_still frees_by_hand; ; seized 0.989; motor 0.011
";

/// The forecast's fit says one part fails three times as often as the table has it: its weight against every other is
/// three times what it was, and with no such word nothing changes.
#[test]
fn a_part_that_fails_thrice_as_often_weighs_thrice() {
    let seen = vec!["no_hw_heat_ok".to_owned()];
    let asked = |history: Vec<PartHistory>| {
        let query = RankQuery {
            unit_kind: "CB".to_owned(),
            seen: seen.clone(),
            history,
            ..RankQuery::default()
        };
        rank(book(), &query)
    };
    let times = |part: &str, rate_factor: Option<f64>| PartHistory {
        part: part.to_owned(),
        rate_factor,
        ..PartHistory::default()
    };
    let plain = asked(Vec::new()).expect("a ranking").posterior;
    let unsaid = asked(vec![times("dhw_plate", None)]).expect("a ranking");
    assert_eq!(unsaid.posterior, plain);
    let thrice = asked(vec![times("dhw_plate", Some(3.0))])
        .expect("a ranking")
        .posterior;
    let weight =
        |chances: &BTreeMap<String, f64>, other: &str| chances["dhw_plate"] / chances[other];
    for other in plain.keys().filter(|code| *code != "dhw_plate") {
        let ratio = weight(&thrice, other) / weight(&plain, other);
        assert!((ratio - 3.0).abs() < 1e-9, "{other}: {ratio}");
    }
    for never in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(
            asked(vec![times("dhw_plate", Some(never))]).is_err(),
            "{never}"
        );
    }
}

#[test]
fn worked_posteriors() {
    let mut rows = 0;
    for line in WORKED.lines().filter(|l| !l.is_empty()) {
        let cells: Vec<&str> = line.split(';').map(str::trim).collect();
        let ranking = ranked(cells[0], cells[1], cells[2]);
        for (got, printed) in ranking.top.iter().zip(&cells[3..]) {
            let (code, chance) = printed.split_once(' ').expect("part and chance");
            let chance: f64 = chance.parse().expect("a chance");
            assert_eq!(got.code, code, "{line}");
            assert!(
                (got.chance - chance).abs() <= 0.001,
                "{line}: {}",
                got.chance
            );
        }
        rows += 1;
    }
    assert_eq!(rows, 16);
}

#[test]
fn a_dead_pump_is_a_pump_and_no_board() {
    let ranking = ranked("CB", "neither pump_live_still", "");
    assert_eq!(ranking.take, ["pump"]);
    assert!(ranking.posterior["board"] < 0.01);
}

#[test]
fn what_is_no_part_is_not_taken_along() {
    let ranking = ranked("HIU", "neither neighbours_too", "");
    assert_eq!(ranking.top3[0], "network");
    assert!(ranking.take.is_empty());
}

#[test]
fn chances_in_words_stay_below_certainty() {
    assert_eq!(chance_words(0.999), "about 19 in 20");
    assert_eq!(chance_words(1.0), "about 19 in 20");
    assert_eq!(chance_words(0.6), "about 6 in 10");
    assert_eq!(chance_words(0.5), "about 1 in 2");
    assert_eq!(chance_words(0.08), "about 1 in 13");
    assert_eq!(chance_words(0.001), "less than 1 in 50");
    assert_eq!(chance_words(f64::NAN), "less than 1 in 50");
}

#[test]
fn unknown_and_contradicting_observations_are_refused() {
    let ask = |kind: &str, seen: &[&str], not_seen: &[&str]| {
        let list = |codes: &[&str]| codes.iter().map(|c| (*c).to_owned()).collect();
        rank(
            book(),
            &RankQuery {
                unit_kind: kind.to_owned(),
                seen: list(seen),
                not_seen: list(not_seen),
                ..RankQuery::default()
            },
        )
    };
    assert!(ask("CB", &["sings"], &[]).is_err());
    assert!(ask("CB", &["neither"], &["neither"]).is_err());
    assert!(ask("CT", &[], &[]).is_err());
}

proptest! {
    /// Any answers to any observations of any table: chances sum to one, and the test proposed is
    /// no complaint and was not looked for yet.
    #[test]
    fn every_ranking_is_a_distribution(table in 0_usize..11, answers in prop::collection::vec(0_u8..3, 20)) {
        let table = &book().tables()[table];
        let observations = observations_for(book(), &table.kind).expect("a table");
        let pick = |wanted: u8| {
            observations.iter().zip(&answers).filter(|(_, a)| **a == wanted).map(|(o, _)| o.code.clone()).collect()
        };
        let query = RankQuery { unit_kind: table.kind.clone(), seen: pick(1), not_seen: pick(2), ..RankQuery::default() };
        let ranking = rank(book(), &query).expect("a ranking");
        let sum: f64 = ranking.posterior.values().sum();
        prop_assert!((sum - 1.0).abs() < 1e-9);
        prop_assert!(ranking.best_test_bits > -1e-9);
        if let Some(test) = &ranking.best_test {
            prop_assert!(!query.seen.contains(test) && !query.not_seen.contains(test));
            prop_assert!(!table.observation(test).expect("listed").complaint);
        }
    }
}

#[test]
fn a_call_becomes_an_observation() {
    let ask = |kind, heat, water| {
        suspects::complaint_for(book(), kind, heat, water)
            .expect("a table")
            .map(|o| o.code.as_str())
    };
    assert_eq!(ask("CB", false, true), Some("no_hw_heat_ok"));
    assert_eq!(ask("CB", true, true), Some("neither"));
    assert_eq!(ask("EB", true, true), Some("no_heat"));
    assert_eq!(ask("UV", true, false), None);
    assert_eq!(ask("CB", false, false), None);
    assert_eq!(ask("TS", false, true), None);
}
