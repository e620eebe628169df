//! Worked examples and schedules of the literature, by kind.
use std::collections::BTreeMap;
use std::path::Path;

use costing::annual::{
    Ownership, annual_cost_by_year, equivalent_annual, first_year_above, keep_more_years,
    least_with_year, level_annual_cost, marginal_cost_by_year,
};
use costing::discount::present_value;
use costing::minimal_repair::{BestAge, MinimalRepair, PooledFit, best_planned_age};
use costing::values::{Ageing, values_by_age};
use costing::{RateSchedule, annuity, factor};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::judge::Judge;
use super::read_json;
use crate::reference::Report;

#[derive(Deserialize)]
struct File {
    examples: Vec<Example>,
}

#[derive(Deserialize)]
struct Example {
    id: String,
    kind: String,
    inputs: Value,
    expected: Vec<Option<f64>>,
    tolerance: Vec<f64>,
}

/// Judges the examples of one file.
///
/// # Errors
/// A sentence naming the file that cannot be read.
pub fn run(path: &Path, report: &mut Report) -> Result<(), String> {
    let file: File = read_json(path)?;
    for example in file.examples {
        let mut judge = Judge::default();
        match answers(&example.kind, &example.inputs) {
            Ok(got) if got.len() == example.expected.len() => {
                for (i, (wanted, got)) in example.expected.iter().zip(got).enumerate() {
                    let tolerance = example.tolerance.get(i).copied().unwrap_or(0.0);
                    judge.number(&format!("expected.{i}"), *wanted, got, tolerance);
                }
            }
            Ok(got) => judge.fail(
                "expected",
                &format!("{:?}", example.expected),
                format!("{got:?}"),
            ),
            Err(sentence) => judge.fail("inputs", "an answer", sentence),
        }
        report.case("economics", &example.id, judge.judged, judge.misses);
    }
    Ok(())
}

type Answers = Result<Vec<Option<f64>>, String>;

fn inputs<T: DeserializeOwned>(value: &Value) -> Result<T, String> {
    serde_json::from_value(value.clone()).map_err(|e| e.to_string())
}

fn answers(kind: &str, value: &Value) -> Answers {
    match kind {
        "eac_by_year" | "least_eac_and_year" => ownership(kind, value),
        "eac" => level(value),
        "pv_and_eac" => flows(value),
        "equivalent_annual" => equivalent(value),
        "present_value" => present(value),
        "marginal_cost_by_year" => marginal(value),
        "first_year_to_replace" => first_year(value),
        "keep_more_years" => keep_more(value),
        "barlow_hunter" | "barlow_hunter_discounted" => minimal(kind, value),
        "barlow_hunter_from_events" => from_events(value),
        "age_replacement" => planned_age(value),
        "discrete_dp" => ageing(value),
        "green_book_factor" => schedule(value),
        "single_and_uniform_present_value" => factors(value),
        other => Err(format!("no kind {other:?}")),
    }
}

fn some(values: impl IntoIterator<Item = f64>) -> Vec<Option<f64>> {
    values.into_iter().map(Some).collect()
}

fn pair(best: Option<BestAge>) -> Vec<Option<f64>> {
    vec![best.map(|b| b.age), best.map(|b| b.cost)]
}

fn ownership(kind: &str, value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        first_cost: f64,
        market_value: Vec<f64>,
        annual_cost: Vec<f64>,
        rate: f64,
        report_years: Option<Vec<usize>>,
    }
    let x: In = inputs(value)?;
    let series = annual_cost_by_year(&Ownership {
        first_cost: x.first_cost,
        market_value: &x.market_value,
        annual_cost: &x.annual_cost,
        rate: x.rate,
    });
    if kind == "least_eac_and_year" {
        let least = least_with_year(&series);
        return Ok(vec![least.map(|l| l.0), least.map(|l| f64::from(l.1))]);
    }
    Ok(match x.report_years {
        Some(years) => years
            .iter()
            .map(|year| series.get(year.wrapping_sub(1)).copied())
            .collect(),
        None => some(series),
    })
}

fn level(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        first_cost: f64,
        market_value_end: f64,
        annual_cost: f64,
        rate: f64,
        years: u32,
    }
    let x: In = inputs(value)?;
    Ok(vec![level_annual_cost(
        x.first_cost,
        x.market_value_end,
        x.annual_cost,
        x.rate,
        x.years,
    )])
}

fn flows(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        flows: Vec<Vec<f64>>,
        rate: f64,
    }
    let x: In = inputs(value)?;
    let mut out = Vec::new();
    for list in &x.flows {
        let pv = present_value(x.rate, (0u32..).zip(list.iter().copied()));
        let years = u32::try_from(list.len().saturating_sub(1)).map_err(|e| e.to_string())?;
        out.push(Some(pv));
        out.push(equivalent_annual(pv, x.rate, years));
    }
    Ok(out)
}

fn dated(cash: &BTreeMap<String, f64>) -> Result<Vec<(u32, f64)>, String> {
    cash.iter()
        .map(|(t, pounds)| {
            t.parse()
                .map(|t| (t, *pounds))
                .map_err(|e| format!("{t}: {e}"))
        })
        .collect()
}

fn equivalent(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        npv: Option<f64>,
        #[serde(default)]
        cash: BTreeMap<String, f64>,
        #[serde(default)]
        annual: f64,
        rate: f64,
        years: u32,
    }
    let x: In = inputs(value)?;
    let pv = match x.npv {
        Some(npv) => npv,
        None => present_value(x.rate, dated(&x.cash)?) + x.annual * annuity(x.rate, x.years),
    };
    Ok(vec![equivalent_annual(pv, x.rate, x.years)])
}

fn present(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        #[serde(default)]
        cash: BTreeMap<String, f64>,
        #[serde(default)]
        annual: f64,
        #[serde(default)]
        annual_from: u32,
        #[serde(default)]
        annual_to: u32,
        rate: f64,
    }
    let x: In = inputs(value)?;
    let mut payments = dated(&x.cash)?;
    if x.annual != 0.0 {
        payments.extend((x.annual_from..=x.annual_to).map(|t| (t, x.annual)));
    }
    Ok(vec![Some(present_value(x.rate, payments))])
}

fn marginal(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        market_value: Vec<f64>,
        annual_cost: Vec<f64>,
        rate: f64,
    }
    let x: In = inputs(value)?;
    Ok(some(marginal_cost_by_year(
        &x.market_value,
        &x.annual_cost,
        x.rate,
    )))
}

fn first_year(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        defender_marginal_cost: Vec<f64>,
        challenger_least_eac: f64,
    }
    let x: In = inputs(value)?;
    let year = first_year_above(&x.defender_marginal_cost, x.challenger_least_eac, 0);
    Ok(vec![year.map(f64::from)])
}

fn keep_more(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        marginal_cost: Vec<f64>,
        rate: f64,
        challenger_least_eac: f64,
    }
    let x: In = inputs(value)?;
    let years = keep_more_years(&x.marginal_cost, x.rate, x.challenger_least_eac);
    Ok(vec![years.map(f64::from)])
}

fn minimal(kind: &str, value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        theta: f64,
        beta: f64,
        replace: f64,
        minimal_repair: f64,
        rate_annual: Option<f64>,
    }
    let x: In = inputs(value)?;
    let unit = MinimalRepair {
        theta: x.theta,
        beta: x.beta,
        replace: x.replace,
        repair: x.minimal_repair,
    };
    if kind == "barlow_hunter" {
        return Ok(pair(unit.best_age()));
    }
    let rate = x.rate_annual.ok_or("rate_annual is missing")?;
    let best = unit.best_age_discounted(rate);
    let mut out = pair(best);
    out.push(best.map(|b| b.cost * rate.ln_1p()));
    Ok(out)
}

fn from_events(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        end: f64,
        events: Vec<Vec<f64>>,
        overhaul_over_repair: f64,
    }
    let x: In = inputs(value)?;
    let fit = PooledFit::of(&x.events, x.end);
    Ok(vec![
        fit.map(|f| f.beta),
        fit.map(|f| f.lambda),
        fit.and_then(|f| f.best_overhaul_age(x.overhaul_over_repair)),
    ])
}

fn planned_age(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        eta: f64,
        beta: f64,
        planned: f64,
        failure: f64,
    }
    let x: In = inputs(value)?;
    Ok(pair(best_planned_age(x.eta, x.beta, x.planned, x.failure)))
}

fn ageing(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        profit: Vec<f64>,
        profit_new: f64,
        replace_cost: f64,
        discount: f64,
    }
    let x: In = inputs(value)?;
    let values = values_by_age(&Ageing {
        profit: &x.profit,
        profit_new: x.profit_new,
        replace_cost: x.replace_cost,
        discount: x.discount,
    });
    Ok(some(values.ok_or("no values")?))
}

fn schedule(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        year: u32,
    }
    let x: In = inputs(value)?;
    Ok(vec![RateSchedule::default().factor(x.year)])
}

fn factors(value: &Value) -> Answers {
    #[derive(Deserialize)]
    struct In {
        rate: f64,
        years: u32,
    }
    let x: In = inputs(value)?;
    Ok(some([
        factor(x.rate, f64::from(x.years)),
        annuity(x.rate, x.years),
    ]))
}
