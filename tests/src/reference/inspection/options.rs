//! `option.sizing`, `option.feasibility`, `record.missing`
use std::collections::BTreeMap;

use inspection::options::{
    InstantQuery, PeakHourQuery, VesselQuery, feasibility, instant, peak_hour, pipe,
    standing_check, vessel_check,
};
use inspection::records::{RecordKind, missing};
use inspection::{RuleBook, Values};
use serde_json::{Map, Value as Json, json};

use super::Answer;
use super::inputs::{say, show, take, whole};

pub fn answer(family: &str, i: &Json) -> Answer {
    match family {
        "option.sizing" => sizing(i),
        "option.feasibility" => {
            let book = RuleBook::shipped().map_err(say)?;
            let site: Values = take(i, "site")?;
            let options: Vec<String> = take(i, "options")?;
            let mut results = BTreeMap::new();
            for option in options {
                let answer = feasibility(book, &site, &option).map_err(say)?;
                results.insert(option, answer);
            }
            Ok(json!({ "results": results }))
        }
        "record.missing" => {
            let book = RuleBook::shipped().map_err(say)?;
            let kind: RecordKind = take(i, "kind")?;
            let record: Map<String, Json> = take(i, "record")?;
            let gaps = missing(book, kind, &record).map_err(say)?;
            Ok(json!({ "complete": gaps.is_empty(), "missing": gaps }))
        }
        _ => Err(format!("there is no family '{family}'")),
    }
}

fn sizing(i: &Json) -> Answer {
    let kind: String = take(i, "kind")?;
    match kind.as_str() {
        "peak_hour" => {
            let query: PeakHourQuery = whole(i)?;
            show(&peak_hour(&query).map_err(say)?)
        }
        "instant" => {
            let query: InstantQuery = whole(i)?;
            show(&instant(&query).map_err(say)?)
        }
        "pipe" => show(&pipe(take(i, "flow_lpm")?, take(i, "limit_m_s")?).map_err(say)?),
        "standing_loss" => show(&standing_check(
            take(i, "litres")?,
            take(i, "declared_kwh_24h")?,
        )),
        "vessel" => {
            let query: VesselQuery = whole(i)?;
            show(&vessel_check(&query).map_err(say)?)
        }
        _ => Err(format!("there is no sizing '{kind}'")),
    }
}
