//! The one way a job goes from state to state.
use serde_json::json;
use store::Tx;
use store::jobs::Job;
use terms::JobState;

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
