//! `option.feasibility`, `record.missing`
use std::collections::BTreeMap;

use inspection::options::feasibility;
use inspection::records::{RecordKind, missing};
use inspection::{RuleBook, Values};
use serde_json::{Map, Value as Json, json};

use super::Answer;
use super::inputs::{say, take};

pub fn answer(family: &str, i: &Json) -> Answer {
    match family {
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
