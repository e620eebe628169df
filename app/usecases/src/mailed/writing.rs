//! What the task needs to write the mail. The link is made here, last of all, so that its secret is in the mail alone.
use chrono::{DateTime, TimeDelta, Utc};
use store::door::NewReplyLink;
use terms::{FunctionLost, JobKind, Role};

use super::asking::PageToMail;
use super::link::{Stage, stage_of};
use crate::door::fresh_token;
use crate::letterhead::{Letterhead, letterhead_in};
use crate::work::{Job, names_in};
use crate::{Error, Seat, World};

/// How long a link answers.
const HOLDS: TimeDelta = TimeDelta::days(7);

/// A mail about a job, in values.
#[derive(Clone, Debug)]
pub struct PageMail {
    /// The address.
    pub to: String,
    /// The firm.
    pub firm: String,
    /// In whose name.
    pub from: Letterhead,
    /// "J-00042"
    pub number: String,
    /// What sort of work.
    pub kind: JobKind,
    /// What was reported lost.
    pub lost: Option<FunctionLost>,
    /// "Flat 14, Alder House"
    pub place: String,
    /// Somebody has to be there, or to be done, by then.
    pub due_at: Option<DateTime<Utc>>,
    /// The offer's last instant; `None` when the firm has the job and the mail asks for the report of its visit.
    pub offered_until: Option<DateTime<Utc>>,
    /// The slot.
    pub booked: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// Where the page is, from the first `/`.
    pub path: String,
    /// The link's last instant.
    pub until_at: DateTime<Utc>,
}

/// Gathers a mail and makes its link, which takes the place of those mailed before; `None` when the job is not the
/// firm's to answer any more.
///
/// # Errors
/// The store's own.
pub fn prepare(world: &World, seat: &Seat, page: &PageToMail) -> Result<Option<PageMail>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    let token = fresh_token();
    let now = world.now();
    let new = NewReplyLink {
        secret_hash: token.hash(),
        estate: seat.estate(),
        firm: page.firm,
        job: page.job,
        mailed_to: page.to.clone(),
        until_at: now + HOLDS,
    };
    let stands = world.acting(seat, |tx| {
        let job = tx.job(page.job)?;
        let stage = match stage_of(tx, page.firm, &job, &names) {
            Ok(stage) => stage,
            Err(Error::Gone(_)) => return Ok(None),
            Err(error) => return Err(error),
        };
        Ok(Some((job, stage, letterhead_in(tx)?)))
    })?;
    let Some((job, stage, from)) = stands else {
        return Ok(None);
    };
    world.pool.at_door(|door| door.add_reply_link(&new, now))?;
    let path = format!("/reply/{}/{}", job.number, token.0);
    let firm = names.firm(page.firm).to_owned();
    Ok(Some(mail_of(job, stage, (from, firm), (path, new))))
}

fn mail_of(
    job: Job,
    stage: Stage,
    (from, firm): (Letterhead, String),
    (path, link): (String, NewReplyLink),
) -> PageMail {
    PageMail {
        to: link.mailed_to,
        firm,
        from,
        kind: job.kind,
        lost: job.function_lost,
        place: format!("{}, {}", job.space_name, job.building_name),
        number: job.number,
        due_at: job.due_at,
        offered_until: match stage {
            Stage::Offered(until) => Some(until),
            Stage::Theirs => None,
        },
        booked: job.booked,
        path,
        until_at: link.until_at,
    }
}
