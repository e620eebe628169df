//! Reads inputs of a case by name.
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value as Json;

use super::Answer;

/// The input `key`; absent counts as null.
pub fn take<T: DeserializeOwned>(inputs: &Json, key: &str) -> Result<T, String> {
    let value = inputs.get(key).cloned().unwrap_or(Json::Null);
    serde_json::from_value(value).map_err(|e| format!("{key}: {e}"))
}

/// All inputs at once.
pub fn whole<T: DeserializeOwned>(inputs: &Json) -> Result<T, String> {
    serde_json::from_value(inputs.clone()).map_err(|e| e.to_string())
}

/// The product's answer as an object.
pub fn show<T: Serialize>(answer: &T) -> Answer {
    serde_json::to_value(answer).map_err(|e| e.to_string())
}

/// A refusal as a sentence.
pub fn say<E: ToString>(error: E) -> String {
    error.to_string()
}
