//! Reliability: cases of the schema `reliability-cases-2`, computed with `dependability` and `costing`.
mod blocks;
pub mod case;
mod fleet;
pub mod judge;
mod lives;
mod power_law;
mod record;
mod recurrent;
mod tables;
mod terminal;

use std::path::Path;

use serde_json::Value;

use super::Report;
use super::report::Miss;
use case::Case;

/// Judges the cases of `cases.json`, already read as `head`.
///
/// # Errors
/// A sentence if the file holds no list of cases.
pub fn run(folder: &Path, head: &Value, report: &mut Report) -> Result<(), String> {
    let cases = head.get("cases").and_then(Value::as_array);
    for value in cases.ok_or_else(|| format!("{}: no list of cases", folder.display()))? {
        let case = Case { folder, value };
        let (family, id) = (case.text("family"), case.text("id"));
        let Some(compute) = computation(family) else {
            report.skip(family, id, "not built yet");
            continue;
        };
        match compute(&case) {
            Ok(got) => {
                let tolerance = value.get("tolerance").unwrap_or(&Value::Null);
                let (judged, misses) = judge::judge(case.expected(), &got, tolerance);
                report.case(family, id, judged, misses);
            }
            Err(why) => {
                let miss = Miss {
                    path: "(whole case)".to_owned(),
                    expected: "an answer".to_owned(),
                    got: why,
                    tolerance: "none".to_owned(),
                };
                report.case(family, id, 1, vec![miss]);
            }
        }
    }
    Ok(())
}

type Computation = fn(&Case<'_>) -> Result<Value, String>;

fn computation(family: &str) -> Option<Computation> {
    Some(match family {
        "weibull-life" => lives::weibull_life,
        "km-left-truncated" => lives::kaplan_meier,
        "competing-risks" => lives::competing_risks,
        "terminal-causes" => lives::terminal_causes,
        "part-renewal" => lives::part_renewal,
        "power-law-single" => power_law::single,
        "power-law-multi" => power_law::multi,
        "power-law-grouped" => power_law::grouped,
        "recurrent-frailty" => recurrent::frailty,
        "mcf" => recurrent::mcf,
        "posterior-predictive" => tables::posterior_predictive,
        "numeric-edges" => tables::numeric_edges,
        "optimal-replacement" => tables::optimal_replacement,
        "fleet-forecast" => fleet::forecast,
        "block-forecast" => blocks::forecast,
        "nested-block" => blocks::nested,
        "joint-terminal" => terminal::joint,
        "date-doubt" => terminal::date_doubt,
        "virtual-age" => terminal::virtual_age,
        "event-merge" => record::event_merge,
        "scores" => record::scores,
        "track-record" => record::track_record,
        _ => return None,
    })
}
