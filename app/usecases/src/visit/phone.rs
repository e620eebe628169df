//! The phone's part: what its script needs to say at once, without signal, what the rules say of a reading, and
//! whether it said the same as the rules here once the reading has come in.
use inspection::findings::{EarlierVisit, known_at};
use inspection::{RuleBook, Values};
use serde_json::{Map, Value as Json, json};

use super::assess::{Assessment, with_input, work_since};
use super::facts::{Facts, SheetView};
use super::handed::handed;
use super::sheet::Sheet;
use super::values::earlier;
use crate::Error;

/// How much of the rule book's digest a sheet carries with what the phone said.
const DIGEST: usize = 12;

/// What a sheet's page would say of the likely parts, and of its end, besides the readings.
const RANKING: &str = "ranking";
const COMPLETION: &str = "completion";

/// What the phone's scripts are told on a page of the sheet: the rule book's digest, the kind, the reading's code (empty
/// on pages of no reading), the values known besides what is typed, the sheet as kept and the job with its past.
///
/// # Errors
/// Only if the rule book itself is wrong.
pub fn for_phone(view: &SheetView, reading: &str) -> Result<Json, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    // Readings are read from the sheet there, those of this page as they are typed.
    let none = Values::new();
    let asked = (&view.facts, &view.sheet, &none);
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
    let mut about = handed(book, view);
    let more = json!({
        "on": view.facts.day,
        "next_due": view.facts.next_due,
        "work_since": work_since(&view.facts),
        "earlier": points,
        "digest": book.digest(),
        "kind": view.facts.kind_code(),
        "reading": reading,
        "known": object(&known),
        "makers": makers,
    });
    if let (Json::Object(about), Json::Object(more)) = (&mut about, more) {
        about.extend(more);
    }
    Ok(about)
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

/// The likely parts in the form the phone says them: the digest's beginning, the three codes, the best next test.
fn our_ranking(book: &RuleBook, judged: &Assessment) -> String {
    let digest = book.digest().get(..DIGEST).unwrap_or_default();
    let Some(ranking) = &judged.ranking else {
        return format!("{digest} -");
    };
    let test = ranking.best_test.as_deref().unwrap_or("-");
    format!("{digest} {} {test}", ranking.top3.join(","))
}

/// The blocks that stand in the form the phone says them: "0123456789ab hard:9,10 soft:resident_not_told".
fn our_completion(book: &RuleBook, judged: &Assessment) -> String {
    let digest = book.digest().get(..DIGEST).unwrap_or_default();
    let hard: Vec<String> = judged
        .completion
        .hard_blocks
        .iter()
        .map(ToString::to_string)
        .collect();
    let soft = judged.completion.soft_blocks.join(",");
    format!("{digest} hard:{} soft:{soft}", hard.join(","))
}

/// What the phone said otherwise than the rules here, of readings, of the likely parts, of the end: which, what it
/// said, what stands.
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
            let stands = match reading {
                RANKING => our_ranking(book, judged),
                COMPLETION => our_completion(book, judged),
                _ => ours(book, facts, judged, reading),
            };
            (said != stands).then(|| (reading.to_owned(), said.to_owned(), stands))
        })
        .collect())
}
