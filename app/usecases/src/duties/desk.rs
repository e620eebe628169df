//! What the desk writes into a duty's record: a check from its paper, a starting deadline, a correction.
use chrono::NaiveDate;
use inspection::calendar::days_between;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::duties::{Completion, DutyCard};
use store::units::Which;
use terms::trade::DutyRule;
use terms::{DutyId, Fate, Role, UnitId};
use uuid::Uuid;

use super::reports::{WiringPaper, wiring_inspected};
use super::{Done, DutyAt, add_start, complete_duty, happened, is_gas_check, reckon};
use crate::work::{wall, working_days};
use crate::{Error, FieldError, Seat, World};

/// Rows for appliances and flues on the form.
pub const GAS_ITEMS: usize = 6;

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
    /// For a gas safety check: what its record says.
    pub gas: GasPaper,
    /// For an inspection of wiring: what its report found.
    #[serde(default)]
    pub wiring: WiringPaper,
}

/// What the paper of a gas safety check says: who made it and what was looked at.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct GasPaper {
    /// The engineer's registration number.
    pub registration: String,
    /// Each appliance and flue with its result.
    pub items: Vec<(String, String)>,
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
    /// For a gas safety check: what its record says.
    pub gas: GasPaper,
}

/// The duty with its rule, when the seat reaches it.
pub(super) fn held(
    tx: &mut Tx<'_>,
    seat: &Seat,
    duty: DutyId,
) -> Result<(DutyRule, DutyCard), Error> {
    let card = tx.duty(duty)?;
    seat.must_reach(card.building)?;
    let rule = tx
        .duty_rules()?
        .into_iter()
        .find(|rule| rule.code == card.rule)
        .ok_or(Error::NotFound("duty rule"))?;
    Ok((rule, card))
}

/// What cannot be of a day and its evidence.
pub(super) fn wrongs(
    tx: &mut Tx<'_>,
    unit: Option<UnitId>,
    on: NaiveDate,
    evidence: &str,
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    if on > wall::day(tx.at()) {
        wrongs.push(FieldError::at("on", "That day has not come yet."));
    }
    let unit = unit.map(|id| tx.unit(id)).transpose()?;
    if let Some((fitted, _)) = unit.and_then(|unit| unit.installed)
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

/// A gas safety check closes by its record alone: the registration number, and every appliance and flue with its result
/// (the items regulation 36(3)(c) sets, published page). An appliance and a flue at the least for each gas unit of the home.
fn gas_wrongs(
    tx: &mut Tx<'_>,
    (rule, unit): (&DutyRule, Option<UnitId>),
    paper: &GasPaper,
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    let Some(unit) = unit.filter(|_| is_gas_check(rule)) else {
        return Ok(wrongs);
    };
    let number = paper.registration.trim();
    if number.len() < 4 || !number.bytes().all(|b| b.is_ascii_digit()) {
        wrongs.push(FieldError::at(
            "registration",
            "Give the engineer’s registration number as the record shows it: digits only.",
        ));
    }
    for (n, (what, result)) in paper.items.iter().enumerate() {
        let n = n + 1;
        if what.trim().is_empty() != result.trim().is_empty() {
            wrongs.push(FieldError::at(
                format!("gi.{n}.what"),
                "Give both: the appliance or flue, and its result.",
            ));
        }
    }
    let space = tx.unit(unit)?.space;
    let kinds = tx.kinds()?;
    let burns = |code: &str| kinds.iter().any(|k| k.gas && k.code == code);
    let gas_units = tx
        .units(Which::Space(space))?
        .iter()
        .filter(|u| u.fate == Fate::InService && u.space == space && burns(&u.kind))
        .count();
    let listed = paper
        .items
        .iter()
        .filter(|(what, result)| !what.trim().is_empty() && !result.trim().is_empty())
        .count();
    let owed = gas_units.max(1).saturating_mul(2).min(GAS_ITEMS);
    if listed < owed {
        wrongs.push(FieldError::at(
            "gi.1.what",
            format!("List every appliance and flue with its result: {owed} at least here."),
        ));
    }
    Ok(wrongs)
}

/// The evidence with what the gas record says, so that both stand in the proof.
fn evidence_of(rule: &DutyRule, evidence: &str, paper: &GasPaper) -> String {
    let evidence = evidence.trim();
    if !is_gas_check(rule) {
        return evidence.to_owned();
    }
    let items: Vec<String> = paper
        .items
        .iter()
        .filter(|(what, _)| !what.trim().is_empty())
        .map(|(what, result)| format!("{}: {}", what.trim(), result.trim()))
        .collect();
    format!(
        "{evidence}; registration {}; {}",
        paper.registration.trim(),
        items.join("; ")
    )
}

/// The inspections of wiring, whose reports may find something to put right.
pub fn is_wiring(rule: &DutyRule) -> bool {
    matches!(rule.code.as_str(), "E1" | "E2")
}

/// Writes down a check; answers what it is about. What a wiring inspection found opens its own times.
///
/// # Errors
/// [`Error::Invalid`] at `on`, `evidence` and `period_days`.
pub fn record(world: &World, seat: &Seat, form: Record, once: &str) -> Result<DutyAt, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, card) = held(tx, seat, form.duty)?;
            let mut found = wrongs(tx, card.unit, form.on, &form.evidence)?;
            if form.check_complete {
                found.extend(gas_wrongs(tx, (&rule, card.unit), &form.gas)?);
            }
            Error::unless_empty(found)?;
            let evidence = if form.check_complete {
                evidence_of(&rule, &form.evidence, &form.gas)
            } else {
                form.evidence.trim().to_owned()
            };
            let done = Done {
                on: form.on,
                check_complete: form.check_complete,
                job: None,
                evidence,
            };
            complete_duty(tx, form.duty, &rule, &done)?;
            let space = match card.unit {
                Some(unit) => Some(tx.unit(unit)?.space),
                None => card.space,
            };
            if let (Some(space), true) = (space, form.check_complete && is_gas_check(&rule)) {
                happened(tx, "gas_check_made", (space, form.on), form.evidence.trim())?;
            }
            if form.check_complete && is_wiring(&rule) {
                // The times for faults and copies are those of a home let.
                let home = space.filter(|_| rule.code == "E1");
                let place = (card.building, home, form.on);
                wiring_inspected(tx, &days, (&form.wiring, form.evidence.trim()), place)?;
            }
            let at = DutyAt::of(&card);
            tx.note(
                "check recorded",
                &at.to_string(),
                &json!({
                    "duty": form.duty, "rule": rule.code, "on": form.on, "whole": form.check_complete,
                    "wiring": form.wiring,
                }),
            );
            Ok(at)
        })
    })
}

/// States the deadline of a duty without a check; answers what it is about.
///
/// # Errors
/// [`Error::Invalid`] without a reason, or when the day is past belief.
pub fn state_start(world: &World, seat: &Seat, form: Start, once: &str) -> Result<DutyAt, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, card) = held(tx, seat, form.duty)?;
            let at = DutyAt::of(&card);
            let mut wrongs = Vec::new();
            if form.reason.trim().is_empty() {
                wrongs.push(FieldError::at("reason", "Say where that day comes from."));
            }
            let today = wall::day(tx.at());
            if days_between(today, form.deadline).abs() > 3660 {
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
                &at.to_string(),
                &json!({ "duty": form.duty, "rule": rule.code, "deadline": form.deadline }),
            );
            Ok(at)
        })
    })
}

/// Corrects a row; the wrong one stays readable, the rows after it are reckoned anew. Answers what it
/// is about.
///
/// # Errors
/// [`Error::Invalid`] at a field; [`Error::Conflict`] when the row was corrected before.
pub fn correct(world: &World, seat: &Seat, form: Correction, once: &str) -> Result<DutyAt, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, card) = held(tx, seat, form.duty)?;
            let (unit, at) = (card.unit, DutyAt::of(&card));
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
            // What was no check before becomes one only by its record; a day alone may be put right without.
            let becomes_a_check = form.on.is_some() && form.check_complete && !row.check_complete;
            if becomes_a_check {
                found.extend(gas_wrongs(tx, (&rule, unit), &form.gas)?);
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
                            if becomes_a_check {
                                evidence_of(&rule, &form.evidence, &form.gas)
                            } else {
                                form.evidence.trim().to_owned()
                            },
                            form.reason.trim()
                        ),
                    };
                    complete_duty(tx, form.duty, &rule, &done)?;
                }
                None => reckon(tx, form.duty, &rule)?,
            }
            tx.note(
                "check corrected",
                &at.to_string(),
                &json!({
                    "duty": form.duty, "rule": rule.code, "row": form.row,
                    "was": row.done_on, "is": form.on, "reason": form.reason.trim(),
                }),
            );
            Ok(at)
        })
    })
}
