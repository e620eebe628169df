//! Families posterior-predictive, numeric-edges, optimal-replacement: tables of single computations.
use costing::minimal_repair::{MinimalRepair, best_planned_age};
use dependability::exposure::exposure;
use dependability::frailty::{CountTable, Posterior};
use dependability::lives::Weibull;
use serde_json::{Value, json};

use super::case::Case;
use super::judge::judge;

/// Every row of the table is judged here with the case's tolerance; `rows` counts those that hold, so that a row that
/// misses makes the case fail by name.
fn table(
    case: &Case<'_>,
    compute: fn(&str, &Value) -> Result<Value, String>,
) -> Result<Value, String> {
    let rows: Vec<Value> =
        serde_json::from_str(&case.file("table")?).map_err(|e| format!("table: {e}"))?;
    let tolerance = case.value.get("tolerance").unwrap_or(&Value::Null);
    for (i, row) in rows.iter().enumerate() {
        let what = row.get("what").and_then(Value::as_str).unwrap_or("");
        let inputs = row.get("inputs").unwrap_or(&Value::Null);
        let expected = row
            .get("expected")
            .ok_or_else(|| format!("row {i} expects nothing"))?;
        let (judged, misses) = judge(expected, &compute(what, inputs)?, tolerance);
        if let Some(miss) = misses.first() {
            let (path, wanted, got) = (&miss.path, &miss.expected, &miss.got);
            return Err(format!(
                "row {i} {what} {inputs}: {path} expected {wanted}, got {got}"
            ));
        }
        if judged == 0 {
            return Err(format!("row {i} judges nothing"));
        }
    }
    Ok(json!({"rows": rows.len()}))
}

fn part(inputs: &Value, key: &str) -> Result<f64, String> {
    inputs
        .get(key)
        .and_then(Value::as_f64)
        .ok_or_else(|| format!("the row has no {key}"))
}

/// Family posterior-predictive.
pub fn posterior_predictive(case: &Case<'_>) -> Result<Value, String> {
    table(case, |_, inputs| {
        let (n, mu, theta) = (
            part(inputs, "n")?,
            part(inputs, "mu")?,
            part(inputs, "theta")?,
        );
        let z = Posterior { theta, n, mu };
        let next = z.next(part(inputs, "mu_next")?);
        let below_three: f64 = next.ln_chances().take(3).map(f64::exp).sum();
        // The tail itself where 1 − P(N ≤ 2) would lose its digits.
        let tail: f64 = next.ln_chances().skip(3).take(2_000).map(f64::exp).sum();
        Ok(json!({
            "post_shape": 1.0 / theta + n,
            "post_rate": 1.0 / theta + mu,
            "z_mean": z.mean(),
            "z_sd": z.sd(),
            "z_q05": z.quantile(0.05),
            "z_q95": z.quantile(0.95),
            "expected_next": next.mean,
            "var_next": next.variance(),
            "p_none": next.ln_none().exp(),
            "p_at_least_one": next.at_least_one(),
            "p_at_least_three": if below_three > 0.5 { tail } else { 1.0 - below_three },
            "nb_q05": next.quantile(0.05),
            "nb_q50": next.quantile(0.5),
            "nb_q95": next.quantile(0.95),
        }))
    })
}

/// Family numeric-edges.
pub fn numeric_edges(case: &Case<'_>) -> Result<Value, String> {
    table(case, |what, inputs| {
        let number = |key: &str| part(inputs, key);
        Ok(match what {
            "exposure" => {
                let area = exposure(number("a")?, number("b")?, number("beta")?, number("t0")?);
                json!({"A": area.value, "dA_dbeta": area.slope})
            }
            "unit_loglik" => {
                let n = number("n")? as u32;
                let term = CountTable::new(number("theta")?, n).term(n, number("mu")?);
                json!({"l": term.value, "dl_dtheta": term.d_theta})
            }
            "weibull" => {
                let law = Weibull {
                    beta: number("beta")?,
                    eta: number("eta")?,
                };
                let ahead = law.ahead(number("age")?, number("h")?);
                json!({
                    "surv_next": (-ahead).exp(),
                    "fail_next": -(-ahead).exp_m1(),
                    "mean_residual": law.mean_residual(number("age")?),
                })
            }
            other => return Err(format!("unknown computation {other:?}")),
        })
    })
}

/// Family optimal-replacement.
pub fn optimal_replacement(case: &Case<'_>) -> Result<Value, String> {
    table(case, |what, inputs| {
        let number = |key: &str| part(inputs, key);
        Ok(match what {
            "age" => {
                let (beta, eta, cf) = (number("beta")?, number("eta")?, number("cf")?);
                let best = best_planned_age(eta, beta, number("cp")?, cf);
                json!({
                    "T_opt": best.map(|b| b.age),
                    "cost_rate": best.map(|b| b.cost),
                    "cost_rate_run_to_failure": cf / Weibull { beta, eta }.mean(),
                })
            }
            "minimal_repair" => {
                let (beta, lam) = (number("beta")?, number("lam")?);
                let theta = lam.powf(-1.0 / beta);
                let (replace, repair) = (number("c_replace")?, number("c_repair")?);
                let best = MinimalRepair {
                    theta,
                    beta,
                    replace,
                    repair,
                }
                .best_age();
                json!({
                    "T_opt": best.map(|b| b.age),
                    "cost_rate": best.map(|b| b.cost),
                    "expected_repairs_to_T": best.map(|b| lam * b.age.powf(beta)),
                })
            }
            other => return Err(format!("unknown computation {other:?}")),
        })
    })
}
