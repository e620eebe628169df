//! A mail that its server refused for good: somebody has to be told, or a firm is waited for that never heard.
use serde_json::json;
use terms::Role;

use super::asking::PageToMail;
use crate::{Error, Seat, World};

/// Puts it on Today that a mail did not go out and will not, with what the server said; once, however often the task
/// that was to send it runs.
///
/// # Errors
/// The store's own.
pub fn say_unsent(
    world: &World,
    seat: &Seat,
    (page, why): (&PageToMail, &str),
    task: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        // By the task alone: what the server says may differ from try to try.
        tx.once(&format!("unsent {task}"), &page, |tx| {
            let job = tx.hold_job(page.job)?;
            let words = format!(
                "The mail to {} did not go out and is not tried again. The mail server said: {}. Ring the firm, or mail \
                 the page anew once that is mended.",
                page.to,
                why.trim().trim_end_matches('.')
            );
            tx.add_job_event(job.id, job.state, Some((page.firm, job.engineer)), &words)?;
            tx.add_telling(job.id, "office", &words)?;
            tx.note(
                "mail refused",
                &format!("job {}", job.id),
                &json!({ "number": job.number, "firm": page.firm, "to": page.to, "why": why }),
            );
            Ok(())
        })
    })
}
