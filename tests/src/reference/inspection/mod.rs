//! Cases of the room `inspection`: duty dates, clocks, formulas, findings, suspected parts,
//! completion, options, records. Every answer comes from the product's own code.
mod clocks;
mod compare;
mod duties;
mod findings;
mod formulas;
mod inputs;
mod options;
mod suspects;

use std::path::Path;

use serde_json::Value as Json;

use super::Report;
use super::report::Miss;

/// What a family answers: an object whose keys are compared, or why there is none.
type Answer = Result<Json, String>;

/// Judges the cases of `cases.json`, already read as `head`.
///
/// # Errors
/// A sentence naming what the file lacks.
pub fn run(folder: &Path, head: &Json, report: &mut Report) -> Result<(), String> {
    let cases = head
        .get("cases")
        .and_then(Json::as_array)
        .ok_or_else(|| format!("{}: cases.json holds no list of cases", folder.display()))?;
    for case in cases {
        let text = |key: &str| case.get(key).and_then(Json::as_str).unwrap_or("?");
        let (family, id) = (text("family"), text("id"));
        let nothing = Json::Null;
        let part = |key: &str| case.get(key).unwrap_or(&nothing);
        let (judged, misses) = match answer(family, part("inputs")) {
            Ok(got) => compare::compare(&got, part("expected"), part("tolerance")),
            Err(why) => {
                let miss = Miss {
                    path: "answer".to_owned(),
                    expected: part("expected").to_string(),
                    got: why,
                    tolerance: String::new(),
                };
                (1, vec![miss])
            }
        };
        report.case(family, id, judged, misses);
    }
    Ok(())
}

/// An unknown family fails.
fn answer(family: &str, inputs: &Json) -> Answer {
    match family.split_once('.').map_or(family, |f| f.0) {
        "duty" => duties::answer(family, inputs),
        "clock" => clocks::answer(family, inputs),
        "formula" => formulas::answer(inputs),
        "finding" => findings::answer(family, inputs),
        "suspect" | "completion" => suspects::answer(family, inputs),
        "option" | "record" => options::answer(family, inputs),
        _ => Err(format!("there is no family '{family}'")),
    }
}
