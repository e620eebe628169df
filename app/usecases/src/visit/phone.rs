//! The phone's part: what its script needs to say at once, without signal, what the rules say of a reading, and
//! whether it said the same as the rules here once the reading has come in.
use inspection::findings::{EarlierVisit, known_at};
use inspection::{RuleBook, Values};
use serde_json::{Map, Value as Json, json};

use super::assess::{Assessment, with_input, work_since};
use super::facts::{Facts, SheetView};
use super::sheet::Sheet;
use super::values::earlier;
use crate::Error;

/// How much of the rule book's digest a sheet carries with what the phone said.
const DIGEST: usize = 12;

/// What the phone's script is told for one reading: the rule book's digest, the kind, the reading's code, and the
/// values known besides what is typed there.
///
/// # Errors
/// Only if the rule book itself is wrong.
pub fn for_phone(view: &SheetView, reading: &str) -> Result<Json, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let asked = (&view.facts, &view.sheet, &view.assessment.before);
    let known = with_input(book, asked, |input| known_at(book, input));
    let makers: Map<String, Json> = view
        .facts
        .makers
        .iter()
        .map(|(row, figures)| (row.clone(), Json::Object(object(figures))))
        .collect();
    let past = earlier(book, &view.facts);
    let trends = book
        .set(view.facts.kind_code())
        .map_or(&[][..], |set| set.trends.as_slice());
    // What the trend of this reading was before: points of each trend, in the order of the set.
    let points: Vec<Vec<Json>> = trends
        .iter()
        .filter(|spec| spec.reading == reading)
        .map(|spec| {
            let of = |visit: &EarlierVisit| {
                let value = spec.of.number(&visit.readings).ok()?;
                Some(json!({ "on": visit.on, "value": value }))
            };
            past.iter().filter_map(of).collect()
        })
        .collect();
    Ok(json!({
        "on": view.facts.day,
        "next_due": view.facts.next_due,
        "work_since": work_since(&view.facts),
        "earlier": points,
        "digest": book.digest(),
        "kind": view.facts.kind_code(),
        "reading": reading,
        "known": object(&known),
        "makers": makers,
    }))
}

/// Values as a JSON object; the constants are left out, the rule book has them.
fn object(values: &Values) -> Map<String, Json> {
    values
        .iter()
        .filter(|(name, value)| !name.starts_with("constant.") && !value.is_blank())
        .map(|(name, value)| (name.to_owned(), Json::from(value.clone())))
        .collect()
}

/// What the rules here say of a reading, in the form the phone says it: the digest's beginning, then `ROW:CODE` of
/// every limit of the reading that could be judged, in the order of the set.
fn ours(book: &RuleBook, facts: &Facts, judged: &Assessment, reading: &str) -> String {
    let digest = book.digest().get(..DIGEST).unwrap_or_default();
    let rows = book
        .set(facts.kind_code())
        .map_or(&[][..], |set| set.judge.as_slice())
        .iter()
        .filter(|rule| rule.reading == reading)
        .filter_map(|rule| Some(format!("{}:{}", rule.row, judged.judged.get(&rule.row)?)));
    std::iter::once(digest.to_owned())
        .chain(rows)
        .collect::<Vec<_>>()
        .join(" ")
}

/// Readings of which the phone said something else than the rules here: code, what it said, what stands.
///
/// # Errors
/// Only if the rule book itself is wrong.
pub(super) fn differences(
    facts: &Facts,
    sheet: &Sheet,
    judged: &Assessment,
) -> Result<Vec<(String, String, String)>, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    Ok(sheet
        .behind("p.")
        .filter(|(_, said)| !said.is_empty())
        .filter_map(|(reading, said)| {
            let stands = ours(book, facts, judged, reading);
            (said != stands).then(|| (reading.to_owned(), said.to_owned(), stands))
        })
        .collect())
}
