//! The past entered as it was kept: what a former agent's records say of units already in the register.
//!
//! Nothing here opens jobs or visits; those belong to what is happening. Each entry keeps the day it happened
//! and the instant it was written down, so "as known on a day" stays honest.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use terms::unit::{FailureRecord, PartFitted, Reading, ServiceRecord};
use terms::{FailureId, Pence, Role, UnitId};
use uuid::Uuid;

use crate::duties::Done;
use crate::{Error, FieldError, Seat, World};

/// A thing of the past.
#[derive(Clone, Debug, Serialize)]
pub enum PastEntry {
    /// A duty was done.
    DutyDone {
        /// The unit.
        unit: UnitId,
        /// "G1"
        rule: String,
        /// The day.
        on: NaiveDate,
        /// Every item was examined.
        check_complete: bool,
        /// What proves it.
        evidence: String,
    },
    /// A unit lost its function.
    Failed(PastFailure),
    /// Values measured on a day.
    Measured {
        /// The unit.
        unit: UnitId,
        /// The day.
        on: NaiveDate,
        /// Code, value, unit of measure.
        values: Vec<(String, f64, String)>,
        /// The instrument.
        instrument: String,
    },
    /// Work that was no failure, with its cost.
    Served {
        /// The unit.
        unit: UnitId,
        /// "service", "check", …
        what: String,
        /// The day.
        on: NaiveDate,
        /// Including VAT.
        cost: Option<Pence>,
        /// Original words.
        words: String,
    },
}

/// A failure of the past.
#[derive(Clone, Debug, Serialize)]
pub struct PastFailure {
    /// The unit.
    pub unit: UnitId,
    /// The part, when known.
    pub part: Option<String>,
    /// What was lost.
    pub function_lost: Option<String>,
    /// First and last day it may have happened.
    pub on: (NaiveDate, NaiveDate),
    /// Nothing was found wrong.
    pub no_fault_found: bool,
    /// A new part went in: its clock restarts.
    pub replaced: bool,
    /// Including VAT.
    pub cost: Option<Pence>,
    /// Records with the same mark are one failure.
    pub same_as: String,
    /// Original words.
    pub words: String,
}

/// Enters a batch of the past, all or nothing.
///
/// # Errors
/// [`Error::Invalid`] naming the entry whose day has not come or whose dates are the wrong way round;
/// [`Error::NotFound`] for a unit of another estate.
pub fn enter_past(
    world: &World,
    seat: &Seat,
    entries: &[PastEntry],
    once: &str,
) -> Result<usize, Error> {
    seat.must_be(&[Role::Agent])?;
    world.acting(seat, |tx| {
        tx.once(once, &entries, |tx| {
            Error::unless_empty(wrongs(tx, entries))?;
            for entry in entries {
                enter(tx, entry)?;
            }
            tx.note(
                "past entered",
                "register",
                &json!({ "entries": entries.len() }),
            );
            Ok(entries.len())
        })
    })
}

fn wrongs(tx: &Tx<'_>, entries: &[PastEntry]) -> Vec<FieldError> {
    let today = tx.today();
    entries
        .iter()
        .enumerate()
        .filter_map(|(n, entry)| {
            let (first, last) = match entry {
                PastEntry::Failed(failure) => failure.on,
                PastEntry::DutyDone { on, .. }
                | PastEntry::Measured { on, .. }
                | PastEntry::Served { on, .. } => (*on, *on),
            };
            let sentence = if last < first {
                "its last day lies before its first"
            } else if first > today {
                "its day has not come yet"
            } else {
                return None;
            };
            Some(FieldError::at(
                n.to_string(),
                format!("Entry {} of the past: {sentence}.", n + 1),
            ))
        })
        .collect()
}

fn enter(tx: &mut Tx<'_>, entry: &PastEntry) -> Result<(), Error> {
    match entry {
        PastEntry::DutyDone {
            unit,
            rule,
            on,
            check_complete,
            evidence,
        } => {
            let done = Done {
                on: *on,
                check_complete: *check_complete,
                job: None,
                evidence: evidence.clone(),
            };
            crate::duties::complete(tx, *unit, rule, &done)?;
        }
        PastEntry::Failed(failure) => enter_failure(tx, failure)?,
        PastEntry::Measured {
            unit,
            on,
            values,
            instrument,
        } => {
            let noon = on.and_hms_opt(12, 0, 0).unwrap_or_default().and_utc();
            for (code, value, measured_in) in values {
                let reading = Reading {
                    unit: *unit,
                    code: code.clone(),
                    value: Some(*value),
                    words: String::new(),
                    measured_in: measured_in.clone(),
                    place: String::new(),
                    conditions: String::new(),
                    stage: "after".to_owned(),
                    instrument: instrument.clone(),
                    calibrated_until: None,
                    taken_at: noon,
                };
                tx.add_reading(&reading, None, None)?;
            }
        }
        PastEntry::Served {
            unit,
            what,
            on,
            cost,
            words,
        } => {
            let record = ServiceRecord {
                unit: *unit,
                what: what.clone(),
                happened_on: *on,
                cost: *cost,
                words: words.clone(),
                job: None,
            };
            tx.add_service(&record, None)?;
        }
    }
    Ok(())
}

fn enter_failure(tx: &mut Tx<'_>, failure: &PastFailure) -> Result<(), Error> {
    let (first, last) = failure.on;
    let record = FailureRecord {
        id: FailureId(Uuid::nil()),
        unit: failure.unit,
        part: failure.part.clone(),
        function_lost: failure.function_lost.clone(),
        happened_on: first,
        happened_until: (last != first).then_some(last),
        found_at_service: false,
        no_fault_found: failure.no_fault_found,
        cost: failure.cost,
        job: None,
        same_as: failure.same_as.clone(),
        words: failure.words.clone(),
        recorded_at: tx.at(),
    };
    tx.add_failure(&record, None)?;
    if let (true, Some(part)) = (failure.replaced, &failure.part) {
        let fitted = PartFitted {
            unit: failure.unit,
            part: part.clone(),
            fitted_on: first,
            planned: false,
            job: None,
        };
        tx.add_part_fitted(&fitted, &failure.words, None)?;
    }
    Ok(())
}
