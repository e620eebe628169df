//! Repair-or-replace cases with the answers of an independent implementation.
//!
//! A key that is absent from the answers is not judged; `null` is, and means undefined.
use std::collections::BTreeMap;
use std::path::Path;

use costing::{Advice, DecisionCase, advise};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::judge::Judge;
use super::read_json;
use crate::reference::Report;

#[derive(Deserialize)]
struct Cases {
    cases: Vec<Value>,
}

#[derive(Deserialize)]
struct Expected {
    cases: Vec<Value>,
    tolerance: Tolerance,
}

#[derive(Clone, Copy, Deserialize)]
struct Tolerance {
    money: f64,
    probability: f64,
    multiplier: f64,
}

/// Judges every case that has answers, and fails one that has none.
///
/// # Errors
/// A sentence naming the file that cannot be read.
pub fn run(cases: &Path, expected: &Path, report: &mut Report) -> Result<(), String> {
    let inputs: Cases = read_json(cases)?;
    let known: Expected = read_json(expected)?;
    let mut answers: BTreeMap<String, Value> = known
        .cases
        .into_iter()
        .map(|case| (id_of(&case), case))
        .collect();
    for input in inputs.cases {
        let id = id_of(&input);
        let mut judge = Judge::default();
        match answers.remove(&id) {
            Some(wanted) => judge_case(input, &wanted, known.tolerance, &mut judge),
            None => judge.fail(
                "id",
                "answers",
                "no case of this id among the answers".to_owned(),
            ),
        }
        report.case("economics", &id, judge.judged, judge.misses);
    }
    for id in answers.keys() {
        let mut judge = Judge::default();
        judge.fail("id", "inputs", "answers without inputs".to_owned());
        report.case("economics", id, judge.judged, judge.misses);
    }
    Ok(())
}

fn id_of(case: &Value) -> String {
    case.get("id")
        .and_then(Value::as_str)
        .unwrap_or("without id")
        .to_owned()
}

fn judge_case(input: Value, wanted: &Value, tolerance: Tolerance, judge: &mut Judge) {
    let read: Result<DecisionCase, _> = serde_json::from_value(input);
    let checked = match read.map(DecisionCase::checked) {
        Ok(Ok(checked)) => checked,
        Ok(Err(refused)) => return judge.fail("inputs", "accepted", refused.to_string()),
        Err(unread) => return judge.fail("inputs", "read", unread.to_string()),
    };
    let advice = advise(&checked);
    numbers(&advice, wanted, tolerance, judge);
    names(&advice, wanted, judge);
    options(&advice, wanted, tolerance, judge);
    series(&advice, wanted, tolerance, judge);
    bars(&advice, wanted, tolerance, judge);
}

fn numbers(advice: &Advice, wanted: &Value, tolerance: Tolerance, judge: &mut Judge) {
    let whole = |years: Option<u32>| years.map(f64::from);
    let all = [
        (
            "advantage_replace_now",
            advice.advantage_replace_now,
            tolerance.money,
        ),
        ("repair_limit", advice.repair_limit, tolerance.money),
        ("mean_X", advice.mean_x, tolerance.money),
        ("sd_X", advice.sd_x, tolerance.money),
        (
            "probability_replace_cheaper",
            advice.probability_replace_cheaper,
            tolerance.probability,
        ),
        ("best_keep", whole(advice.best_keep), 0.0),
        ("break_even_year", whole(advice.break_even_year), 0.0),
    ];
    for (key, got, within) in all {
        if let Some(known) = wanted.get(key) {
            judge.number(key, known.as_f64(), got, within);
        }
    }
}

/// How a value of the product is spelled in JSON.
fn spelled(value: impl Serialize) -> Option<String> {
    serde_json::to_value(value)
        .ok()
        .and_then(|v| v.as_str().map(str::to_owned))
}

fn names(advice: &Advice, wanted: &Value, judge: &mut Judge) {
    let all = [
        ("replace_with", advice.replace_with.clone()),
        ("keep_then", advice.keep_then.clone()),
        ("decision", spelled(advice.decision)),
    ];
    for (key, got) in all {
        if let Some(known) = wanted.get(key) {
            judge.same(key, known.as_str().map(str::to_owned), got);
        }
    }
}

fn options(advice: &Advice, wanted: &Value, tolerance: Tolerance, judge: &mut Judge) {
    let Some(known) = wanted.get("options").and_then(Value::as_object) else {
        return;
    };
    judge.same("options, number", known.len(), advice.options.len());
    for (code, answer) in known {
        let got = advice.options.iter().find(|o| o.code == *code);
        let all = [
            ("n", got.map(|o| f64::from(o.n)), 0.0),
            ("annual_cost", got.map(|o| o.annual_cost), tolerance.money),
            ("pv_cycle", got.map(|o| o.pv_cycle), tolerance.money),
        ];
        for (key, got, within) in all {
            if let Some(known) = answer.get(key) {
                judge.number(
                    &format!("options.{code}.{key}"),
                    known.as_f64(),
                    got,
                    within,
                );
            }
        }
    }
}

fn series(advice: &Advice, wanted: &Value, tolerance: Tolerance, judge: &mut Judge) {
    let Some(known) = wanted.get("W").and_then(Value::as_array) else {
        return;
    };
    judge.same("W, length", known.len(), advice.keep.len());
    for (k, (known, got)) in known.iter().zip(&advice.keep).enumerate() {
        judge.number(&format!("W.{k}"), known.as_f64(), *got, tolerance.money);
    }
}

fn bars(advice: &Advice, wanted: &Value, tolerance: Tolerance, judge: &mut Judge) {
    let Some(known) = wanted.get("tornado") else {
        return;
    };
    let none = Vec::new();
    let known = known.as_array().unwrap_or(&none);
    judge.same("tornado, number", known.len(), advice.tornado.len());
    let mut above = f64::INFINITY;
    for row in &advice.tornado {
        // Sorted by swing, the largest first.
        let swing = row.swing.unwrap_or(0.0);
        judge.same("tornado, order", true, swing <= above);
        above = swing;
    }
    for bar in known {
        let name = bar.get("param").and_then(Value::as_str).unwrap_or_default();
        let got = advice
            .tornado
            .iter()
            .find(|row| spelled(row.param).as_deref() == Some(name));
        let all = [
            ("low", got.map(|r| r.low), 0.0),
            ("high", got.map(|r| r.high), 0.0),
            ("adv_low", got.and_then(|r| r.adv_low), tolerance.money),
            ("adv_high", got.and_then(|r| r.adv_high), tolerance.money),
            ("swing", got.and_then(|r| r.swing), tolerance.money),
            (
                "switch_multiplier",
                got.and_then(|r| r.switch_multiplier),
                tolerance.multiplier,
            ),
        ];
        judge.same(&format!("tornado.{name}"), true, got.is_some());
        for (key, got, within) in all {
            if let Some(known) = bar.get(key) {
                judge.number(
                    &format!("tornado.{name}.{key}"),
                    known.as_f64(),
                    got,
                    within,
                );
            }
        }
    }
}
