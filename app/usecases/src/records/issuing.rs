//! Issuing a record, and answering afterwards what the sheet left open.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::json;
use store::issued::IssuedRecord;
use store::visits::SheetRow;
use terms::{JobId, RecordKind, Role};
use uuid::Uuid;

use super::gather::{DEFECTS, ITEMS, gather};
use super::view::{is_theirs, issued_of, must_see_records};
use crate::work::names_in;
use crate::{Error, Seat, World};

/// A record about to be signed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Signing {
    job: JobId,
    kind: RecordKind,
    signature: String,
}

/// Issues the record of a visit, signed by the engineer who made it; answers its number.
///
/// # Errors
/// [`Error::Invalid`] at `signature` when it is empty, another engineer asks, or something is missing;
/// [`Error::Conflict`] when it was issued before.
pub fn issue(
    world: &World,
    seat: &Seat,
    (job, kind): (JobId, RecordKind),
    signature: &str,
    once: &str,
) -> Result<String, Error> {
    seat.must_be(&[Role::Contractor])?;
    let names = names_in(world, seat.estate())?;
    let form = Signing {
        job,
        kind,
        signature: signature.trim().to_owned(),
    };
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let job = tx.hold_job(form.job)?;
            must_see_records(seat, &job)?;
            if let Some(kept) = issued_of(tx, job.id, kind)? {
                return Err(Error::Conflict(format!(
                    "It was issued before, as {}. Nothing was changed.",
                    kept.number
                )));
            }
            let mut now = gather(tx, &names, &job, kind)?;
            if !is_theirs(seat, now.visit.engineer.or(job.engineer)) {
                return Err(Error::field(
                    "signature",
                    "Only the engineer who made the visit signs and issues it.",
                ));
            }
            check_signature(&form.signature)?;
            now.content.signature.clone_from(&form.signature);
            let gaps = now.content.missing()?;
            if !gaps.is_empty() {
                return Err(Error::field(
                    "signature",
                    "Something is still missing, as named above: it is not a record yet.",
                ));
            }
            let number = number_of(tx, &job)?;
            let body =
                serde_json::to_value(&now.content).map_err(|e| Error::Internal(e.to_string()))?;
            let digest = now.content.digest()?;
            tx.add_issued_record(&IssuedRecord {
                id: Uuid::nil(),
                number: number.clone(),
                kind,
                job: job.id,
                visit: now.visit.id,
                unit: now.unit.id,
                body,
                digest: digest.clone(),
                rule_book: now.content.rule_book.clone(),
                signature: form.signature.clone(),
                engineer: seat.engineer(),
                issued_at: tx.at(),
                issued_by: tx.who(),
            })?;
            tx.note(
                "record issued",
                &format!("job {}", job.id),
                &json!({ "number": number, "kind": kind, "digest": digest }),
            );
            Ok(number)
        })
    })
}

fn check_signature(signature: &str) -> Result<(), Error> {
    if signature.is_empty() {
        return Err(Error::field("signature", "Type your name to sign it."));
    }
    if signature.chars().count() > 100 {
        return Err(Error::field("signature", "That is longer than a name."));
    }
    Ok(())
}

/// The job's number and a count of the records it left.
fn number_of(tx: &mut store::Tx<'_>, job: &store::jobs::Job) -> Result<String, Error> {
    let before = tx
        .issued_records(store::issued::WhichIssued::Job(job.id))?
        .len();
    Ok(format!("{}/{}", job.number, before + 1))
}

/// The questions of a sheet that may be answered after the visit ended, as long as no record was issued.
pub(super) fn later_keys() -> Vec<String> {
    let mut keys = vec!["gc_26_9".to_owned(), "gc_defects".to_owned()];
    for n in 1..=ITEMS {
        keys.push(format!("gc.{n}.where"));
    }
    for n in 1..=DEFECTS {
        keys.push(format!("gc_d.{n}.words"));
        keys.push(format!("gc_d.{n}.action"));
    }
    keys
}

/// Answers what the sheet left open; what it answered stands. Asked of the engineer who made the visit, and of
/// whoever typed it in from paper.
///
/// # Errors
/// [`Error::NotFound`] for anybody else; [`Error::Conflict`] when the record was issued.
pub fn add_to_record(
    world: &World,
    seat: &Seat,
    (job, kind): (JobId, RecordKind),
    typed: BTreeMap<String, String>,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor, Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, kind, &typed), |tx| {
            let job = tx.hold_job(job)?;
            must_see_records(seat, &job)?;
            if issued_of(tx, job.id, kind)?.is_some() {
                return Err(Error::Conflict(
                    "The record is issued; what it says stands. Nothing was changed.".to_owned(),
                ));
            }
            let now = gather(tx, &names, &job, kind)?;
            let did_it = is_theirs(seat, now.visit.engineer.or(job.engineer));
            if !did_it && now.visit.made_by != seat.account() {
                return Err(Error::NotFound("record"));
            }
            let fresh: BTreeMap<String, String> = typed
                .iter()
                .filter(|(key, text)| {
                    later_keys().contains(key) && !text.trim().is_empty() && !now.sheet.has(key)
                })
                .map(|(key, text)| (key.clone(), text.clone()))
                .collect();
            if fresh.is_empty() {
                return Ok(());
            }
            let mut sheet = now.sheet;
            sheet.lay_over(&fresh)?;
            let before = tx.last_sheet(now.visit.id)?.map(|row| row.written_at);
            let at = tx.at();
            // Two answers in one instant still have an order.
            let after = |last| at.max(last + chrono::TimeDelta::microseconds(1));
            tx.add_sheet(&SheetRow {
                visit: now.visit.id,
                job: job.id,
                body: serde_json::to_value(&sheet).map_err(|e| Error::Internal(e.to_string()))?,
                rule_book: now.content.rule_book,
                written_at: before.map_or(at, after),
                received_at: at,
                written_by: tx.who(),
                closes: true,
            })?;
            let keys: Vec<&String> = fresh.keys().collect();
            tx.note(
                "sheet answered later",
                &format!("job {}", job.id),
                &json!({ "visit": now.visit.id, "answered": keys }),
            );
            Ok(())
        })
    })
}
