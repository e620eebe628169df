//! Which records a job or a unit has: issued ones by number, and those that wait to be issued.
use chrono::{DateTime, NaiveDate, Utc};
use store::Tx;
use store::issued::WhichIssued;
use store::jobs::{Job, Which};
use terms::{JobId, RecordKind, UnitId};

use super::gather::{gather, kinds_for};
use super::view::must_see_records;
use crate::work::{Names, names_in};
use crate::{Error, Seat, World};

/// One record of a unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PaperOf {
    /// The job.
    pub job: JobId,
    /// The job's number.
    pub job_number: String,
    /// Which record.
    pub kind: RecordKind,
    /// The day of the visit.
    pub on: NaiveDate,
    /// Number and instant, once issued.
    pub issued: Option<(String, DateTime<Utc>)>,
    /// How many items it still lacks, the signature apart.
    pub gaps: usize,
}

/// The records of one job, those not issued yet too.
///
/// # Errors
/// [`Error::NotFound`] for whom they are not.
pub fn records_of_job(world: &World, seat: &Seat, job: JobId) -> Result<Vec<PaperOf>, Error> {
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see_records(seat, &job)?;
        papers(tx, &names, &job)
    })
}

/// The records of a unit's jobs that the one who asks may see, newest first.
///
/// # Errors
/// Only the store's own.
pub fn records_of_unit(world: &World, seat: &Seat, unit: UnitId) -> Result<Vec<PaperOf>, Error> {
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let mut found = Vec::new();
        for job in tx.jobs(&Which::Unit(unit))? {
            if must_see_records(seat, &job).is_ok() {
                found.extend(papers(tx, &names, &job)?);
            }
        }
        found.sort_by_key(|p| std::cmp::Reverse((p.on, p.kind)));
        Ok(found)
    })
}

fn papers(tx: &mut Tx<'_>, names: &Names, job: &Job) -> Result<Vec<PaperOf>, Error> {
    let issued = tx.issued_records(WhichIssued::Job(job.id))?;
    let mut found = Vec::new();
    for kind in kinds_for(tx, job)? {
        let now = match gather(tx, names, job, kind) {
            Ok(now) => now,
            // No visit has ended yet that could carry it.
            Err(Error::NotFound(_)) => continue,
            Err(other) => return Err(other),
        };
        let kept = issued.iter().find(|r| r.kind == kind);
        let mut gaps = now.content.missing()?;
        gaps.retain(|gap| gap != "signature");
        found.push(PaperOf {
            job: job.id,
            job_number: job.number.clone(),
            kind,
            on: now.content.on,
            issued: kept.map(|r| (r.number.clone(), r.issued_at)),
            gaps: gaps.len(),
        });
    }
    Ok(found)
}
