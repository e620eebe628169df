//! Family fleet-forecast.
use dependability::part_clocks::{PartFit, PartModel};
use dependability::{Failure, Installed, Renewal, UnitHistory, Window};
use serde_json::{Map, Value, json};

use super::case::{Case, Row, day, field, number, numbers, priors};

fn years(day: i64) -> f64 {
    day as f64 / 365.25
}

fn unit(row: &Row, records: &[Row], covariates: &[String]) -> Result<UnitHistory, String> {
    let installed = years(day(row, "installed_on")?);
    let (from, until) = (day(row, "seen_from")?, day(row, "seen_to")?);
    let x: Result<Vec<f64>, String> = covariates.iter().map(|c| number(row, c)).collect();
    let x = x?;
    let mut history = UnitHistory {
        installed: Installed {
            earliest: installed,
            latest: installed,
        },
        windows: vec![Window {
            from: years(from),
            until: years(until),
            x: x.clone(),
        }],
        renewals: Vec::new(),
        failures: Vec::new(),
        present: x,
        merged: 0,
        written_off: false,
    };
    for record in records
        .iter()
        .filter(|r| field(r, "unit") == field(row, "unit"))
    {
        let happened = day(record, "happened_on")?;
        let clock = field(record, "clock").to_owned();
        if number(record, "fault")? == 1.0 && happened > from && happened <= until {
            history.failures.push(Failure {
                part: Some(clock.clone()),
                at: years(happened),
                between: None,
            });
        }
        if number(record, "replaced")? == 1.0 && happened <= until {
            history.renewals.push(Renewal {
                part: clock,
                at: years(happened),
            });
        }
    }
    history.check(covariates.len()).map_err(|e| e.to_string())?;
    Ok(history)
}

/// Family fleet-forecast.
pub fn forecast(case: &Case<'_>) -> Result<Value, String> {
    let covariates = case.names("covariates");
    let prior = priors(case.inputs().get("prior"))?.ok_or("no prior")?;
    let model = PartModel {
        parts: case.names("parts"),
        covariates: covariates.len(),
        t0: case.input("t0")?,
        prior: prior.clone(),
    };
    let (rows, records) = (case.rows("units")?, case.rows("records")?);
    let mut histories = Vec::new();
    for row in &rows {
        histories.push(unit(row, &records, &covariates)?);
    }
    let fit = model.fit(&histories);
    let point = numbers(case.inputs().get("test_point"));
    let local = model.log_likelihood(&histories, &point);
    let se: Vec<f64> = (0..fit.at.len())
        .map(|i| fit.covariance[(i, i)].sqrt())
        .collect();
    let weights: Vec<f64> = se
        .iter()
        .zip(&prior)
        .map(|(se, p)| 1.0 - (se / p.sd).powi(2))
        .collect();
    let faults: usize = histories.iter().map(|h| h.failures.len()).sum();
    let mut units = Vec::new();
    for name in case.names("units_shown") {
        let place = rows
            .iter()
            .position(|r| field(r, "unit") == name)
            .ok_or("no such unit")?;
        units.push(shown(case, &model, &fit, &name, &histories[place]));
    }
    Ok(json!({
        "n_units": histories.len(),
        "n_faults": faults,
        "test_point": {"loglik": local.value, "gradient": local.gradient.as_slice()},
        "map": {"parameters": fit.at, "se": se, "data_weight": weights, "loglik": fit.loglik},
        "units": units,
    }))
}

fn shown(
    case: &Case<'_>,
    model: &PartModel,
    fit: &PartFit,
    name: &str,
    history: &UnitHistory,
) -> Value {
    let z = fit.posterior(history);
    let horizons: Vec<Value> = case
        .list("horizons")
        .iter()
        .map(|h| {
            let ahead: f64 = fit.ahead(history, *h).iter().sum();
            let next = z.next(ahead);
            json!({"mu_next": ahead, "expected_next": next.mean, "p_at_least_one": next.at_least_one()})
        })
        .collect();
    let names = model.parts.iter().cloned().chain(["other".to_owned()]);
    let clocks: Map<String, Value> = names
        .zip(fit.ahead(history, 1.0))
        .map(|(c, m)| (c, json!(z.next(m).at_least_one())))
        .collect();
    let doubt = fit.predictive(history, 1.0);
    json!({
        "unit": name,
        "n": z.n,
        "mu": z.mu,
        "z_mean": z.mean(),
        "z_q10": z.quantile(0.1),
        "z_q90": z.quantile(0.9),
        "horizons": horizons,
        "years_to_half": fit.years_to_half(history),
        "p_clock_1y": clocks,
        "doubt_1y": {
            "p_at_least_one": doubt.chance,
            "expected_next": doubt.expected,
            "chance50": [doubt.chance50.0, doubt.chance50.1],
            "chance80": [doubt.chance80.0, doubt.chance80.1],
            "count80": [doubt.count80.0, doubt.count80.1],
        },
    })
}
