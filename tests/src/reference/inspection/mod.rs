//! Cases of the room `inspection`: duty dates, clocks, formulas, findings, suspected parts,
//! completion, options, records. Every answer comes from the product's own code.
mod clocks;
pub mod compare;
mod duties;
mod findings;
mod formulas;
mod inputs;
mod options;
pub mod phone;
mod suspects;

use std::path::Path;

use serde_json::Value as Json;

use super::Report;
use super::report::Miss;

/// What a family answers: an object whose keys are compared, or why there is none.
pub type Answer = Result<Json, String>;

/// Judges the cases of `cases.json`, already read as `head`.
///
/// # Errors
/// A sentence naming what the file lacks.
pub fn run(folder: &Path, head: &Json, report: &mut Report) -> Result<(), String> {
    let cases = head
        .get("cases")
        .and_then(Json::as_array)
        .ok_or_else(|| format!("{}: cases.json holds no list of cases", folder.display()))?;
    let judged_before = report.judged();
    let phone = if report.on_the_phone {
        let asked: Vec<(&str, &Json)> = cases.iter().map(|c| (text(c, "family"), of(c))).collect();
        phone::answers(&asked)?
    } else {
        Vec::new()
    };
    for case in cases {
        judge(
            case,
            text(case, "family"),
            answer(text(case, "family"), of(case)),
            report,
        );
    }
    for (case, got) in cases.iter().zip(phone) {
        let family = format!("on the phone: {}", text(case, "family"));
        judge(case, &family, got, report);
    }
    // None of this room may be left out: each case is judged here and, when asked, on the phone.
    let owed = cases.len() * if report.on_the_phone { 2 } else { 1 };
    let left = owed.saturating_sub(report.judged() - judged_before);
    let (met, skipped) = report.inspection.unwrap_or_default();
    report.inspection = Some((met + cases.len(), skipped + left));
    Ok(())
}

fn text<'a>(case: &'a Json, key: &str) -> &'a str {
    case.get(key).and_then(Json::as_str).unwrap_or("?")
}

fn of(case: &Json) -> &Json {
    case.get("inputs").unwrap_or(&Json::Null)
}

fn judge(case: &Json, family: &str, answer: Answer, report: &mut Report) {
    let part = |key: &str| case.get(key).unwrap_or(&Json::Null);
    let (judged, misses) = match answer {
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
    report.case(family, text(case, "id"), judged, misses);
}

/// The product's answer to a case of `family`.
///
/// # Errors
/// Why there is none; an unknown family fails.
pub fn answer(family: &str, inputs: &Json) -> Answer {
    if family == "option.sizing" {
        return formulas::answer(family, inputs);
    }
    match family.split_once('.').map_or(family, |f| f.0) {
        "duty" => duties::answer(family, inputs),
        "clock" => clocks::answer(family, inputs),
        "formula" => formulas::answer(family, inputs),
        "finding" => findings::answer(family, inputs),
        "suspect" | "completion" => suspects::answer(family, inputs),
        "option" | "record" => options::answer(family, inputs),
        _ => Err(format!("there is no family '{family}'")),
    }
}
