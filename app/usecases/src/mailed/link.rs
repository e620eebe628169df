//! Finding a link by its secret, and what its page shows while it stands.
use chrono::{DateTime, Utc};
use store::Tx;
use store::door::ReplyLink;
use terms::{FirmId, JobState};

use crate::door::Token;
use crate::visit::{SheetView, sheet_of};
use crate::work::{Job, JobView, Names, gone, job_view, names_in, ran_out, wall};
use crate::{Error, Seat, World};

/// A link found by its secret, with the seat it takes.
#[derive(Clone, Debug)]
pub struct Found {
    /// For one firm and one job.
    pub seat: Seat,
    /// As it stood when it was found.
    pub link: ReplyLink,
}

/// What the page shows.
#[derive(Clone, Debug)]
pub struct MailedView {
    /// The job as its firm sees it; never who lives there, never a code.
    pub job: JobView,
    /// The offer's last instant, while it is on offer to the firm.
    pub offered_until: Option<DateTime<Utc>>,
    /// The sheet to report the visit with, once the firm has the job.
    pub sheet: Option<SheetView>,
}

/// How a job stands to the firm of a link.
pub(super) enum Stage {
    /// On offer to it until then.
    Offered(DateTime<Utc>),
    /// It has the job, and a visit may be reported.
    Theirs,
}

/// Finds a link by the number of its job and its secret.
///
/// # Errors
/// [`Error::NotFound`] for a secret that is none, and for one that belongs to another job.
pub fn find(world: &World, number: &str, secret: &str) -> Result<Found, Error> {
    let hash = Token(secret.to_owned()).hash();
    let link = world
        .pool
        .at_door(|door| door.reply_link(&hash))?
        .ok_or(Error::NotFound("page"))?;
    let seat = Seat::of_link(
        link.id,
        (link.estate, &link.estate_name),
        (link.firm, &link.firm_name),
        link.job,
    );
    let named = world.acting(&seat, |tx| Ok(tx.job(link.job)?.number))?;
    if named != number {
        return Err(Error::NotFound("page"));
    }
    Ok(Found { seat, link })
}

/// The page of a link. Nothing is changed by looking.
///
/// # Errors
/// [`Error::Gone`] when the link was used, ended, or is past its seven days, or the job is not the firm's to answer.
pub fn open(world: &World, found: &Found) -> Result<MailedView, Error> {
    if let Some(why) = over(&found.link, world.now()) {
        return Err(Error::Gone(why));
    }
    let names = names_in(world, found.seat.estate())?;
    let stage = world.acting(&found.seat, |tx| {
        let job = tx.job(found.link.job)?;
        stage_of(tx, found.link.firm, &job, &names)
    })?;
    let job = job_view(world, &found.seat, found.link.job)?;
    let (offered_until, sheet) = match stage {
        Stage::Offered(until) => (Some(until), None),
        Stage::Theirs => (None, Some(sheet_of(world, &found.seat, job.clone())?)),
    };
    Ok(MailedView {
        job,
        offered_until,
        sheet,
    })
}

/// How a job stands to a firm.
///
/// # Errors
/// [`Error::Gone`] when it is not the firm's to answer.
pub(super) fn stage_of(
    tx: &mut Tx<'_>,
    firm: FirmId,
    job: &Job,
    names: &Names,
) -> Result<Stage, Error> {
    let now = tx.at();
    if job.firm == Some(firm) {
        if job.state == JobState::OnSite || job.state.may_become(JobState::OnSite) {
            return Ok(Stage::Theirs);
        }
        return Err(Error::Gone(format!(
            "{} is {}: there is no visit to report. Ring the office if that is wrong.",
            job.number, job.state
        )));
    }
    let offers = tx.offers_of(job.id)?;
    let mine = offers.iter().rfind(|o| o.firm == firm);
    match mine {
        Some(offer) if job.state == JobState::Offered && offer.is_open(now) => {
            Ok(Stage::Offered(offer.until_at))
        }
        Some(offer) if job.state == JobState::Offered && offer.answer.is_none() => {
            Err(Error::Gone(ran_out(job, offer.until_at)))
        }
        _ => Err(Error::Gone(gone(job, firm, names))),
    }
}

/// Why a link does not answer any more.
fn over(link: &ReplyLink, now: DateTime<Utc>) -> Option<String> {
    if let Some(at) = link.used_at {
        return Some(format!(
            "It was answered at {}; a link works once. Ring the office to change what was said.",
            wall::words(at)
        ));
    }
    if link.ended_at.is_some() {
        return Some(
            "A later mail about this job took its place: use the link in that one.".to_owned(),
        );
    }
    (now > link.until_at).then(|| {
        format!(
            "The link ran out at {}; it holds for seven days. Ring the office for another.",
            wall::words(link.until_at)
        )
    })
}

/// Uses the link up in the transaction of its answer.
pub(super) fn use_up(tx: &mut Tx<'_>, found: &Found) -> Result<(), Error> {
    if tx.use_reply_link(found.link.id)? {
        return Ok(());
    }
    let why = over(&found.link, tx.at());
    Err(Error::Gone(why.unwrap_or_else(|| {
        "Somebody answered through it a moment ago; a link works once.".to_owned()
    })))
}
