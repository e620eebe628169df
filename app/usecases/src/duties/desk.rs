//! What the desk writes into a duty's record: a check from its paper, a starting deadline, a correction.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::duties::Completion;
use terms::trade::DutyRule;
use terms::{DutyId, Role, UnitId};
use uuid::Uuid;

use super::{Done, add_start, complete_duty, reckon};
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// A check typed in from its paper.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Record {
    /// The duty.
    pub duty: DutyId,
    /// The day it was done.
    pub on: NaiveDate,
    /// Every item was examined.
    pub check_complete: bool,
    /// What proves it.
    pub evidence: String,
}

/// A deadline stated without a check.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Start {
    /// The duty.
    pub duty: DutyId,
    /// The deadline.
    pub deadline: NaiveDate,
    /// Where it comes from.
    pub reason: String,
}

/// A correction of one row.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Correction {
    /// The duty.
    pub duty: DutyId,
    /// The row that is wrong.
    pub row: Uuid,
    /// The right day; `None`: it never happened.
    pub on: Option<NaiveDate>,
    /// Every item was examined.
    pub check_complete: bool,
    /// What proves it.
    pub evidence: String,
    /// What was wrong.
    pub reason: String,
}

/// The duty with its rule and unit, when the seat reaches it.
pub(super) fn held(
    tx: &mut Tx<'_>,
    seat: &Seat,
    duty: DutyId,
) -> Result<(DutyRule, UnitId), Error> {
    let card = tx.duty(duty)?;
    seat.must_reach(card.building)?;
    let unit = card.unit.ok_or(Error::NotFound("unit"))?;
    let rule = tx
        .duty_rules()?
        .into_iter()
        .find(|rule| rule.code == card.rule)
        .ok_or(Error::NotFound("duty rule"))?;
    Ok((rule, unit))
}

/// What cannot be of a day and its evidence.
pub(super) fn wrongs(
    tx: &mut Tx<'_>,
    unit: UnitId,
    on: NaiveDate,
    evidence: &str,
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    if on > wall::day(tx.at()) {
        wrongs.push(FieldError::at("on", "That day has not come yet."));
    }
    if let Some((fitted, _)) = tx.unit(unit)?.installed
        && on < fitted
    {
        wrongs.push(FieldError::at(
            "on",
            format!(
                "The unit was fitted on {} at the earliest, so it cannot have been checked before.",
                inspection::calendar::date_words(fitted)
            ),
        ));
    }
    if evidence.trim().is_empty() {
        wrongs.push(FieldError::at(
            "evidence",
            "Say what proves it: the record, sheet or certificate and its number.",
        ));
    }
    Ok(wrongs)
}

/// Writes down a check; answers the unit it is about.
///
/// # Errors
/// [`Error::Invalid`] at `on` and `evidence`.
pub fn record(world: &World, seat: &Seat, form: Record, once: &str) -> Result<UnitId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, unit) = held(tx, seat, form.duty)?;
            Error::unless_empty(wrongs(tx, unit, form.on, &form.evidence)?)?;
            let done = Done {
                on: form.on,
                check_complete: form.check_complete,
                job: None,
                evidence: form.evidence.trim().to_owned(),
            };
            complete_duty(tx, form.duty, &rule, &done)?;
            tx.note(
                "check recorded",
                &format!("unit {unit}"),
                &json!({ "duty": form.duty, "rule": rule.code, "on": form.on, "whole": form.check_complete }),
            );
            Ok(unit)
        })
    })
}

/// States the deadline of a duty without a check; answers the unit it is about.
///
/// # Errors
/// [`Error::Invalid`] without a reason, or when the day is past belief.
pub fn state_start(world: &World, seat: &Seat, form: Start, once: &str) -> Result<UnitId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, unit) = held(tx, seat, form.duty)?;
            let mut wrongs = Vec::new();
            if form.reason.trim().is_empty() {
                wrongs.push(FieldError::at("reason", "Say where that day comes from."));
            }
            let today = wall::day(tx.at());
            if inspection::calendar::days_between(today, form.deadline).abs() > 3660 {
                wrongs.push(FieldError::at(
                    "deadline",
                    "That is more than ten years away; check the year.",
                ));
            }
            Error::unless_empty(wrongs)?;
            add_start(tx, form.duty, (form.deadline, today), form.reason.trim())?;
            reckon(tx, form.duty, &rule)?;
            tx.note(
                "deadline stated",
                &format!("unit {unit}"),
                &json!({ "duty": form.duty, "rule": rule.code, "deadline": form.deadline }),
            );
            Ok(unit)
        })
    })
}

/// Corrects a row; the wrong one stays readable, the rows after it are reckoned anew. Answers the unit.
///
/// # Errors
/// [`Error::Invalid`] at a field; [`Error::Conflict`] when the row was corrected before.
pub fn correct(world: &World, seat: &Seat, form: Correction, once: &str) -> Result<UnitId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, unit) = held(tx, seat, form.duty)?;
            let row: Completion = tx
                .completions_of(&[form.duty], true)?
                .into_iter()
                .find(|row| row.id == form.row)
                .ok_or(Error::NotFound("entry"))?;
            if row.superseded_at.is_some() {
                return Err(Error::Conflict(
                    "Somebody corrected this entry before you. Nothing was changed by you."
                        .to_owned(),
                ));
            }
            let mut found = match form.on {
                Some(on) => wrongs(tx, unit, on, &form.evidence)?,
                None => Vec::new(),
            };
            if form.reason.trim().is_empty() {
                found.push(FieldError::at("reason", "Say what was wrong."));
            }
            Error::unless_empty(found)?;
            tx.supersede_completions(&[row.id])?;
            match form.on {
                Some(on) => {
                    let done = Done {
                        on,
                        check_complete: form.check_complete,
                        job: row.job,
                        evidence: format!(
                            "{} (corrected: {})",
                            form.evidence.trim(),
                            form.reason.trim()
                        ),
                    };
                    complete_duty(tx, form.duty, &rule, &done)?;
                }
                None => reckon(tx, form.duty, &rule)?,
            }
            tx.note(
                "check corrected",
                &format!("unit {unit}"),
                &json!({
                    "duty": form.duty, "rule": rule.code, "row": form.row,
                    "was": row.done_on, "is": form.on, "reason": form.reason.trim(),
                }),
            );
            Ok(unit)
        })
    })
}
