//! What speaks against paying for a repair as asked, each in a sentence.
use usecases::advice::Before;
use wording::sentences::dates;
use wording::{Row, Urgency};

/// One row for each; a row that says so when there is nothing.
pub(crate) fn rows(found: &[Before]) -> Vec<Row> {
    if found.is_empty() {
        let words = "No warranty is on record, the same was not put right in the 30 days before, and this part not in the two years before.";
        return vec![Row::plain("before-none", words)];
    }
    (1..)
        .zip(found)
        .map(|(n, before)| Row::plain(format!("before-{n}"), words(before)).urgency(Urgency::Soon))
        .collect()
}

/// Whether the unit is in warranty.
pub(crate) fn in_warranty(found: &[Before]) -> bool {
    found
        .iter()
        .any(|before| matches!(before, Before::InWarranty { .. }))
}

/// Whether the same was put right within 30 days.
pub(crate) fn is_repeat(found: &[Before]) -> bool {
    found
        .iter()
        .any(|before| matches!(before, Before::Repeat { .. }))
}

fn words(before: &Before) -> String {
    match before {
        Before::InWarranty { until } => format!(
            "The unit is in warranty until {}: ask its maker before anybody pays. Keep the old part and a photo until the claim is accepted; have the yearly services, readings and water treatment at hand.",
            dates::day(*until)
        ),
        Before::Repeat { number, closed_on } => format!(
            "The same was put right on {} ({number}), within 30 days: it is that job again, and free under most contracts. Ask the firm first.",
            dates::day(*closed_on)
        ),
        Before::SamePart { part, on } => format!(
            "The same part was dealt with on {}, within two years ({}): ask why it is needed again before paying for it twice.",
            dates::day(*on),
            part.replace('_', " ")
        ),
    }
}
