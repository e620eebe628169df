//! What was corrected since a record was issued: what it said then beside what the register says now.
use inspection::calendar::date_words;

use super::content::Content;

/// One thing that reads otherwise now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// What it is about.
    pub what: String,
    /// As issued; empty when it was not there.
    pub then: String,
    /// As known now; empty when it is gone.
    pub now: String,
}

/// What differs. Names of people and firms, the letterhead and the signature may change without a correction.
pub(super) fn changes(then: &Content, now: &Content) -> Vec<Change> {
    let (old, new) = (facts(then), facts(now));
    let mut found = Vec::new();
    for (what, value) in &old {
        let now = new.iter().find(|(name, _)| name == what);
        let now = now.map_or("", |(_, value)| value.as_str());
        if now != value {
            found.push(Change {
                what: what.clone(),
                then: value.clone(),
                now: now.to_owned(),
            });
        }
    }
    for (what, value) in &new {
        if !old.iter().any(|(name, _)| name == what) {
            found.push(Change {
                what: what.clone(),
                then: String::new(),
                now: value.clone(),
            });
        }
    }
    found
}

/// What a record states, each under its own words.
fn facts(content: &Content) -> Vec<(String, String)> {
    let mut facts = vec![
        ("The premises".to_owned(), content.premises()),
        ("The unit".to_owned(), content.unit_kind.clone()),
        ("The day".to_owned(), date_words(content.on)),
        ("What was done".to_owned(), content.work.clone()),
    ];
    for item in &content.items {
        let said = format!("{}; {}", item.location, item.result);
        facts.push((item.description.clone(), said));
    }
    for defect in content.defects.iter().flatten() {
        facts.push((defect.text.clone(), defect.action.clone()));
    }
    for line in &content.readings {
        let said = format!(
            "{} before, {} after",
            or_none(&line.before),
            or_none(&line.after)
        );
        facts.push((line.label.clone(), said));
    }
    for duty in &content.duties {
        let said = match (duty.done_on, duty.whole) {
            (None, _) => "not on record as done".to_owned(),
            (Some(on), false) => format!("visited on {}, not the whole of it", date_words(on)),
            (Some(on), true) => match duty.next {
                Some(next) => {
                    format!("done on {}; next by {}", date_words(on), date_words(next))
                }
                None => format!("done on {}", date_words(on)),
            },
        };
        facts.push((duty.name.clone(), said));
    }
    facts
}

fn or_none(text: &str) -> &str {
    if text.is_empty() { "none" } else { text }
}
