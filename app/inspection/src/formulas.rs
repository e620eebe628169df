//! The formulas of the rule book, worked out: F1–F21 of the trade file on readings, a few beside them, and sizes.
//! The same file is worked out by the script on the phone. Nothing is rounded.
use serde_json::{Map, Value as Json};

use crate::InspectionError;
use crate::expr::{Value, Values};
use crate::rulebook::{Call, Formula, How, RuleBook};

/// What a formula gives, by name.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Results(Vec<(String, Value)>);

impl Results {
    /// The number of that name, if it is known.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.value(name).as_number()
    }

    fn value(&self, name: &str) -> Value {
        let found = self.0.iter().find(|(n, _)| n == name);
        found.map_or(Value::Unknown, |(_, value)| value.clone())
    }

    /// The results as a JSON object; a dot in a name makes it a member of an inner object.
    pub fn to_json(&self) -> Json {
        let mut object = Map::new();
        for (name, value) in &self.0 {
            let json = Json::from(value.clone());
            match name.split_once('.') {
                None => {
                    object.insert(name.clone(), json);
                }
                Some((outer, inner)) => {
                    let at = object
                        .entry(outer)
                        .or_insert_with(|| Json::Object(Map::new()));
                    if let Some(members) = at.as_object_mut() {
                        members.insert(inner.to_owned(), json);
                    }
                }
            }
        }
        Json::Object(object)
    }
}

/// Works out the formula `code` of `book` for `values`, in the units their names end with.
///
/// # Errors
/// A formula the book does not hold; a value it needs that is missing or of the wrong sort; values for which it
/// does not hold or has no finite result.
pub fn evaluate(book: &RuleBook, code: &str, values: &Values) -> Result<Results, InspectionError> {
    let formula = book.formula(code)?;
    let mut known = book.constants();
    known.take_over("", values);
    must_hold(formula, &known)?;
    let mut lacking = None;
    for step in &formula.lets {
        let made = match &step.how {
            How::Expr(expr) => expr.value(&known),
            How::Call(call) => call_of(book, call, &known),
        };
        match made {
            Ok(value) => known.set(&step.name, value),
            // What cannot be worked out stays unknown; whoever needs it says so below.
            Err(InspectionError::Missing(name)) => {
                lacking.get_or_insert(name);
                known.set(&step.name, Value::Unknown);
            }
            Err(other) => return Err(other),
        }
    }
    must_hold(formula, &known)?;
    let results: Vec<(String, Value)> = formula
        .gives
        .iter()
        .map(|name| (name.clone(), known.get(name)))
        .collect();
    let needed = |name: &String| !formula.optional.contains(name);
    match results
        .iter()
        .find(|(n, value)| needed(n) && *value == Value::Unknown)
    {
        None => Ok(Results(results)),
        Some((name, _)) => Err(InspectionError::Missing(
            lacking.unwrap_or_else(|| name.clone()),
        )),
    }
}

fn call_of(book: &RuleBook, call: &Call, known: &Values) -> Result<Value, InspectionError> {
    let mut inputs = Values::new();
    for (name, expr) in &call.inputs {
        inputs.set(name, expr.value(known)?);
    }
    Ok(evaluate(book, &call.formula, &inputs)?.value(&call.result))
}

/// Refuses values for which a condition is known not to hold.
fn must_hold(formula: &Formula, known: &Values) -> Result<(), InspectionError> {
    let broken = formula
        .holds
        .iter()
        .find(|(holds, _)| holds.truth(known) == Ok(false));
    match broken {
        None => Ok(()),
        Some((_, words)) => Err(InspectionError::impossible(&formula.title, words)),
    }
}
