//! A review comes due before its longest gap when something changes: the desk says what.
use chrono::NaiveDate;
use inspection::duties::w6_gap;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::duties::Completion;
use terms::{DutyId, Role};

use super::{DutyAt, blank, dates, desk, reckon};
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// Something that asks for a review.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trigger {
    /// The duty to review.
    pub duty: DutyId,
    /// The day it changed.
    pub on: NaiveDate,
    /// What changed.
    pub words: String,
}

/// Makes a review due on the day something changed, if that is after the last review and before the longest gap;
/// answers what bears it.
///
/// # Errors
/// [`Error::Invalid`] at `on` and `words`; [`Error::NotFound`] for a duty that is no review.
pub fn trigger_review(
    world: &World,
    seat: &Seat,
    form: Trigger,
    once: &str,
) -> Result<DutyAt, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, card) = desk::held(tx, seat, form.duty)?;
            let at = DutyAt::of(&card);
            if rule.window_rule != "W6" {
                return Err(Error::NotFound("review"));
            }
            let words = form.words.trim();
            let mut wrongs = Vec::new();
            if words.is_empty() {
                wrongs.push(FieldError::at("words", "Say what changed."));
            }
            if form.on > wall::day(tx.at()) {
                wrongs.push(FieldError::at("on", "That day has not come yet."));
            }
            let last = tx
                .completions_of(&[form.duty], false)?
                .into_iter()
                .filter(|row| row.check_complete)
                .filter_map(|row| row.done_on)
                .max();
            if last.is_some_and(|last| form.on <= last) {
                wrongs.push(FieldError::at(
                    "on",
                    "It was reviewed on that day or after it, so this change was seen then.",
                ));
            }
            Error::unless_empty(wrongs)?;
            let (due, sentence) = match last {
                Some(last) => {
                    let outcome = w6_gap(last, dates::gap_of(&rule), &[form.on]);
                    (outcome.due, outcome.sentence())
                }
                None => (
                    form.on,
                    format!(
                        "Review due on {}: something changed, and no review is on record.",
                        inspection::calendar::date_words(form.on)
                    ),
                ),
            };
            tx.add_completions(&[Completion {
                result: "trigger".to_owned(),
                next_deadline: Some(due),
                reason: format!("{sentence} What changed: {words}"),
                ..blank(form.duty, form.on)
            }])?;
            reckon(tx, form.duty, &rule)?;
            tx.note(
                "review asked for",
                &at.to_string(),
                &json!({ "duty": form.duty, "on": form.on, "due": due, "words": words }),
            );
            Ok(at)
        })
    })
}
