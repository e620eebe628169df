//! From typed readings to values, and back from stored readings.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::findings::EarlierVisit;
use inspection::readings::{set_for, tests_for};
use inspection::rulebook::ReadingSpec;
use inspection::{RuleBook, Value, Values};
use terms::unit::Reading;

use super::facts::Facts;
use super::sheet::Sheet;
use crate::FieldError;
use crate::work::wall;

/// A part or kind a sheet may name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartChoice {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
}

/// Code and name of every kind of unit, for a replacement.
pub fn kinds_of(facts: &Facts) -> Vec<PartChoice> {
    facts
        .kinds
        .iter()
        .map(|k| PartChoice {
            code: k.code.clone(),
            name: k.name.clone(),
        })
        .collect()
}

/// The parts of a unit's kind: those that have clocks of their own.
pub fn parts_of_kind(facts: &Facts) -> Vec<PartChoice> {
    facts
        .parts
        .iter()
        .map(|p| PartChoice {
            code: p.code.clone(),
            name: p.name.clone(),
        })
        .collect()
}

/// The readings and tests of a kind.
pub(super) fn specs<'a>(
    book: &'a RuleBook,
    kind: &str,
) -> impl Iterator<Item = &'a ReadingSpec> + use<'a> {
    set_for(book, kind).iter().chain(tests_for(book, kind))
}

/// The fields of a kind typed under a prefix ("r." or "a."); what cannot be read goes to `wrongs`, each at its field.
pub(super) fn typed_values(
    book: &RuleBook,
    kind: &str,
    (sheet, prefix): (&Sheet, &str),
    wrongs: &mut Vec<FieldError>,
) -> Values {
    let mut values = Values::new();
    for field in specs(book, kind).flat_map(|spec| &spec.fields) {
        let key = format!("{prefix}{}", field.code);
        match field.read(sheet.get(&key)) {
            Ok(value) if value.is_blank() => {}
            Ok(value) => values.set(&field.code, value),
            Err(error) => {
                if !wrongs.iter().any(|w| w.field == key) {
                    wrongs.push(FieldError::at(&key, format!("{error}.")));
                }
            }
        }
    }
    values
}

/// Earlier visits' fields, oldest first; as left over as found, one entry a day.
pub(super) fn earlier(book: &RuleBook, facts: &Facts) -> Vec<EarlierVisit> {
    let mut by_day: BTreeMap<NaiveDate, Values> = BTreeMap::new();
    for stage in ["before", "after"] {
        for (_, reading) in facts.readings.iter().rev() {
            let on = wall::day(reading.taken_at);
            if reading.stage != stage || on >= facts.day {
                continue;
            }
            if let Some(value) = stored_value(book, facts, reading) {
                by_day.entry(on).or_default().set(&reading.code, value);
            }
        }
    }
    by_day
        .into_iter()
        .map(|(on, readings)| EarlierVisit { on, readings })
        .collect()
}

fn stored_value(book: &RuleBook, facts: &Facts, reading: &Reading) -> Option<Value> {
    if let Some(number) = reading.value {
        return Some(number.into());
    }
    let field = specs(book, facts.kind_code())
        .flat_map(|spec| &spec.fields)
        .find(|f| f.code == reading.code)?;
    field.read(&reading.words).ok().filter(|v| !v.is_blank())
}

/// Last day of calibration by reading: by the instrument chosen, else as typed.
pub(super) fn calibrated_until(facts: &Facts, sheet: &Sheet) -> BTreeMap<String, NaiveDate> {
    let mut until: BTreeMap<String, NaiveDate> = BTreeMap::new();
    for (reading, typed) in sheet.behind("cal.") {
        if let Ok(day) = typed.parse() {
            until.insert(reading.to_owned(), day);
        }
    }
    for (reading, id) in sheet.behind("i.") {
        let chosen = facts.instruments.iter().find(|i| i.id.to_string() == id);
        if let Some(instrument) = chosen {
            until.insert(reading.to_owned(), instrument.calibrated_until);
        }
    }
    until
}

/// The name of the instrument a reading was taken with.
pub(super) fn instrument_name(facts: &Facts, sheet: &Sheet, reading: &str) -> String {
    let id = sheet.get(&format!("i.{reading}")).to_owned();
    facts
        .instruments
        .iter()
        .find(|i| i.id.to_string() == id)
        .map_or_else(String::new, |i| i.name.clone())
}

/// Whether the fields of a reading were given under a prefix.
pub(super) fn taken(spec: &ReadingSpec, values: &Values) -> bool {
    if spec.any {
        return spec.fields.iter().any(|f| values.has(&f.code));
    }
    let mut needed = spec.fields.iter().filter(|f| !f.optional).peekable();
    needed.peek().is_some() && needed.all(|f| values.has(&f.code))
}
