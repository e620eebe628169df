//! Which options a site allows, by the rows of the rule book. Unknown is never "fits".
use serde::Serialize;

use crate::InspectionError;
use crate::expr::Values;
use crate::rulebook::{FeasibilityVerdict, RuleBook};

/// What a site says to one option.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Feasibility {
    /// The gravest of the rows that fired.
    pub verdict: FeasibilityVerdict,
    /// Their codes, in the order of the table.
    pub reasons: Vec<String>,
}

/// Judges `option` (a unit kind) on a site given by the names of the table.
///
/// # Errors
/// An option no row concerns; a value of the wrong sort.
pub fn feasibility(
    book: &RuleBook,
    site: &Values,
    option: &str,
) -> Result<Feasibility, InspectionError> {
    let rows: Vec<_> = book
        .feasibility()
        .iter()
        .filter(|row| row.options.iter().any(|o| o == option))
        .collect();
    if rows.is_empty() {
        return Err(InspectionError::unknown("the feasibility table", option));
    }
    let mut answer = Feasibility {
        verdict: FeasibilityVerdict::Fits,
        reasons: Vec::new(),
    };
    for row in rows {
        if row.when.truth(site)? {
            answer.verdict = answer.verdict.max(row.verdict);
            answer.reasons.push(row.reason.clone());
        }
    }
    Ok(answer)
}

/// The words of a reason code.
pub fn reason_words<'a>(book: &'a RuleBook, reason: &str) -> Option<&'a str> {
    book.feasibility()
        .iter()
        .find(|row| row.reason == reason)
        .map(|row| row.words.as_str())
}
