//! Formulas as the file holds them: named steps, what they give, what must hold of the values.
use serde::{Deserialize, Deserializer, de::Error};
use serde_json::Value as Json;

use crate::expr::Expr;

/// One formula. Nothing is rounded in it.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Formula {
    /// Its code: `F1` to `F21` of the trade file on readings, or a word.
    pub formula: String,
    /// What it answers.
    pub title: String,
    /// The formula in symbols, with units.
    pub words: String,
    /// How it is known.
    pub status: String,
    /// Its source, may be empty.
    pub source: String,
    /// Steps, in order.
    pub lets: Vec<Step>,
    /// The names of its results; a dot in a name makes it a member.
    pub gives: Vec<String>,
    /// Of these, those that may stay unknown.
    #[serde(default)]
    pub optional: Vec<String>,
    /// What must hold, and the words that refuse it otherwise.
    #[serde(default)]
    pub holds: Vec<(Expr, String)>,
}

/// One step: a name, and an expression or the result of another formula.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What it makes.
    pub name: String,
    /// How.
    pub how: How,
}

/// How a step is made.
#[derive(Clone, Debug, PartialEq)]
pub enum How {
    /// By an expression.
    Expr(Expr),
    /// By another formula.
    Call(Call),
}

/// `["of", formula, result, [input, expression] …]`
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    /// The formula.
    pub formula: String,
    /// Which of its results.
    pub result: String,
    /// Its inputs, made from the caller's values.
    pub inputs: Vec<(String, Expr)>,
}

impl Step {
    /// The formula it calls, if it does.
    pub fn call(&self) -> Option<&Call> {
        match &self.how {
            How::Call(call) => Some(call),
            How::Expr(_) => None,
        }
    }
}

impl<'de> Deserialize<'de> for Step {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let (name, json) = <(String, Json)>::deserialize(from)?;
        let how = match json.as_array().map(Vec::as_slice) {
            Some(
                [
                    Json::String(of),
                    Json::String(formula),
                    Json::String(result),
                    inputs @ ..,
                ],
            ) if of == "of" => {
                let inputs: Result<_, _> = inputs
                    .iter()
                    .map(|pair| serde_json::from_value(pair.clone()))
                    .collect();
                How::Call(Call {
                    formula: formula.clone(),
                    result: result.clone(),
                    inputs: inputs.map_err(D::Error::custom)?,
                })
            }
            _ => How::Expr(serde_json::from_value(json).map_err(D::Error::custom)?),
        };
        Ok(Self { name, how })
    }
}
