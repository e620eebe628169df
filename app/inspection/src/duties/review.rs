//! W6, review: on change, with a longest gap. Common practice, no source.
use chrono::NaiveDate;
use serde::Serialize;

use super::Gap;
use crate::calendar::date_words;
use crate::coded::coded;

coded! {
    /// What makes the review due.
    W6Reason {
        /// Something changed after the last review.
        Trigger = "W6_TRIGGER",
        /// The longest gap.
        Gap = "W6_GAP",
    }
}

/// When a review is due.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct W6Outcome {
    /// The last review.
    pub last_review: NaiveDate,
    /// Due by.
    pub due: NaiveDate,
    /// Why.
    pub reason: W6Reason,
}

impl W6Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let due = date_words(self.due);
        let last = date_words(self.last_review);
        match self.reason {
            W6Reason::Trigger => {
                format!("Review due on {due}: something changed after the review of {last}.")
            }
            W6Reason::Gap => {
                format!("Review due by {due}, the longest gap after the review of {last}.")
            }
        }
    }
}

/// The earliest of `triggers` strictly after the last review, if not later than the longest gap.
pub fn w6(last_review: NaiveDate, longest_gap_months: u32, triggers: &[NaiveDate]) -> W6Outcome {
    w6_gap(last_review, Gap::Months(longest_gap_months), triggers)
}

/// The same for any longest gap.
pub fn w6_gap(last_review: NaiveDate, longest: Gap, triggers: &[NaiveDate]) -> W6Outcome {
    let gap = longest.after(last_review);
    let trigger = triggers.iter().copied().filter(|&t| t > last_review).min();
    match trigger {
        Some(due) if due <= gap => W6Outcome {
            last_review,
            due,
            reason: W6Reason::Trigger,
        },
        _ => W6Outcome {
            last_review,
            due: gap,
            reason: W6Reason::Gap,
        },
    }
}
