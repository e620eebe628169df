//! What was typed, kept as typed; read into values with a sentence for each field that cannot be.
use std::collections::BTreeMap;
use std::str::FromStr;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use terms::Pence;
use usecases::{Error, FieldError};
use uuid::Uuid;

use crate::Failure;

/// The fields of a posted form, as typed. Use as `web::Form<Typed>`, then `.into_inner()`.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(from = "Vec<(String, String)>")]
pub(crate) struct Typed {
    fields: BTreeMap<String, Vec<String>>,
    wrongs: Vec<FieldError>,
}

impl From<Vec<(String, String)>> for Typed {
    fn from(pairs: Vec<(String, String)>) -> Self {
        let mut fields: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (name, value) in pairs {
            fields.entry(name).or_default().push(value);
        }
        Self {
            fields,
            wrongs: Vec::new(),
        }
    }
}

impl Typed {
    /// A form before anything was typed: field names with their first values.
    pub(crate) fn starting_with<const N: usize>(values: [(&str, String); N]) -> Self {
        let pairs = values
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value));
        Self::from(pairs.collect::<Vec<_>>())
    }

    /// A field as typed; empty when absent.
    pub(crate) fn value(&self, field: &str) -> &str {
        self.fields
            .get(field)
            .and_then(|v| v.first())
            .map_or("", String::as_str)
    }

    /// Every value of a field that may come several times.
    pub(crate) fn values(&self, field: &str) -> &[String] {
        self.fields.get(field).map_or(&[], Vec::as_slice)
    }

    /// Every field with its first value, by name.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        self.fields
            .iter()
            .map(|(k, v)| (k.as_str(), v.first().map_or("", String::as_str)))
    }

    /// Whether a tick was set.
    pub(crate) fn ticked(&self, field: &str) -> bool {
        !matches!(self.value(field), "" | "no" | "off")
    }

    /// The sentence beside a field, if it has one; for the forms' macros.
    pub(crate) fn error(&self, field: &str) -> Option<&str> {
        self.wrongs
            .iter()
            .find(|w| w.field == field)
            .map(|w| w.sentence.as_str())
    }

    /// What is wrong, for the summary on top: (field, sentence).
    pub(crate) fn wrongs(&self) -> Vec<(String, String)> {
        self.wrongs
            .iter()
            .map(|w| (w.field.clone(), w.sentence.clone()))
            .collect()
    }

    /// Lays what was typed, and what is wrong with it, over the values a form starts with.
    pub(crate) fn lay_over(&mut self, typed: &Self) {
        for (field, values) in &typed.fields {
            self.fields.insert(field.clone(), values.clone());
        }
        self.wrongs.extend(typed.wrongs.iter().cloned());
    }

    /// Adds a sentence beside a field.
    pub(crate) fn complain(&mut self, field: &str, sentence: impl Into<String>) {
        self.wrongs.push(FieldError::at(field, sentence));
    }

    /// Takes over what a use case found wrong; other errors go on to their page.
    pub(crate) fn take_wrongs(&mut self, error: Error) -> Result<(), Error> {
        match error {
            Error::Invalid(wrongs) => {
                self.wrongs.extend(wrongs);
                Ok(())
            }
            other => Err(other),
        }
    }

    /// Whether anything is wrong so far.
    pub(crate) fn is_wrong(&self) -> bool {
        !self.wrongs.is_empty()
    }

    /// The idempotency key of the form, in the hidden field `once`.
    pub(crate) fn once(&self) -> String {
        match self.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        }
    }

    /// A text that must not be empty.
    pub(crate) fn text(&mut self, field: &str, missing: &str) -> String {
        let text = self.value(field).trim().to_owned();
        if text.is_empty() {
            self.complain(field, missing);
        }
        text
    }

    /// A text, `None` when empty.
    pub(crate) fn text_or_none(&self, field: &str) -> Option<String> {
        Some(self.value(field).trim())
            .filter(|t| !t.is_empty())
            .map(str::to_owned)
    }

    /// A code or id; `missing` beside the field when it is not one.
    pub(crate) fn code<T: FromStr>(&mut self, field: &str, missing: &str) -> Option<T> {
        let read = self.value(field).trim().parse().ok();
        if read.is_none() {
            self.complain(field, missing);
        }
        read
    }

    /// A number within bounds; `None` when empty.
    pub(crate) fn number(&mut self, field: &str, low: f64, high: f64) -> Option<f64> {
        let text = self.value(field).trim().replace(',', "");
        if text.is_empty() {
            return None;
        }
        match text.parse::<f64>() {
            Ok(n) if n.is_finite() && (low..=high).contains(&n) => Some(n),
            _ => {
                let typed = self.value(field).to_owned();
                self.complain(
                    field,
                    format!("“{typed}” is not a number between {low} and {high}."),
                );
                None
            }
        }
    }

    /// A date as browsers send it (2026-11-25) or as people write it (25/11/2026); `None` when empty.
    pub(crate) fn date(&mut self, field: &str) -> Option<NaiveDate> {
        let text = self.value(field).trim().to_owned();
        if text.is_empty() {
            return None;
        }
        let read = NaiveDate::parse_from_str(&text, "%Y-%m-%d")
            .or_else(|_| NaiveDate::parse_from_str(&text, "%d/%m/%Y"))
            .or_else(|_| NaiveDate::parse_from_str(&text, "%d %B %Y"))
            .ok();
        if read.is_none() {
            self.complain(field, format!("“{text}” is not a date such as 25/11/2026."));
        }
        read
    }

    /// A wall time of day (14:30); `None` when empty.
    pub(crate) fn time(&mut self, field: &str) -> Option<NaiveTime> {
        let text = self.value(field).trim().to_owned();
        if text.is_empty() {
            return None;
        }
        let read = NaiveTime::parse_from_str(&text, "%H:%M")
            .or_else(|_| NaiveTime::parse_from_str(&text, "%H:%M:%S"))
            .or_else(|_| NaiveTime::parse_from_str(&text, "%H.%M"))
            .ok();
        if read.is_none() {
            self.complain(field, format!("“{text}” is not a time such as 14:30."));
        }
        read
    }

    /// A wall date and time as people say it ("07:30", "yesterday 18:00", "3 hours"), before `now`; `None` when empty.
    pub(crate) fn said_moment(&mut self, field: &str, now: NaiveDateTime) -> Option<NaiveDateTime> {
        let text = self.value(field).trim().to_owned();
        if text.is_empty() {
            return None;
        }
        let read = crate::spoken::moment(&text, now);
        if read.is_none() {
            self.complain(
                field,
                format!("“{text}” is not a time such as 07:30, yesterday 18:00, 3 hours, or 24/11 18:00."),
            );
        }
        read
    }

    /// An amount in pounds (“£1,250.50”); `None` when empty.
    pub(crate) fn pounds(&mut self, field: &str) -> Option<Pence> {
        let text = self.value(field).trim().to_owned();
        if text.is_empty() {
            return None;
        }
        let read = Pence::parse_pounds(&text).filter(|p| p.0 >= 0 && p.0 < 10_000_000_000);
        if read.is_none() {
            self.complain(field, format!("“{text}” is not an amount such as 412.00."));
        }
        read
    }
}

/// An id out of an address or a hidden field; anything else leads nowhere.
pub(crate) fn id_of<T: FromStr>(text: &str, what: &'static str) -> Result<T, Failure> {
    text.parse().ok().ok_or(Failure(Error::NotFound(what)))
}

/// A new idempotency key for a form.
pub(crate) fn fresh_once() -> String {
    Uuid::new_v4().to_string()
}
