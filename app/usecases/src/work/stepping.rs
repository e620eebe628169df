//! The one way a job goes from state to state.
use serde_json::json;
use store::Tx;
use store::jobs::Job;
use terms::{JobKind, JobState};

use crate::Error;

/// Refuses a form that read another version of the job than stands now.
pub(crate) fn must_read_version(job: &Job, read: Option<i32>) -> Result<(), Error> {
    match read {
        Some(version) if version != job.version => Err(Error::Conflict(format!(
            "Somebody changed {} since you read it: it is {} now. Nothing was changed by you.",
            job.number, job.state
        ))),
        _ => Ok(()),
    }
}

/// Why a job may not simply go away: its unit was left unsafe, and no other open job would put it right. A visit alone
/// clears an unsafe situation.
pub(crate) fn leaves_unsafe(tx: &mut Tx<'_>, job: &Job) -> Result<Option<String>, Error> {
    let Some(unit) = job.unit else {
        return Ok((job.state == JobState::LeftIsolated).then(|| {
            format!(
                "{} was left isolated: it ends when somebody has put it right.",
                job.number
            )
        }));
    };
    let mends = |kind| matches!(kind, JobKind::Repair | JobKind::Replacement);
    let unsafe_now =
        job.state == JobState::LeftIsolated || !tx.open_notices(Some(unit))?.is_empty();
    if !unsafe_now || !(mends(job.kind) || job.state == JobState::LeftIsolated) {
        return Ok(None);
    }
    let another = tx
        .jobs_of_unit_now(unit)?
        .into_iter()
        .any(|other| other.id != job.id && other.closed_at.is_none() && mends(other.kind));
    Ok((!another).then(|| {
        format!(
            "The unit of {} was left unsafe, and no other open job would put it right. Open that job first.",
            job.number
        )
    }))
}

/// Leads a job, whose row the transaction holds, to its next state.
pub(crate) fn step(
    tx: &mut Tx<'_>,
    job: &mut Job,
    next: JobState,
    words: &str,
) -> Result<(), Error> {
    if !job.state.may_become(next) {
        return Err(Error::Conflict(format!(
            "{} is {}; from there it cannot become {next}. Nothing was changed.",
            job.number, job.state
        )));
    }
    job.state = next;
    job.state_at = tx.at();
    if next.is_closed() && job.closed_at.is_none() {
        job.closed_at = Some(tx.at());
    }
    tx.save_job(job)?;
    job.version += 1;
    let whom = job.firm.map(|firm| (firm, job.engineer));
    tx.add_job_event(job.id, next, whom, words)?;
    tx.note(
        "job stepped",
        &format!("job {}", job.id),
        &json!({ "number": job.number, "state": next.code(), "version": job.version }),
    );
    Ok(())
}
