//! `finding`, `finding.trend`, `finding.visit`
use inspection::findings::{Given, Point, TrendQuery, gaps, judge, trend};
use inspection::rulebook::LimitKind;
use inspection::{RuleBook, Values};
use serde::Deserialize;
use serde_json::{Value as Json, json};

use super::Answer;
use super::inputs::{say, show, take};

pub fn answer(family: &str, i: &Json) -> Answer {
    let book = RuleBook::shipped().map_err(say)?;
    match family {
        "finding" => {
            let row: String = take(i, "row")?;
            let values: Values = take(i, "values")?;
            let makers: Option<Values> = take(i, "makers_limits")?;
            show(&judge(book, &row, &values, makers.as_ref()).map_err(say)?)
        }
        "finding.trend" => trend_answer(i),
        "finding.visit" => {
            let kind: String = take(i, "unit_kind")?;
            let given: Vec<Given> = take(i, "readings")?;
            let found = gaps(
                book,
                &kind,
                take(i, "visit_on")?,
                take(i, "first_service")?,
                &given,
            );
            Ok(json!({ "findings": found.map_err(say)? }))
        }
        _ => Err(format!("there is no family '{family}'")),
    }
}

#[derive(Deserialize)]
struct LimitInput {
    kind: LimitKind,
    value: f64,
}

fn trend_answer(i: &Json) -> Answer {
    let series: Vec<Point> = take(i, "series")?;
    let limit: LimitInput = take(i, "limit")?;
    show(&trend(&TrendQuery {
        series: &series,
        kind: limit.kind,
        limit: limit.value,
        next_due: take(i, "next_due")?,
        work_recorded_since_last: take(i, "work_recorded_since_last")?,
    }))
}
