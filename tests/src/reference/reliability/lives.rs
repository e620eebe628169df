//! Families weibull-life, km-left-truncated, competing-risks, terminal-causes, part-renewal.
use dependability::causes::{cause_chances, median_in_service};
use dependability::curves::{self, Watched};
use dependability::lives::{EFFECTS, Known, LN_BETA, LN_ETA, Life, LifeFit, Weibull, fit_lives};
use serde_json::{Map, Value, json};

use super::case::{Case, Row, field, finite, number, priors, texts};

/// 97.5 % point of the standard normal, as the reference page prints it.
const Z975: f64 = 1.959964;

fn ways(laws: &[Weibull], age: f64, h: f64) -> Result<(Vec<f64>, f64), String> {
    cause_chances(laws, age, h).map_err(|why| why.to_string())
}

fn lives(case: &Case<'_>, covariates: &[String]) -> Result<Vec<Life>, String> {
    case.rows("lives")?
        .iter()
        .map(|row| life(row, covariates))
        .collect()
}

fn life(row: &Row, covariates: &[String]) -> Result<Life, String> {
    let (low, high) = (number(row, "lo")?, number(row, "hi"));
    let known = match field(row, "kind") {
        "e" => Known::Event(low),
        "r" => Known::Running(low),
        "l" => Known::Before(high.unwrap_or(low)),
        "i" => Known::Between(low, high?),
        other => return Err(format!("kind {other:?}")),
    };
    let x: Result<Vec<f64>, String> = covariates.iter().map(|c| number(row, c)).collect();
    Ok(Life {
        entry: number(row, "entry")?,
        known,
        count: number(row, "count").unwrap_or(1.0),
        x: x?,
    })
}

fn fitted(fit: &LifeFit) -> Value {
    let law = fit.law();
    let effects: Vec<f64> = fit.effects().to_vec();
    let se: Vec<f64> = (0..effects.len()).map(|i| fit.se(EFFECTS + i)).collect();
    json!({
        "beta": law.beta,
        "eta": law.eta,
        "loglik": fit.loglik,
        "se_log_beta": fit.se(LN_BETA),
        "se_log_eta": fit.se(LN_ETA),
        "cov_log_eta_log_beta": fit.covariance(LN_ETA, LN_BETA),
        "log_hazard": effects,
        "se_log_hazard": se,
        "data_weight": fit.data_weights(),
    })
}

/// Family weibull-life.
pub fn weibull_life(case: &Case<'_>) -> Result<Value, String> {
    let covariates = case.names("covariates");
    let lives = lives(case, &covariates)?;
    let fit = fit_lives(&lives, covariates.len(), None);
    let law = fit.law();
    let mut got = fitted(&fit);
    let natural = |place: usize| {
        let (low, high) = fit.profile95(&lives, place);
        json!([low.map(f64::exp), high.map(f64::exp)])
    };
    if case.expected().get("beta_ci95_profile").is_some() {
        got["beta_ci95_profile"] = natural(LN_BETA);
        got["eta_ci95_profile"] = natural(LN_ETA);
    }
    let reach = (Z975 * fit.se(LN_BETA)).exp();
    got["beta_ci95_wald"] = json!([law.beta / reach, law.beta * reach]);
    let quantiles: Vec<f64> = case
        .list("quantiles")
        .iter()
        .map(|p| law.quantile(*p))
        .collect();
    got["quantile"] = json!(quantiles);
    got["mean"] = json!(law.mean());
    let ages = case
        .inputs()
        .get("ages")
        .and_then(Value::as_array)
        .cloned()
        .unwrap_or_default();
    let at_age: Vec<Value> = ages.iter().map(|a| at_age(&law, a)).collect();
    got["at_age"] = json!(at_age);
    Ok(got)
}

fn at_age(law: &Weibull, asked: &Value) -> Value {
    let part = |key: &str| asked.get(key).and_then(Value::as_f64).unwrap_or(f64::NAN);
    let (age, horizon) = (part("age"), part("horizon"));
    json!({
        "surv_next": law.survives(age, horizon),
        "mean_residual": law.mean_residual(age),
        "median_residual": law.median_residual(age),
    })
}

/// Family km-left-truncated.
pub fn kaplan_meier(case: &Case<'_>) -> Result<Value, String> {
    let mut watched = Vec::new();
    for life in lives(case, &[])? {
        let (exit, cause) = match life.known {
            Known::Event(age) => (age, 1),
            Known::Running(age) => (age, 0),
            Known::Before(_) | Known::Between(..) => {
                return Err("censoring the curve cannot use".to_owned());
            }
        };
        watched.extend(std::iter::repeat_n(
            Watched {
                entry: life.entry,
                exit,
                cause,
            },
            life.count as usize,
        ));
    }
    let rows: Vec<Value> = curves::kaplan_meier(&watched, case.input("from_age")?)
        .iter()
        .map(|s| {
            json!([
                s.age,
                s.at_risk,
                s.events,
                s.survival,
                s.se.map(finite),
                s.cumulative
            ])
        })
        .collect();
    Ok(json!({"columns": ["time", "at_risk", "events", "S", "se_S", "cum_hazard"], "rows": rows}))
}

fn causes_of(case: &Case<'_>) -> usize {
    case.expected()
        .get("causes")
        .and_then(Value::as_object)
        .map_or(0, Map::len)
}

/// Family competing-risks.
pub fn competing_risks(case: &Case<'_>) -> Result<Value, String> {
    let mut watched = Vec::new();
    for row in case.rows("lives")? {
        let cause = number(&row, "cause")? as usize;
        watched.push(Watched {
            entry: 0.0,
            exit: number(&row, "time")?,
            cause,
        });
    }
    let causes = causes_of(case);
    let mut laws = Vec::new();
    let mut by_cause = Map::new();
    for k in 1..=causes {
        let own: Vec<Life> = watched
            .iter()
            .map(|w| {
                let known = if w.cause == k {
                    Known::Event(w.exit)
                } else {
                    Known::Running(w.exit)
                };
                Life {
                    entry: w.entry,
                    known,
                    count: 1.0,
                    x: Vec::new(),
                }
            })
            .collect();
        let fit = fit_lives(&own, 0, None);
        let mut got = fitted(&fit);
        got["n"] = json!(watched.iter().filter(|w| w.cause == k).count());
        laws.push(fit.law());
        by_cause.insert(k.to_string(), got);
    }
    let rows: Vec<Value> = curves::aalen_johansen(&watched, causes)
        .into_iter()
        .map(|(age, s, ended)| Value::from([vec![age, s], ended].concat()))
        .collect();
    let columns: Vec<String> = ["time".to_owned(), "S".to_owned()]
        .into_iter()
        .chain((1..=causes).map(|k| format!("F{k}")))
        .collect();
    let (chances, in_service) = ways(&laws, 0.0, case.input("t")?)?;
    let mut cif = Map::new();
    for (k, chance) in chances.iter().enumerate() {
        cif.insert(format!("cause_{}", k + 1), json!(chance));
    }
    cif.insert("S_total".to_owned(), json!(in_service));
    Ok(
        json!({"causes": by_cause, "aalen_johansen": {"columns": columns, "rows": rows}, "cif": cif}),
    )
}

/// Family terminal-causes.
pub fn terminal_causes(case: &Case<'_>) -> Result<Value, String> {
    let rows = case.rows("lives")?;
    let mut by_cause = Map::new();
    let mut fits: Vec<(Vec<String>, LifeFit)> = Vec::new();
    for k in 1..=causes_of(case) {
        let covariates = texts(case.inputs().pointer(&format!("/covariates/{k}")));
        let mut own = Vec::new();
        for row in &rows {
            let exit = number(row, "exit")?;
            let hit = number(row, "cause")? as usize == k;
            let known = if hit {
                Known::Event(exit)
            } else {
                Known::Running(exit)
            };
            let x: Result<Vec<f64>, String> = covariates.iter().map(|c| number(row, c)).collect();
            own.push(Life {
                entry: number(row, "entry")?,
                known,
                count: 1.0,
                x: x?,
            });
        }
        let prior = priors(case.inputs().pointer(&format!("/prior/{k}")))?;
        let fit = fit_lives(&own, covariates.len(), prior.as_deref());
        let mut got = fitted(&fit);
        got["n"] = json!(
            own.iter()
                .filter(|l| matches!(l.known, Known::Event(_)))
                .count()
        );
        by_cause.insert(k.to_string(), got);
        fits.push((covariates, fit));
    }
    let mut units = Vec::new();
    for name in case.names("units_shown") {
        let row = rows
            .iter()
            .find(|r| field(r, "unit") == name)
            .ok_or_else(|| format!("no unit {name}"))?;
        units.push(running(case, row, &name, &fits)?);
    }
    Ok(json!({"causes": by_cause, "units": units}))
}

fn running(
    case: &Case<'_>,
    row: &Row,
    name: &str,
    fits: &[(Vec<String>, LifeFit)],
) -> Result<Value, String> {
    let age = number(row, "exit")?;
    let mut laws = Vec::new();
    for (covariates, fit) in fits {
        let x: Result<Vec<f64>, String> = covariates.iter().map(|c| number(row, c)).collect();
        laws.push(fit.law_at(&x?));
    }
    let horizons: Result<Vec<Value>, String> = case
        .list("horizons")
        .iter()
        .map(|h| {
            let (chances, in_service) = ways(&laws, age, *h)?;
            let mut got = Map::new();
            for (k, chance) in chances.iter().enumerate() {
                got.insert(format!("p_cause_{}", k + 1), json!(chance));
            }
            got.insert("p_in_service".to_owned(), json!(in_service));
            Ok(Value::from(got))
        })
        .collect();
    Ok(
        json!({"unit": name, "horizons": horizons?, "median_residual": median_in_service(&laws, age)}),
    )
}

/// Family part-renewal.
pub fn part_renewal(case: &Case<'_>) -> Result<Value, String> {
    let mut own = Vec::new();
    for row in case.rows("spells")? {
        if number(&row, "part_age_known")? != 1.0 {
            continue;
        }
        let exit = number(&row, "exit_part_age")?;
        let known = if field(&row, "kind") == "e" {
            Known::Event(exit)
        } else {
            Known::Running(exit)
        };
        own.push(Life {
            entry: number(&row, "entry_part_age")?,
            known,
            count: 1.0,
            x: Vec::new(),
        });
    }
    let mut got = fitted(&fit_lives(&own, 0, None));
    got["n_spells"] = json!(own.len());
    Ok(got)
}
