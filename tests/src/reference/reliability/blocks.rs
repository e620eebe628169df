//! Families nested-block and block-forecast.
use std::collections::BTreeMap;

use dependability::block::{Block, BlockFit, fit_blocks};
use dependability::exposure::exposure;
use dependability::frailty::Posterior;
use dependability::record::{ALPHA, LN_BETA, LN_THETA, Record, Span};
use serde_json::{Value, json};

use super::case::{Case, field, priors};
use super::recurrent::Fleet;

/// Blocks in order of first appearance, with their units.
type Order = Vec<(String, Vec<String>)>;

fn read(case: &Case<'_>) -> Result<(Fleet, Order), String> {
    let mut order: Order = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    for row in case.rows("windows")? {
        let (block, unit) = (
            field(&row, "block").to_owned(),
            field(&row, "unit").to_owned(),
        );
        let place = *places.entry(block.clone()).or_insert(order.len());
        if place == order.len() {
            order.push((block, Vec::new()));
        }
        if !order[place].1.contains(&unit) {
            order[place].1.push(unit);
        }
    }
    Ok((Fleet::read(case)?, order))
}

fn record<'a>(fleet: &'a Fleet, unit: &str) -> Result<&'a Record, String> {
    let found = fleet.units.iter().find(|(name, _)| name == unit);
    found
        .map(|(_, record)| record)
        .ok_or_else(|| format!("no unit {unit}"))
}

fn blocks(fleet: &Fleet, order: &[(String, Vec<String>)]) -> Result<Vec<Block>, String> {
    order
        .iter()
        .map(|(_, units)| {
            let own: Result<Vec<Record>, String> =
                units.iter().map(|u| record(fleet, u).cloned()).collect();
            Ok(Block { units: own? })
        })
        .collect()
}

fn parameters(fit: &BlockFit) -> Value {
    let last = fit.at.len() - 1;
    json!({
        "alpha": fit.at[ALPHA],
        "beta": fit.at[LN_BETA].exp(),
        "theta": fit.at[LN_THETA].exp(),
        "tau": fit.tau(),
        "loglik": fit.loglik,
        "se_alpha": fit.se(ALPHA),
        "se_log_beta": fit.se(LN_BETA),
        "se_log_theta": fit.se(LN_THETA),
        "se_log_tau": fit.se(last),
    })
}

/// Family nested-block.
pub fn nested(case: &Case<'_>) -> Result<Value, String> {
    let (fleet, order) = read(case)?;
    let blocks = blocks(&fleet, &order)?;
    let fit = fit_blocks(&blocks, fleet.t0, 0, None);
    let effects: Vec<Value> = order
        .iter()
        .zip(&blocks)
        .map(|((name, _), block)| {
            let effect = fit.effect(block);
            json!({"block": name, "mean": effect.mean(), "sd": effect.sd()})
        })
        .collect();
    Ok(json!({"fit": parameters(&fit), "block_effects": effects}))
}

fn end_of(record: &Record) -> f64 {
    let ends = record.windows.iter().map(|w| match w.span {
        Span::Clock { until, .. } => until,
        Span::Fixed(_) => f64::NAN,
    });
    ends.fold(f64::NEG_INFINITY, f64::max)
}

/// Family block-forecast.
pub fn forecast(case: &Case<'_>) -> Result<Value, String> {
    let (fleet, order) = read(case)?;
    let blocks = blocks(&fleet, &order)?;
    let prior = priors(case.inputs().get("prior"))?;
    let fit = fit_blocks(&blocks, fleet.t0, 0, prior.as_deref());
    let horizon = case.input("horizon")?;
    let ahead_from = |age: f64, h: f64| {
        fit.at[ALPHA].exp() * exposure(age, age + h, fit.at[LN_BETA].exp(), fleet.t0).value
    };
    let mut shown = Vec::new();
    for name in case.names("blocks_shown") {
        let place = order
            .iter()
            .position(|(b, _)| *b == name)
            .ok_or("no such block")?;
        let effect = fit.effect(&blocks[place]);
        let units: Vec<(&Record, f64)> = blocks[place]
            .units
            .iter()
            .map(|r| (r, ahead_from(end_of(r), horizon)))
            .collect();
        let total = fit.ahead(&effect, &units);
        shown.push(json!({
            "block": name,
            "effect_mean": effect.mean(),
            "effect_sd": effect.sd(),
            "expected_next": total.expected,
            "p_none": total.none(),
            "q05": total.quantile(0.05),
            "q10": total.quantile(0.1),
            "q90": total.quantile(0.9),
            "q95": total.quantile(0.95),
        }));
    }
    let mut units = Vec::new();
    for name in case.names("units_shown") {
        let place = order
            .iter()
            .position(|(_, u)| u.contains(&name))
            .ok_or("no such unit")?;
        let (own, effect) = (record(&fleet, &name)?, fit.effect(&blocks[place]));
        let ahead = ahead_from(end_of(own), horizon);
        let next = |e: f64| fit.posterior(own, e).next(ahead * e.exp());
        units.push(json!({
            "unit": name,
            "n": own.failures,
            "z_mean": effect.mean_of(|e| fit.posterior(own, e).mean()),
            "expected_next": effect.mean_of(|e| next(e).mean),
            "p_at_least_one": effect.mean_of(|e| next(e).at_least_one()),
        }));
    }
    let theta = fit.at[LN_THETA].exp();
    let first = ahead_from(0.0, 1.0);
    let new = |e: f64| {
        Posterior {
            theta,
            n: 0.0,
            mu: 0.0,
        }
        .next(first * e.exp())
    };
    let unseen = fit.unseen();
    Ok(json!({
        "map": parameters(&fit),
        "blocks": shown,
        "units": units,
        "new_unit_in_new_block": {
            "expected_first_year": unseen.mean_of(|e| new(e).mean),
            "p_at_least_one": unseen.mean_of(|e| new(e).at_least_one()),
        },
    }))
}
