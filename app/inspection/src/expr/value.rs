//! The values a rule speaks of, by name.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The name of a list's item that is no object.
pub const ITEM: &str = "it";

/// One value: a number in the unit of its field, yes or no, a word or date, a list, or not known.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// A finite number.
    Number(f64),
    /// Yes or no.
    Bool(bool),
    /// A word, or an ISO date.
    Text(String),
    /// Several of a sort, each with its own names; an item that is no object is named [`ITEM`].
    List(Vec<Values>),
    /// Not given.
    #[default]
    Unknown,
}

impl Value {
    /// Whether nothing is said: unknown, or text of spaces.
    pub fn is_blank(&self) -> bool {
        match self {
            Self::Unknown => true,
            Self::Text(text) => text.trim().is_empty(),
            Self::List(items) => items.is_empty(),
            Self::Number(_) | Self::Bool(_) => false,
        }
    }

    /// The number, if it is one.
    pub fn as_number(&self) -> Option<f64> {
        if let Self::Number(number) = self {
            Some(*number)
        } else {
            None
        }
    }
}

impl From<f64> for Value {
    /// A number that is not finite counts as unknown.
    fn from(number: f64) -> Self {
        if number.is_finite() {
            Self::Number(number)
        } else {
            Self::Unknown
        }
    }
}

impl From<bool> for Value {
    fn from(truth: bool) -> Self {
        Self::Bool(truth)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&serde_json::Value> for Value {
    /// Objects count as unknown.
    fn from(json: &serde_json::Value) -> Self {
        match json {
            serde_json::Value::Bool(truth) => Self::Bool(*truth),
            serde_json::Value::Number(number) => number.as_f64().map_or(Self::Unknown, Self::from),
            serde_json::Value::String(text) => Self::Text(text.clone()),
            serde_json::Value::Array(items) => Self::List(items.iter().map(item).collect()),
            _ => Self::Unknown,
        }
    }
}

fn item(json: &serde_json::Value) -> Values {
    match json.as_object() {
        Some(object) => Values::from_json(object),
        None => Values::new().with(ITEM, Value::from(json)),
    }
}

impl From<Value> for serde_json::Value {
    fn from(value: Value) -> Self {
        match value {
            Value::Number(number) => Self::from(number),
            Value::Bool(truth) => Self::Bool(truth),
            Value::Text(text) => Self::String(text),
            Value::List(_) | Value::Unknown => Self::Null,
        }
    }
}

/// Values by name.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Values(BTreeMap<String, Value>);

impl Values {
    /// No values.
    pub fn new() -> Self {
        Self::default()
    }

    /// The value of that name, or unknown.
    pub fn get(&self, name: &str) -> Value {
        self.0.get(name).cloned().unwrap_or_default()
    }

    /// The number of that name, if it is one.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.0.get(name).and_then(Value::as_number)
    }

    /// Whether something is said under that name.
    pub fn has(&self, name: &str) -> bool {
        self.0.get(name).is_some_and(|v| !v.is_blank())
    }

    /// Sets a value.
    pub fn set(&mut self, name: &str, value: impl Into<Value>) {
        self.0.insert(name.to_owned(), value.into());
    }

    /// The same, for building in one expression.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.set(name, value);
        self
    }

    /// Takes over every value of `other`, each name behind `prefix`.
    pub fn take_over(&mut self, prefix: &str, other: &Self) {
        for (name, value) in &other.0 {
            self.0.insert(format!("{prefix}{name}"), value.clone());
        }
    }

    /// Names and values in the order of the names.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value))
    }

    /// The members of a JSON object that are plain values; nested objects by dotted names, each
    /// such object itself by `true`.
    pub fn from_json(object: &serde_json::Map<String, serde_json::Value>) -> Self {
        let mut values = Self::new();
        values.flatten("", object);
        values
    }

    fn flatten(&mut self, prefix: &str, object: &serde_json::Map<String, serde_json::Value>) {
        for (name, json) in object {
            let name = format!("{prefix}{name}");
            if let Some(inner) = json.as_object() {
                self.flatten(&format!("{name}."), inner);
                self.set(&name, true);
            } else {
                self.set(&name, Value::from(json));
            }
        }
    }
}

/// `value` to 6 decimals, as every value is before it meets a limit: 1.1 − 1.0 counts as 0.1
/// whatever the binary arithmetic leaves.
pub fn round6(value: f64) -> f64 {
    let scaled = value * 1e6;
    if scaled.is_finite() {
        scaled.round() / 1e6
    } else {
        value
    }
}
