//! Families power-law-single, power-law-multi, power-law-grouped.
use dependability::power_law::{self, PowerLaw, Truncation};
use serde_json::{Value, json};

use super::case::{Case, number};
use super::recurrent::{Fleet, frailty};

fn closed(law: &PowerLaw) -> Value {
    json!({
        "n": law.n,
        "beta_mle": law.beta_mle,
        "lambda_mle": law.lambda_mle,
        "eta_mle": law.eta_mle,
        "eta": law.eta_mle,
        "beta_unbiased": law.beta_unbiased,
        "lambda_from_unbiased": law.lambda_from_unbiased,
        "beta_ci95": [law.beta_ci95.0, law.beta_ci95.1],
        "intensity_T": law.intensity_end,
        "mtbf_T": 1.0 / law.intensity_end,
        "mtbf_T_unbiased": law.mtbf_unbiased,
        "loglik": law.loglik,
        "laplace_z": law.laplace_z,
        "mil_stat": law.mil_stat,
        "mil_df": law.mil_df,
        "mil_p": law.mil_p,
        "cvm_m": law.cvm_m,
        "cvm_stat": law.cvm_stat,
        "mtbf80_limits": [law.mtbf80_limits().0, law.mtbf80_limits().1],
    })
}

/// Family power-law-single.
pub fn single(case: &Case<'_>) -> Result<Value, String> {
    let times: Result<Vec<f64>, String> = case
        .rows("events")?
        .iter()
        .map(|r| number(r, "time"))
        .collect();
    let truncation = match case.inputs().get("truncation").and_then(Value::as_str) {
        Some("failure") => Truncation::Failure,
        _ => Truncation::Time,
    };
    let law = power_law::power_law(&times?, 1, case.input("end")?, truncation);
    law.map(|l| closed(&l)).map_err(|why| why.to_string())
}

/// Family power-law-multi.
pub fn multi(case: &Case<'_>) -> Result<Value, String> {
    let fleet = Fleet::read(case)?;
    let observed = fleet.observed(false);
    let times: Vec<f64> = observed
        .iter()
        .flat_map(|o| o.events.iter().map(|e| e.0))
        .collect();
    let end = observed
        .iter()
        .flat_map(|o| o.windows.iter().map(|w| w.1))
        .fold(0.0, f64::max);
    let law = power_law::power_law(&times, observed.len(), end, Truncation::Time);
    let mut got = closed(&law.map_err(|why| why.to_string())?);
    let more = frailty(case)?;
    if let (Some(all), Some(more)) = (got.as_object_mut(), more.as_object()) {
        all.extend(more.clone());
    }
    Ok(got)
}

/// Family power-law-grouped.
pub fn grouped(case: &Case<'_>) -> Result<Value, String> {
    let mut intervals = Vec::new();
    for row in case.rows("counts")? {
        intervals.push((
            number(&row, "start")?,
            number(&row, "end")?,
            number(&row, "count")?,
        ));
    }
    let fit = power_law::grouped(&intervals).ok_or_else(|| "no usable fit".to_owned())?;
    Ok(json!({
        "beta": fit.beta,
        "lambda": fit.lambda,
        "loglik": fit.loglik,
        "expected_counts": fit.expected,
        "chi2": fit.chi2,
        "intensity_T": fit.intensity_end,
    }))
}
