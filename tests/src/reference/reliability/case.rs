//! One case as read, its data files and the little reading help the families share.
use std::collections::BTreeMap;
use std::path::Path;

use serde_json::Value;

/// A case of `cases.json` with its folder.
pub struct Case<'a> {
    /// The folder of `cases.json`.
    pub folder: &'a Path,
    /// The case as it stands.
    pub value: &'a Value,
}

/// A row of a data file by column name.
pub type Row = BTreeMap<String, String>;

impl Case<'_> {
    /// A text field of the case.
    pub fn text(&self, key: &str) -> &str {
        self.value.get(key).and_then(Value::as_str).unwrap_or("")
    }

    /// `inputs`.
    pub fn inputs(&self) -> &Value {
        self.value.get("inputs").unwrap_or(&Value::Null)
    }

    /// `expected`.
    pub fn expected(&self) -> &Value {
        self.value.get("expected").unwrap_or(&Value::Null)
    }

    /// A number in `inputs`.
    ///
    /// # Errors
    /// If it is not there.
    pub fn input(&self, key: &str) -> Result<f64, String> {
        self.inputs()
            .get(key)
            .and_then(Value::as_f64)
            .ok_or_else(|| format!("inputs.{key} is missing"))
    }

    /// A list of numbers in `inputs`, empty if it is not there.
    pub fn list(&self, key: &str) -> Vec<f64> {
        numbers(self.inputs().get(key))
    }

    /// A list of texts in `inputs`, empty if it is not there.
    pub fn names(&self, key: &str) -> Vec<String> {
        texts(self.inputs().get(key))
    }

    /// Rows of the file in a role.
    ///
    /// # Errors
    /// A sentence naming the file.
    pub fn rows(&self, role: &str) -> Result<Vec<Row>, String> {
        let text = self.file(role)?;
        csv::Reader::from_reader(text.as_bytes())
            .deserialize()
            .collect::<Result<Vec<Row>, _>>()
            .map_err(|e| format!("{role}: {e}"))
    }

    /// Text of the file in a role.
    ///
    /// # Errors
    /// A sentence naming the file.
    pub fn file(&self, role: &str) -> Result<String, String> {
        let name = self
            .value
            .pointer(&format!("/files/{role}"))
            .and_then(Value::as_str);
        let name = name.ok_or_else(|| format!("the case has no file in the role {role}"))?;
        crate::reference::read(&self.folder.join(name))
    }
}

/// Numbers of a JSON list.
pub fn numbers(value: Option<&Value>) -> Vec<f64> {
    let items = value.and_then(Value::as_array);
    items
        .map(|list| list.iter().filter_map(Value::as_f64).collect())
        .unwrap_or_default()
}

/// Texts of a JSON list.
pub fn texts(value: Option<&Value>) -> Vec<String> {
    let items = value.and_then(Value::as_array);
    items
        .map(|list| {
            list.iter()
                .filter_map(Value::as_str)
                .map(str::to_owned)
                .collect()
        })
        .unwrap_or_default()
}

/// A number in a row.
///
/// # Errors
/// Naming the column.
pub fn number(row: &Row, column: &str) -> Result<f64, String> {
    let text = row
        .get(column)
        .ok_or_else(|| format!("no column {column}"))?;
    text.trim()
        .parse()
        .map_err(|e| format!("{column} {text:?}: {e}"))
}

/// A text in a row, empty if the column is not there.
pub fn field<'a>(row: &'a Row, column: &str) -> &'a str {
    row.get(column).map_or("", String::as_str)
}

/// Days since the common era of an ISO date in a row.
///
/// # Errors
/// Naming the column.
pub fn day(row: &Row, column: &str) -> Result<i64, String> {
    date(field(row, column))
}

/// Days since the common era of an ISO date.
///
/// # Errors
/// Naming the text.
pub fn date(text: &str) -> Result<i64, String> {
    use chrono::Datelike;
    let parsed: chrono::NaiveDate = text.parse().map_err(|e| format!("date {text:?}: {e}"))?;
    Ok(i64::from(parsed.num_days_from_ce()))
}

/// A number that is one, or null: not-a-number must never pass for "undefined".
pub fn finite(value: f64) -> Value {
    if value.is_finite() {
        Value::from(value)
    } else {
        Value::from("not a number")
    }
}

/// The priors of a list of {mean, sd}.
///
/// # Errors
/// If one is not whole.
pub fn priors(value: Option<&Value>) -> Result<Option<Vec<dependability::Normal>>, String> {
    let Some(list) = value.and_then(Value::as_array) else {
        return Ok(None);
    };
    list.iter()
        .map(|p| serde_json::from_value(p.clone()).map_err(|e| format!("prior: {e}")))
        .collect::<Result<_, _>>()
        .map(Some)
}
