//! A record as its readers see it: as issued, or as a draft that names what it lacks.
use chrono::{DateTime, Utc};
use store::Tx;
use store::issued::{IssuedRecord, WhichIssued};
use store::jobs::Job;
use terms::{EngineerId, JobId, RecordKind, Role};

use super::content::Content;
use super::gather::{Gathered, gather};
use super::since::{Change, changes};
use crate::work::{Names, names_in};
use crate::{Error, Seat, World};

/// That and how a record was issued.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issued {
    /// "J-00042/1"
    pub number: String,
    /// When.
    pub at: DateTime<Utc>,
    /// As typed.
    pub signature: String,
    /// The digest of what it says.
    pub digest: String,
}

/// A record of a job.
#[derive(Clone, Debug)]
pub struct RecordView {
    /// The job.
    pub job: JobId,
    /// Which record.
    pub kind: RecordKind,
    /// What it says: as issued, else as known now.
    pub content: Content,
    /// What it still lacks, as paths of the list; the signature is typed when it is issued.
    pub gaps: Vec<String>,
    /// That it was issued.
    pub issued: Option<Issued>,
    /// What was corrected since.
    pub since: Vec<Change>,
    /// The one who asks did the visit and may issue it.
    pub may_issue: bool,
    /// The one who asks may add what is missing.
    pub may_add: bool,
    /// What is typed on the sheet that a record may still be given.
    pub asked: Vec<(String, String)>,
}

/// The one of these seats that may see the records of a job; a contractor has one for each estate.
///
/// # Errors
/// [`Error::NotFound`] when none may.
pub fn seat_for_record(world: &World, seats: &[Seat], job: JobId) -> Result<Seat, Error> {
    for seat in seats {
        let seen = world.acting(seat, |tx| {
            let job = tx.job(job)?;
            must_see_records(seat, &job)
        });
        match seen {
            Ok(()) => return Ok(seat.clone()),
            Err(Error::NotFound(_) | Error::Forbidden(_)) => {}
            Err(other) => return Err(other),
        }
    }
    Err(Error::NotFound("record"))
}

/// Passes for the desk, the building's landlord and the firm that has the job; a firm it was only offered to has
/// no record of it.
pub(super) fn must_see_records(seat: &Seat, job: &Job) -> Result<(), Error> {
    seat.must_be(&[
        Role::Agent,
        Role::Supervisor,
        Role::Landlord,
        Role::Contractor,
        Role::Office,
    ])?;
    seat.must_reach(job.building)
        .or(Err(Error::NotFound("record")))?;
    let road = matches!(seat.role(), Role::Contractor | Role::Office);
    if road && (seat.grant().firm.is_none() || job.firm != seat.grant().firm) {
        return Err(Error::NotFound("record"));
    }
    Ok(())
}

/// A record of a job.
///
/// # Errors
/// [`Error::NotFound`] for whom it is not, and when the job leaves no such record or no visit of it has ended.
pub fn record(
    world: &World,
    seat: &Seat,
    (job, kind): (JobId, RecordKind),
) -> Result<RecordView, Error> {
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see_records(seat, &job)?;
        view_of(tx, (seat, &names), &job, kind)
    })
}

fn view_of(
    tx: &mut Tx<'_>,
    (seat, names): (&Seat, &Names),
    job: &Job,
    kind: RecordKind,
) -> Result<RecordView, Error> {
    let now = gather(tx, names, job, kind)?;
    let kept = issued_of(tx, job.id, kind)?;
    let did_it = is_theirs(seat, now.visit.engineer.or(job.engineer));
    let wrote_it = now.visit.made_by == seat.account();
    let asked = asked_of(&now);
    let Some(kept) = kept else {
        let mut gaps = now.content.missing()?;
        gaps.retain(|gap| gap != "signature");
        return Ok(RecordView {
            job: job.id,
            kind,
            may_issue: did_it && gaps.is_empty(),
            may_add: (did_it || wrote_it) && gaps.iter().any(|gap| may_be_added(gap)),
            gaps,
            issued: None,
            since: Vec::new(),
            asked,
            content: now.content,
        });
    };
    let then: Content = serde_json::from_value(kept.body.clone())
        .map_err(|e| Error::Internal(format!("record {}: {e}", kept.number)))?;
    Ok(RecordView {
        job: job.id,
        kind,
        since: changes(&then, &now.content),
        content: then,
        gaps: Vec::new(),
        issued: Some(Issued {
            number: kept.number,
            at: kept.issued_at,
            signature: kept.signature,
            digest: kept.digest,
        }),
        may_issue: false,
        may_add: false,
        asked,
    })
}

/// The record of this kind the job left, when it was issued.
pub(super) fn issued_of(
    tx: &mut Tx<'_>,
    job: JobId,
    kind: RecordKind,
) -> Result<Option<IssuedRecord>, Error> {
    let all = tx.issued_records(WhichIssued::Job(job))?;
    Ok(all.into_iter().find(|r| r.kind == kind))
}

/// Whether the one who asks is the engineer who did the visit.
pub(super) fn is_theirs(seat: &Seat, engineer: Option<EngineerId>) -> bool {
    seat.role() == Role::Contractor && engineer.is_some() && seat.engineer() == engineer
}

/// Gaps that an answer fills; the others lie in the register, the letterhead or an engineer's papers.
pub(super) fn may_be_added(gap: &str) -> bool {
    gap.starts_with("items") || gap.starts_with("defects") || gap == "examination_26_9_confirmed"
}

/// The sheet's answers to what a record may still be given.
fn asked_of(now: &Gathered) -> Vec<(String, String)> {
    super::issuing::later_keys()
        .into_iter()
        .map(|key| {
            let said = now.sheet.get(&key).to_owned();
            (key, said)
        })
        .collect()
}
