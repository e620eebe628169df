//! From JSON to an expression; everything wrong with one is found when the rule book is read.
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Value as Json;

use super::{Expr, Op, Value};

/// Name, operation, fewest and most operands.
const OPS: [(&str, Op, usize, usize); 27] = [
    ("+", Op::Add, 2, 9),
    ("-", Op::Subtract, 2, 2),
    ("*", Op::Multiply, 2, 9),
    ("/", Op::Divide, 2, 2),
    ("abs", Op::Abs, 1, 1),
    ("min", Op::Min, 2, 9),
    ("max", Op::Max, 2, 9),
    ("<", Op::Less, 2, 2),
    ("<=", Op::LessOrEqual, 2, 2),
    (">", Op::Greater, 2, 2),
    (">=", Op::GreaterOrEqual, 2, 2),
    ("=", Op::Equal, 2, 2),
    ("and", Op::And, 2, 19),
    ("or", Op::Or, 2, 19),
    ("not", Op::Not, 1, 1),
    ("known", Op::Known, 1, 1),
    ("yes", Op::Yes, 1, 1),
    ("no", Op::No, 1, 1),
    ("blank", Op::Blank, 1, 1),
    ("else", Op::Else, 2, 9),
    ("if", Op::If, 3, 3),
    ("before", Op::Before, 2, 2),
    ("ln", Op::Ln, 1, 1),
    ("pow", Op::Power, 2, 2),
    ("gamma", Op::Gamma, 1, 1),
    ("sum", Op::Sum, 2, 2),
    ("first", Op::First, 2, 2),
];

impl<'de> Deserialize<'de> for Expr {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        read(&Json::deserialize(from)?).map_err(D::Error::custom)
    }
}

fn read(json: &Json) -> Result<Expr, String> {
    match json {
        Json::Number(_) | Json::Bool(_) => Ok(Expr::Literal(Value::from(json))),
        Json::String(name) => Ok(Expr::Name(name.clone())),
        Json::Array(list) => read_list(list),
        _ => Err(format!(
            "{json} is neither a value, a name nor an operation"
        )),
    }
}

fn read_list(list: &[Json]) -> Result<Expr, String> {
    let [Json::String(name), operands @ ..] = list else {
        return Err("an operation starts with its name".to_owned());
    };
    if name == "is" {
        let [of, words @ ..] = operands else {
            return Err("'is' needs a value and its words".to_owned());
        };
        let words: Option<Vec<String>> = words
            .iter()
            .map(|w| w.as_str().map(str::to_owned))
            .collect();
        return match words {
            Some(words) if !words.is_empty() => Ok(Expr::Is(Box::new(read(of)?), words)),
            _ => Err("'is' needs words".to_owned()),
        };
    }
    let Some(&(_, op, fewest, most)) = OPS.iter().find(|o| o.0 == name) else {
        return Err(format!("there is no operation '{name}'"));
    };
    if !(fewest..=most).contains(&operands.len()) {
        return Err(format!(
            "'{name}' takes {fewest} to {most} operands, not {}",
            operands.len()
        ));
    }
    let operands: Result<Vec<Expr>, String> = operands.iter().map(read).collect();
    Ok(Expr::Apply(op, operands?))
}

impl Serialize for Expr {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        write(self).serialize(to)
    }
}

fn write(expr: &Expr) -> Json {
    match expr {
        Expr::Literal(Value::Number(number)) => Json::from(*number),
        Expr::Literal(Value::Bool(truth)) => Json::from(*truth),
        Expr::Literal(_) => Json::Null,
        Expr::Name(name) => Json::from(name.as_str()),
        Expr::Is(of, words) => {
            let mut list = vec![Json::from("is"), write(of)];
            list.extend(words.iter().map(|w| Json::from(w.as_str())));
            Json::Array(list)
        }
        Expr::Apply(op, operands) => {
            let name = OPS.iter().find(|o| o.1 == *op).map_or("", |o| o.0);
            let mut list = vec![Json::from(name)];
            list.extend(operands.iter().map(write));
            Json::Array(list)
        }
    }
}
