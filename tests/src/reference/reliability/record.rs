//! Families event-merge, scores and track-record.
use std::collections::BTreeMap;

use chrono::{Months, NaiveDate};
use dependability::merge::{Report, merge_repeat_visits};
use dependability::score::{self, Scored};
use dependability::track_record::{Fault, Issued, Record, Removal, known_last_year, meet};
use numerics::CountLaw;
use serde_json::{Map, Value, json};

use super::case::{Case, Row, date, day, field, number};

/// Family event-merge.
pub fn event_merge(case: &Case<'_>) -> Result<Value, String> {
    let rows = case.rows("reports")?;
    let mut reports = Vec::new();
    for row in &rows {
        reports.push(Report {
            order: number(row, "report")? as u64,
            unit: field(row, "unit").to_owned(),
            component: field(row, "component").to_owned(),
            link: field(row, "link").to_owned(),
            day: day(row, "happened_on")?,
            found_at_service: field(row, "found_at_service") == "1",
        });
    }
    let merged = merge_repeat_visits(&reports, case.input("window_days")? as i64);
    let faults: Vec<Value> = merged
        .failures
        .iter()
        .map(|f| {
            let first = f
                .reports
                .first()
                .map_or("", |i| field(&rows[*i], "happened_on"));
            json!([f.unit, f.component, first, f.reports.len()])
        })
        .collect();
    Ok(json!({
        "n_reports": reports.len(),
        "n_found_at_service": merged.found_at_service,
        "n_faults": merged.failures.len(),
        "n_merged_away": merged.merged_away,
        "faults": faults,
    }))
}

/// Family scores.
pub fn scores(case: &Case<'_>) -> Result<Value, String> {
    let mut scored = Vec::new();
    for row in case.rows("forecasts")? {
        let law = CountLaw {
            mean: number(&row, "nb_mean")?,
            inv_size: 1.0 / number(&row, "nb_size")?,
        };
        scored.push(Scored {
            law,
            observed: number(&row, "observed")? as u64,
        });
    }
    let brier = score::mean(&scored, Scored::brier);
    let share = score::mean(&scored, |s| f64::from(u8::from(s.happened()))).unwrap_or(0.0);
    let (observed, expected) = score::observed_expected(&scored);
    let squared = score::mean(&scored, |s| (s.observed as f64 - s.law.mean).powi(2));
    let calibration = score::calibration(&scored);
    let pit: Vec<Option<f64>> = (0..=10)
        .map(|i| score::pit(&scored, f64::from(i) / 10.0))
        .collect();
    let fifths: Vec<Value> = score::fifths(&scored)
        .into_iter()
        .map(|(n, chance, failed)| json!({"n": n, "mean_forecast": chance, "observed": failed}))
        .collect();
    Ok(json!({
        "n": scored.len(),
        "brier": brier,
        "brier_skill_vs_base_rate": brier.map(|b| 1.0 - b / (share * (1.0 - share))),
        "mean_log_score_event": score::mean(&scored, Scored::ln_event),
        "mean_log_score_count": score::mean(&scored, Scored::ln_count),
        "mean_crps": score::mean(&scored, Scored::crps),
        "auc": score::auc(&scored),
        "count_concordance": score::count_concordance(&scored),
        "observed_over_expected": observed / expected,
        "rmse": squared.map(f64::sqrt),
        "calibration_intercept": calibration.map(|c| c.0),
        "calibration_slope": calibration.map(|c| c.1),
        "pit_cdf": pit,
        "fifths": fifths,
    }))
}

const LAWS: [&str; 4] = ["model", "flat", "age", "last"];

fn issued(row: &Row) -> Result<Issued, String> {
    let made: NaiveDate = field(row, "made_on")
        .parse()
        .map_err(|e| format!("made_on: {e}"))?;
    let until = made
        .checked_add_months(Months::new(12))
        .ok_or("a date out of range")?;
    let law = |column: &str, inv_size: f64| -> Result<CountLaw, String> {
        Ok(CountLaw {
            mean: number(row, column)?,
            inv_size,
        })
    };
    Ok(Issued {
        made_on: date(field(row, "made_on"))?,
        until: date(&until.to_string())?,
        unit: field(row, "unit").to_owned(),
        laws: vec![
            law("nb_mean", 1.0 / number(row, "nb_size")?)?,
            law("flat_mean", 0.0)?,
            law("age_mean", 0.0)?,
            law("last_mean", 0.0)?,
        ],
    })
}

/// Family track-record.
pub fn track_record(case: &Case<'_>) -> Result<Value, String> {
    let rows = case.rows("forecasts")?;
    let forecasts: Vec<Issued> = rows.iter().map(issued).collect::<Result<_, _>>()?;
    let mut faults = Vec::new();
    for row in case.rows("faults")? {
        faults.push(Fault {
            unit: field(&row, "unit").to_owned(),
            happened_on: day(&row, "happened_on")?,
            recorded_on: day(&row, "recorded_on")?,
        });
    }
    let mut removals = Vec::new();
    for row in case.rows("removals")? {
        removals.push(Removal {
            unit: field(&row, "unit").to_owned(),
            removed_on: day(&row, "removed_on")?,
        });
    }
    let scored_on = date(
        case.inputs()
            .get("scored_on")
            .and_then(Value::as_str)
            .unwrap_or(""),
    )?;
    let record = meet(&forecasts, &faults, &removals, scored_on);
    let by_law: Vec<Vec<Scored>> = (0..LAWS.len())
        .map(|i| record.met.iter().map(|m| m.scored[i]).collect())
        .collect();
    let each = |score: fn(&[Scored]) -> Option<f64>| -> Value {
        LAWS.iter()
            .zip(&by_law)
            .map(|(name, own)| ((*name).to_owned(), json!(score(own))))
            .collect()
    };
    let (observed, expected) = score::observed_expected(&by_law[0]);
    let ci95 = score::observed_expected_ci95(&by_law[0], case.input("theta")?);
    Ok(json!({
        "n_scored": record.met.len(),
        "n_pending": record.pending,
        "known_last_year": forecasts.iter().map(|f| known_last_year(f, &faults)).sum::<usize>(),
        "observed_faults": observed,
        "expected_faults": expected,
        "observed_over_expected": observed / expected,
        "oe_ci95": ci95.map(|c| [c.0, c.1]),
        "brier": each(|s| score::mean(s, Scored::brier)),
        "log_score_event": each(|s| score::mean(s, Scored::ln_event)),
        "log_score_count": each(|s| score::mean(s, Scored::ln_count)),
        "auc": each(score::auc),
        "count_concordance": each(score::count_concordance),
        "calibration": calibration(&by_law[0], &case.list("bins")),
        "versus": versus(&record, &rows),
        "by_origin": by_origin(&record, &rows),
    }))
}

fn calibration(scored: &[Scored], bins: &[f64]) -> Value {
    let line = score::calibration(scored);
    let table: Vec<Value> = score::calibration_table(scored, bins)
        .iter()
        .map(|bin| {
            json!({
                "n": bin.n,
                "mean_forecast": bin.mean_chance,
                "failed": bin.failed,
                "observed": (bin.n > 0).then(|| bin.failed as f64 / bin.n as f64),
                "observed_ci80": bin.ci80.map(|c| [c.0, c.1]),
            })
        })
        .collect();
    json!({"intercept": line.map(|c| c.0), "slope": line.map(|c| c.1), "table": table})
}

fn versus(record: &Record, rows: &[Row]) -> Value {
    let against = |i: usize, score: fn(&Scored) -> f64, sign: f64| {
        let differences: Vec<(&str, f64)> = record
            .met
            .iter()
            .map(|m| {
                let ours = sign * (score(&m.scored[0]) - score(&m.scored[i]));
                (field(&rows[m.place], "building"), ours)
            })
            .collect();
        score::versus(&differences).map(|v| {
            json!({"mean": v.mean, "se": v.se, "ci95": [v.ci95.0, v.ci95.1], "better": v.better})
        })
    };
    (1..LAWS.len())
        .map(|i| {
            let both = json!({
                "log_score_count": against(i, Scored::ln_count, 1.0),
                "brier": against(i, Scored::brier, -1.0),
            });
            (LAWS[i].to_owned(), both)
        })
        .collect::<Map<String, Value>>()
        .into()
}

fn by_origin(record: &Record, rows: &[Row]) -> Value {
    let mut origins: BTreeMap<&str, (usize, u64, f64)> = BTreeMap::new();
    for met in &record.met {
        let sums = origins
            .entry(field(&rows[met.place], "made_on"))
            .or_default();
        sums.0 += 1;
        sums.1 += met.scored[0].observed;
        sums.2 += met.scored[0].law.mean;
    }
    origins
        .into_iter()
        .map(|(made_on, (n, observed, expected))| {
            json!({"made_on": made_on, "n": n, "observed_faults": observed, "expected_faults": expected})
        })
        .collect()
}
