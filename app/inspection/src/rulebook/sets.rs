//! Which readings a visit takes of each unit kind, and which limits they meet.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Deserialize;

use crate::InspectionError;
use crate::coded::coded;
use crate::expr::{Expr, Value};

/// The readings of one or several unit kinds.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Set {
    /// Codes of the kinds.
    pub kinds: Vec<String>,
    /// Their name.
    pub title: String,
    /// The least a service records, in the order of the sheet.
    pub readings: Vec<ReadingSpec>,
    /// What may be measured besides; never missed.
    pub tests: Vec<ReadingSpec>,
    /// Limits the readings meet, in order.
    pub judge: Vec<Judge>,
    /// Readings whose trend is watched.
    pub trends: Vec<TrendSpec>,
}

impl Set {
    /// A reading or test by code.
    pub fn reading(&self, code: &str) -> Option<&ReadingSpec> {
        self.readings
            .iter()
            .chain(&self.tests)
            .find(|r| r.code == code)
    }
}

/// One reading of the sheet, with the fields it asks.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingSpec {
    /// Its code.
    pub code: String,
    /// Its name on the sheet.
    pub label: String,
    /// Where it is taken.
    pub place: String,
    /// How, in a line; may be empty.
    pub hint: String,
    /// The conditions without which the figure says little: flow, outside temperature, how long it ran. Empty where none
    /// matters; they are asked beside the reading and kept with it.
    #[serde(default)]
    pub conditions: String,
    /// What is typed in, in order.
    pub fields: Vec<FieldSpec>,
    /// One field is enough; otherwise every field that is not optional is needed.
    #[serde(default)]
    pub any: bool,
    /// Asked at the first service only.
    #[serde(default)]
    pub first_service: bool,
}

impl ReadingSpec {
    /// Whether every field is a number.
    pub fn numeric(&self) -> bool {
        self.fields.iter().all(|f| f.answer == Answer::Number)
    }

    /// Its name without the list of its fields: "Hot outlet" of "Hot outlet: temperature and flow".
    pub fn head(&self) -> &str {
        let end = [":", ", and "]
            .iter()
            .filter_map(|mark| self.label.find(mark))
            .min();
        &self.label[..end.unwrap_or(self.label.len())]
    }

    /// What one of its fields is called where it stands alone: "Hot outlet: flow", "Primary with no demand: primary
    /// return". What the name says already is not said twice.
    pub fn name_of(&self, field: &FieldSpec) -> String {
        if self.fields.len() == 1 {
            return self.label.clone();
        }
        let head = self.head();
        let (whole, own) = (head.to_lowercase(), field.label.to_lowercase());
        let says_it = whole.ends_with(&format!(" {own}")) && !whole.contains(" and ");
        if whole == own || says_it {
            return head.to_owned();
        }
        format!("{head}: {}", lower_first(&field.label))
    }
}

/// The first letter made small, unless the word is written in capitals: "CO" stays.
fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() || second == ' ' => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => words.to_owned(),
    }
}

coded! {
    /// What a field takes.
    Answer {
        /// A number in the field's unit.
        Number = "number",
        /// Yes or no.
        YesNo = "yes_no",
        /// One of its choices.
        Choice = "choice",
        /// Words.
        Text = "text",
        /// A date.
        Date = "date",
    }
}

/// A choice: its code and its words.
pub type Choice = (String, String);

/// One field of a reading.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FieldSpec {
    /// Its code, one meaning within a set.
    pub code: String,
    /// Its name on the sheet.
    pub label: String,
    /// Unit of measure, empty if none.
    #[serde(default)]
    pub unit: String,
    /// What it takes.
    pub answer: Answer,
    /// The choices of a choice.
    #[serde(default)]
    pub choices: Vec<Choice>,
    /// Least number that can be.
    #[serde(default)]
    pub least: Option<f64>,
    /// Greatest number that can be.
    #[serde(default)]
    pub most: Option<f64>,
    /// May be left empty without the reading being missed.
    #[serde(default)]
    pub optional: bool,
}

impl FieldSpec {
    /// Reads what was typed. Blank is unknown; numbers take a point or a comma.
    ///
    /// # Errors
    /// Anything that is not what the field takes, or cannot be.
    pub fn read(&self, typed: &str) -> Result<Value, InspectionError> {
        let typed = typed.trim();
        if typed.is_empty() {
            return Ok(Value::Unknown);
        }
        let refuse = |why: &str| Err(InspectionError::impossible(&self.label, why));
        match self.answer {
            Answer::Number => self.read_number(typed),
            Answer::YesNo => match typed.to_ascii_lowercase().as_str() {
                "yes" | "true" | "1" | "on" => Ok(Value::Bool(true)),
                "no" | "false" | "0" => Ok(Value::Bool(false)),
                _ => refuse("answer yes or no"),
            },
            Answer::Choice if self.choices.iter().any(|c| c.0 == typed) => Ok(typed.into()),
            Answer::Choice => refuse("choose one of the list"),
            Answer::Date if NaiveDate::parse_from_str(typed, "%Y-%m-%d").is_ok() => {
                Ok(typed.into())
            }
            Answer::Date => refuse("write the date as 2026-03-15"),
            Answer::Text => Ok(typed.into()),
        }
    }

    fn read_number(&self, typed: &str) -> Result<Value, InspectionError> {
        let number: Option<f64> = typed.replace(',', ".").parse().ok();
        let Some(number) = number.filter(|n| n.is_finite()) else {
            return Err(InspectionError::impossible(&self.label, "write a number"));
        };
        let (least, most) = (
            self.least.unwrap_or(f64::MIN),
            self.most.unwrap_or(f64::MAX),
        );
        if (least..=most).contains(&number) {
            Ok(Value::Number(number))
        } else {
            Err(InspectionError::impossible(
                &self.label,
                &format!("must lie between {least} and {most} {}", self.unit),
            ))
        }
    }
}

/// A limit that readings of this set meet.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Judge {
    /// The limit's row.
    pub row: String,
    /// The reading it is shown beside.
    pub reading: String,
    /// Values that must be given before it is judged.
    pub given: Vec<String>,
    /// Values of the limit that are not fields of the same name.
    #[serde(default)]
    pub with: BTreeMap<String, Expr>,
}

coded! {
    /// Which side of a limit is good; on the limit is good.
    LimitKind {
        /// At least.
        Min = "min",
        /// At most.
        Max = "max",
    }
}

/// A number whose trend is watched.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrendSpec {
    /// The reading it is shown beside.
    pub reading: String,
    /// Its name inside a sentence.
    pub label: String,
    /// Unit of measure.
    pub unit: String,
    /// The number, of the fields of one visit.
    pub of: Expr,
    /// Which side is good.
    pub limit: LimitKind,
    /// The limit.
    pub value: Expr,
}
