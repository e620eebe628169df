//! Families recurrent-frailty and mcf.
use std::collections::BTreeMap;

use dependability::mcf::{Step, mean_cumulative};
use dependability::observed::Observed;
use dependability::record::{
    ALPHA, Exposed, GAMMA, LN_BETA, LN_THETA, Record, Span, Subject, log_likelihood,
};
use dependability::recurrent::{Fit, Settings, fit_frailty, fit_poisson, profile95, score_theta0};
use dependability::trend;
use serde_json::{Value, json};

use super::case::{Case, Row, field, finite, number, numbers, priors};

/// Windows and events of a case, by unit.
pub(super) struct Fleet {
    pub t0: f64,
    pub covariates: Vec<String>,
    pub units: Vec<(String, Record)>,
    pub observed: BTreeMap<String, Observed>,
}

impl Fleet {
    pub(super) fn read(case: &Case<'_>) -> Result<Self, String> {
        let t0 = case.input("t0").unwrap_or(1.0);
        let covariates = case.names("covariates");
        let mut fleet = Self {
            t0,
            covariates,
            units: Vec::new(),
            observed: BTreeMap::new(),
        };
        let mut places: BTreeMap<String, usize> = BTreeMap::new();
        for row in case.rows("windows")? {
            fleet.window(&row, &mut places)?;
        }
        for row in case.rows("events")? {
            fleet.event(&row, &places)?;
        }
        Ok(fleet)
    }

    fn window(&mut self, row: &Row, places: &mut BTreeMap<String, usize>) -> Result<(), String> {
        let unit = field(row, "unit").to_owned();
        let place = *places.entry(unit.clone()).or_insert(self.units.len());
        if place == self.units.len() {
            let sum_x = vec![0.0; self.covariates.len()];
            self.units.push((
                unit.clone(),
                Record {
                    sum_x,
                    ..Record::default()
                },
            ));
        }
        let (from, until) = (number(row, "start")?, number(row, "end")?);
        let x: Result<Vec<f64>, String> = self.covariates.iter().map(|c| number(row, c)).collect();
        self.units[place].1.windows.push(Exposed {
            span: Span::Clock { from, until },
            x: x?,
        });
        self.observed
            .entry(unit)
            .or_default()
            .windows
            .push((from, until));
        Ok(())
    }

    fn event(&mut self, row: &Row, places: &BTreeMap<String, usize>) -> Result<(), String> {
        let unit = field(row, "unit");
        let time = number(row, "time")?;
        let place = *places
            .get(unit)
            .ok_or_else(|| format!("unit {unit} has no window"))?;
        let record = &mut self.units[place].1;
        let holds = |w: &&Exposed| matches!(w.span, Span::Clock { from, until } if from <= time && time <= until);
        let start = |w: &&Exposed| match w.span {
            Span::Clock { from, .. } => from,
            Span::Fixed(_) => 0.0,
        };
        let x = record
            .windows
            .iter()
            .filter(holds)
            .min_by(|a, b| start(a).total_cmp(&start(b)))
            .map(|w| w.x.clone());
        let x = x.ok_or_else(|| format!("unit {unit}: event at {time} in no window"))?;
        record.failures += 1;
        record.sum_ln_age += (time / self.t0).ln();
        record
            .sum_x
            .iter_mut()
            .zip(x)
            .for_each(|(sum, v)| *sum += v);
        let cost = number(row, "cost").unwrap_or(1.0);
        self.observed
            .entry(unit.to_owned())
            .or_default()
            .events
            .push((time, cost));
        Ok(())
    }

    pub(super) fn subjects(&self) -> Vec<Subject> {
        self.units
            .iter()
            .map(|(_, record)| record.clone().into())
            .collect()
    }

    pub(super) fn observed(&self, costs: bool) -> Vec<Observed> {
        let all = self.observed.values().cloned();
        if costs {
            return all.collect();
        }
        all.map(|mut o| {
            o.events.iter_mut().for_each(|e| e.1 = 1.0);
            o
        })
        .collect()
    }

    fn settings(&self, prior: Option<Vec<dependability::Normal>>) -> Settings {
        Settings {
            t0: self.t0,
            prior,
            covariates: self.covariates.len(),
            beta_free: true,
        }
    }
}

/// Family recurrent-frailty.
pub fn frailty(case: &Case<'_>) -> Result<Value, String> {
    let fleet = Fleet::read(case)?;
    let subjects = fleet.subjects();
    let settings = fleet.settings(None);
    let poisson = fit_poisson(&subjects, &settings);
    let score = score_theta0(&subjects, &poisson, fleet.t0);
    let inside = score > 0.0;
    let fit = if inside {
        fit_frailty(&subjects, &settings)
    } else {
        poisson.clone()
    };
    let mut got = json!({
        "poisson": parameters(&poisson, fleet.t0),
        "score_theta0": score,
        "frailty": parameters(&fit, fleet.t0),
        "trend": trends(&fleet),
        "mcf": curve(&steps(&fleet, false)?),
        "test_point": test_point(case, &fleet, &subjects),
        "units": units(case, &fleet, &fit)?,
    });
    got["frailty"]["at_boundary"] = json!(!inside);
    got["frailty"]["lr_theta"] = json!(2.0 * (fit.loglik - poisson.loglik));
    if inside {
        got["frailty"]["beta_ci95_profile"] =
            interval(profile95(&subjects, &settings, &fit, LN_BETA));
        got["frailty"]["theta_ci95_profile"] =
            interval(profile95(&subjects, &settings, &fit, LN_THETA));
    }
    if let Some((rate, chi2, df)) = trend::alike(&fleet.observed(false)) {
        got["hpp"] = json!({"rate": rate, "chi2": chi2, "df": df});
    }
    if let Some(prior) = priors(case.inputs().get("prior"))? {
        let settings = fleet.settings(Some(prior.clone()));
        let map = fit_frailty(&subjects, &settings);
        got["map"] = parameters(&map, fleet.t0);
        let weights: Vec<f64> = prior
            .iter()
            .enumerate()
            .map(|(i, p)| map.data_weight(i, *p))
            .collect();
        got["map"]["data_weight"] = json!(weights);
        got["units_map"] = units(case, &fleet, &map)?;
    }
    Ok(got)
}

fn interval(found: (Option<f64>, Option<f64>)) -> Value {
    json!([found.0.map(f64::exp), found.1.map(f64::exp)])
}

fn parameters(fit: &Fit, t0: f64) -> Value {
    let (alpha, beta) = (fit.at[ALPHA], fit.at[LN_BETA].exp());
    let theta = fit.at[LN_THETA].exp();
    let gamma = &fit.at[GAMMA..];
    let se_gamma: Vec<f64> = (GAMMA..fit.at.len()).map(|i| fit.se(i)).collect();
    json!({
        "alpha": alpha,
        "beta": beta,
        "theta": theta,
        "gamma": gamma,
        "eta": t0 * (((beta / t0).ln() - alpha) / beta).exp(),
        "loglik": fit.loglik,
        "se_alpha": fit.se(ALPHA),
        "se_log_beta": fit.se(LN_BETA),
        "se_log_theta": (theta > 0.0).then(|| fit.se(LN_THETA)),
        "se_gamma": se_gamma,
    })
}

fn test_point(case: &Case<'_>, fleet: &Fleet, subjects: &[Subject]) -> Value {
    let point = case.inputs().get("test_point");
    let part = |key: &str| point.and_then(|p| p.get(key));
    let mut p: Vec<f64> = ["alpha", "log_beta", "log_theta"]
        .iter()
        .filter_map(|k| part(k)?.as_f64())
        .collect();
    if p.len() < GAMMA {
        return Value::Null;
    }
    p.extend(numbers(part("gamma")));
    let local = log_likelihood(subjects, &p, fleet.t0);
    json!({"loglik": local.value, "gradient": local.gradient.as_slice()})
}

fn units(case: &Case<'_>, fleet: &Fleet, fit: &Fit) -> Result<Value, String> {
    let horizon = case.input("horizon")?;
    let mut shown = Vec::new();
    for name in case.names("units_shown") {
        let record = fleet
            .units
            .iter()
            .find(|(unit, _)| *unit == name)
            .map(|(_, record)| record);
        let record = record.ok_or_else(|| format!("unit {name} is not in the windows"))?;
        let (mut end, mut x): (f64, &[f64]) = (f64::NEG_INFINITY, &[]);
        for window in &record.windows {
            if let Span::Clock { until, .. } = window.span
                && until > end
            {
                (end, x) = (until, &window.x);
            }
        }
        let ahead = fit.ahead((end, end + horizon), x, fleet.t0);
        let z = fit.posterior(record, fleet.t0);
        let next = z.next(ahead);
        shown.push(json!({
            "unit": name,
            "n": record.failures,
            "mu": z.mu,
            "z_mean": z.mean(),
            "z_q05": z.quantile(0.05),
            "z_q95": z.quantile(0.95),
            "mu_next": ahead,
            "expected_next": next.mean,
            "p_at_least_one": next.at_least_one(),
            "count_q05": next.quantile(0.05),
            "count_q95": next.quantile(0.95),
        }));
    }
    Ok(Value::from(shown))
}

fn trends(fleet: &Fleet) -> Value {
    let observed = fleet.observed(false);
    let robust = trend::robust_laplace(&observed);
    let handbook = trend::handbook(&observed);
    json!({
        "laplace_z": trend::laplace(&observed),
        "gen_laplace_z": robust.map(|r| r.0),
        "gen_laplace_p": robust.map(|r| r.1),
        "mil_stat": handbook.map(|h| h.value),
        "mil_df": handbook.map(|h| h.df),
        "mil_p": handbook.map(|h| h.p),
    })
}

pub(super) fn curve(steps: &[Step]) -> Value {
    let rows: Vec<Value> = steps
        .iter()
        .map(|s| {
            json!([
                s.time,
                s.at_risk,
                finite(s.mean),
                finite(s.se_poisson),
                finite(s.se_robust)
            ])
        })
        .collect();
    json!({"columns": ["time", "at_risk", "mcf", "se_poisson", "se_robust"], "rows": rows})
}

fn steps(fleet: &Fleet, costs: bool) -> Result<Vec<Step>, String> {
    mean_cumulative(&fleet.observed(costs)).map_err(|why| why.to_string())
}

/// Family mcf.
pub fn mcf(case: &Case<'_>) -> Result<Value, String> {
    let fleet = Fleet::read(case)?;
    let counts = curve(&steps(&fleet, false)?);
    let mut costs = curve(&steps(&fleet, true)?);
    let named = case.expected().pointer("/mcf_cost/columns").cloned();
    if let Some(columns) = named.filter(|c| c.get(2).is_some_and(|name| name != "mcf")) {
        costs["columns"] = columns;
    }
    Ok(json!({"mcf": counts, "mcf_count": counts, "mcf_cost": costs}))
}
