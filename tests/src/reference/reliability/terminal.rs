//! Families joint-terminal, date-doubt and virtual-age.
use dependability::record::{
    ALPHA, Exposed, LN_BETA, LN_THETA, Record, Span, Subject, log_likelihood, node_weights,
};
use dependability::recurrent::{Settings, fit_frailty};
use dependability::virtual_age::{Gaps, Repair, VirtualAge, fit_virtual_age};
use dependability::written_off::{Both, Choice, Watched, fit_both};
use numerics::quadrature::gauss_legendre;
use serde_json::{Value, json};

use super::case::{Case, Row, field, number, numbers, priors};

fn events<'a>(rows: &'a [Row], unit: &str, column: &str) -> Result<Vec<f64>, String> {
    let own = rows.iter().filter(|r: &&'a Row| field(r, "unit") == unit);
    own.map(|r| number(r, column)).collect()
}

fn record(ages: &[f64], span: (f64, f64), t0: f64) -> Record {
    Record {
        windows: vec![Exposed {
            span: Span::Clock {
                from: span.0,
                until: span.1,
            },
            x: Vec::new(),
        }],
        failures: ages.len() as u32,
        sum_ln_age: ages.iter().map(|t| (t / t0).ln()).sum(),
        ..Record::default()
    }
}

/// Family joint-terminal.
pub fn joint(case: &Case<'_>) -> Result<Value, String> {
    let t0 = case.input("t0")?;
    let (rows, faults) = (case.rows("units")?, case.rows("events")?);
    let mut units = Vec::new();
    for row in &rows {
        let (entry, exit) = (number(row, "entry")?, number(row, "exit")?);
        let ages = events(&faults, field(row, "unit"), "time")?;
        let written_off = number(row, "written_off")? == 1.0;
        units.push(Watched {
            entry,
            exit,
            written_off,
            record: record(&ages, (entry, exit), t0),
        });
    }
    let both = fit_both(&units, t0);
    let (difference, choice) = both.choice();
    let (alpha_t, verdict) = match choice {
        Choice::CannotTell => (0, "cannot tell"),
        Choice::Independent => (0, "independent"),
        Choice::Shared => (1, "shared"),
    };
    let mut shown = Vec::new();
    for name in case.names("units_shown") {
        let place = rows
            .iter()
            .position(|r| field(r, "unit") == name)
            .ok_or("no such unit")?;
        let (unit, z) = (&units[place], both.posterior(&units[place]));
        let mut got = json!({
            "unit": name,
            "n": unit.record.failures,
            "z_mean": z.mean(),
            "z_q05": z.quantile(0.05),
            "z_q95": z.quantile(0.95),
        });
        if !unit.written_off {
            let (fault, written_off) = both.ahead(unit, case.input("horizon")?);
            got["p_at_least_one"] = json!(fault);
            got["p_written_off"] = json!(written_off);
        }
        shown.push(got);
    }
    Ok(json!({
        "alpha0": independent(&both),
        "alpha1": shared(&both),
        "choice": {"loglik_difference": difference, "alpha_T": alpha_t, "verdict": verdict},
        "units": shown,
    }))
}

fn with_se(mut got: Value, se: &[f64]) -> Value {
    for (name, value) in ["alpha", "log_beta", "log_theta", "log_beta_T", "log_eta_T"]
        .iter()
        .zip(se)
    {
        got[format!("se_{name}")] = json!(value);
    }
    got
}

fn independent(both: &Both) -> Value {
    let (p, law) = (&both.faults.at, both.life.law());
    let got = json!({
        "alpha": p[ALPHA],
        "beta": p[LN_BETA].exp(),
        "theta": p[LN_THETA].exp(),
        "beta_T": law.beta,
        "eta_T": law.eta,
        "loglik": both.independent_loglik(),
    });
    with_se(got, &both.independent_se())
}

fn shared(both: &Both) -> Value {
    let (p, law) = (&both.shared.at, both.shared.law());
    let got = json!({
        "alpha": p[ALPHA],
        "beta": p[LN_BETA].exp(),
        "theta": p[LN_THETA].exp(),
        "beta_T": law.beta,
        "eta_T": law.eta,
        "loglik": both.shared.loglik,
    });
    with_se(got, &both.shared.se())
}

/// Nodes of a unit whose installation is uniform over a range: the installation and the unit's subject.
fn doubtful(row: &Row, faults: &[Row], t0: f64) -> Result<(Vec<f64>, Subject), String> {
    let (early, late) = (number(row, "installed_from")?, number(row, "installed_to")?);
    let span = (number(row, "seen_from")?, number(row, "seen_to")?);
    let at = events(faults, field(row, "unit"), "at")?;
    let nodes: Vec<(f64, f64)> = if late > early {
        gauss_legendre(16)
            .iter()
            .map(|(x, w)| (w / 2.0, early + (late - early) * 0.5 * (1.0 + x)))
            .collect()
    } else {
        vec![(1.0, early)]
    };
    let subject = nodes
        .iter()
        .map(|(weight, installed)| {
            let ages: Vec<f64> = at.iter().map(|t| t - installed).collect();
            (
                *weight,
                record(&ages, (span.0 - installed, span.1 - installed), t0),
            )
        })
        .collect();
    Ok((
        nodes.iter().map(|n| n.1).collect(),
        Subject { nodes: subject },
    ))
}

/// Family date-doubt.
pub fn date_doubt(case: &Case<'_>) -> Result<Value, String> {
    let (t0, horizon) = (case.input("t0")?, case.input("horizon")?);
    let (rows, faults) = (case.rows("units")?, case.rows("events")?);
    let mut installed = Vec::new();
    let mut subjects = Vec::new();
    for row in &rows {
        let (nodes, subject) = doubtful(row, &faults, t0)?;
        installed.push(nodes);
        subjects.push(subject);
    }
    let settings = Settings {
        t0,
        prior: priors(case.inputs().get("prior"))?,
        covariates: 0,
        beta_free: true,
    };
    let fit = fit_frailty(&subjects, &settings);
    let local = log_likelihood(&subjects, &numbers(case.inputs().get("test_point")), t0);
    let mut units = Vec::new();
    for name in case.names("units_shown") {
        let place = rows
            .iter()
            .position(|r| field(r, "unit") == name)
            .ok_or("no such unit")?;
        let (subject, seen) = (&subjects[place], number(&rows[place], "seen_to")?);
        let weights = node_weights(subject, &fit.at, t0);
        let mut sums = [0.0; 4];
        for ((weight, date), (_, own)) in weights.iter().zip(&installed[place]).zip(&subject.nodes)
        {
            let z = fit.posterior(own, t0);
            let next = z.next(fit.ahead((seen - date, seen - date + horizon), &[], t0));
            let here = [*date, z.mean(), next.mean, next.at_least_one()];
            sums.iter_mut()
                .zip(here)
                .for_each(|(sum, v)| *sum += weight * v);
        }
        units.push(json!({
            "unit": name,
            "n": subject.nodes.first().map(|(_, r)| r.failures),
            "installed_mean": sums[0],
            "z_mean": sums[1],
            "expected_next": sums[2],
            "p_at_least_one": sums[3],
        }));
    }
    Ok(json!({
        "test_point": {"loglik": local.value, "gradient": local.gradient.as_slice()},
        "map": {
            "alpha": fit.at[ALPHA],
            "beta": fit.at[LN_BETA].exp(),
            "theta": fit.at[LN_THETA].exp(),
            "se_alpha": fit.se(ALPHA),
            "se_log_beta": fit.se(LN_BETA),
            "se_log_theta": fit.se(LN_THETA),
            "loglik": fit.loglik,
        },
        "units": units,
    }))
}

/// Family virtual-age.
pub fn virtual_age(case: &Case<'_>) -> Result<Value, String> {
    let (windows, faults) = (case.rows("windows")?, case.rows("events")?);
    let mut systems: Vec<Gaps> = Vec::new();
    for row in &windows {
        let mut times = events(&faults, field(row, "unit"), "time")?;
        times.sort_by(f64::total_cmp);
        let mut last = 0.0;
        let gaps = times
            .iter()
            .map(|t| t - std::mem::replace(&mut last, *t))
            .collect();
        systems.push((gaps, number(row, "end")? - last));
    }
    let answer = |repair: Repair| -> Result<Value, String> {
        let fit = fit_virtual_age(&systems, repair, case.input("q_max")?);
        let VirtualAge {
            beta,
            eta,
            q,
            loglik,
        } = fit.ok_or("no maximum")?;
        Ok(json!({"beta": beta, "eta": eta, "q": q, "loglik": loglik}))
    };
    Ok(json!({"kijima1": answer(Repair::LastGap)?, "kijima2": answer(Repair::WholeAge)?}))
}
