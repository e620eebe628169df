//! `formula`, `option.sizing`: worked out from the rule book.
use inspection::formulas::evaluate;
use inspection::{RuleBook, Values};
use serde_json::Value as Json;

use super::Answer;
use super::inputs::{say, take};

/// The formula `inputs.formula` names, or the size `inputs.kind` names.
pub fn answer(family: &str, i: &Json) -> Answer {
    let book = RuleBook::shipped().map_err(say)?;
    let code = match family {
        "option.sizing" => format!("size.{}", take::<String>(i, "kind")?),
        _ => take(i, "formula")?,
    };
    let inputs = i.as_object().ok_or("the inputs are no object")?;
    let results = evaluate(book, &code, &Values::from_json(inputs)).map_err(say)?;
    Ok(results.to_json())
}
