//! The answers of a mailed page. Each uses the link up in its own transaction, and only when it succeeds.
use chrono::{NaiveDate, NaiveTime};
use serde::{Deserialize, Serialize};
use store::Tx;
use terms::{EngineerId, JobState};

use super::asking::ask_for;
use super::link::{Found, Stage, stage_of, use_up};
use crate::visit::{Closed, PaperVisit, paper_visit_in};
use crate::work::{
    Booking, Declined, Names, ProposalForm, book_in, decline_in, names_in, propose_in, take_in,
    wall, working_days,
};
use crate::{Error, World};

/// A day with its hours, in the building's wall time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Day {
    /// The day.
    pub day: NaiveDate,
    /// From.
    pub from: NaiveTime,
    /// Until.
    pub until: NaiveTime,
}

/// The job is taken, with a day.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Taken {
    /// When somebody comes.
    pub day: Day,
    /// Who of the firm.
    pub engineer: Option<EngineerId>,
}

/// Not as offered, but on another day.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Proposal {
    /// When somebody could come.
    pub day: Day,
    /// What else is to say.
    pub words: String,
}

/// When on the day of the visit the page to report it with is mailed.
const MORNING: Option<NaiveTime> = NaiveTime::from_hms_opt(6, 0, 0);

/// Takes the job and books the day. On its morning the firm is mailed a page to report the visit with.
///
/// # Errors
/// [`Error::Gone`] when the link or the offer is over; [`Error::Conflict`] when somebody else has the job;
/// [`Error::Invalid`] at a day that cannot be, or an engineer who may not do the work.
pub fn take(world: &World, found: &Found, form: &Taken, once: &str) -> Result<(), Error> {
    let (seat, job) = (&found.seat, found.link.job);
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            use_up(tx, found)?;
            must_be_on_offer(tx, found, &names)?;
            take_in(tx, seat, (job, form.engineer), &names)?;
            let booking = Booking {
                job,
                day: form.day.day,
                from: form.day.from,
                until: form.day.until,
                engineer: form.engineer,
                version: None,
            };
            let booked = book_in(tx, seat, &booking, &names)?;
            let morning = MORNING.and_then(|time| wall::instant(form.day.day, time));
            let run_at = morning.map_or(tx.at(), |at| at.max(tx.at()));
            let to = (found.link.firm, found.link.mailed_to.clone());
            ask_for(tx, &booked, to, run_at)
        })
    })
}

/// Declines the job.
///
/// # Errors
/// [`Error::Gone`] when the link or the offer is over; [`Error::Invalid`] at `reason` when none is given.
pub fn decline(world: &World, found: &Found, reason: &str, once: &str) -> Result<(), Error> {
    let names = names_in(world, found.seat.estate())?;
    world.acting(&found.seat, |tx| {
        tx.once(once, &reason, |tx| {
            use_up(tx, found)?;
            must_be_on_offer(tx, found, &names)?;
            let form = Declined {
                job: found.link.job,
                reason: reason.to_owned(),
            };
            decline_in(tx, &found.seat, &form, &names)
        })
    })
}

/// Says on which other day the firm could come. The offer as it stood is declined with that as its reason, so the desk
/// either places the job with this firm for that day or offers it to another.
///
/// # Errors
/// [`Error::Gone`] when the link or the offer is over; [`Error::Invalid`] at a day that cannot be.
pub fn propose(world: &World, found: &Found, form: &Proposal, once: &str) -> Result<(), Error> {
    let names = names_in(world, found.seat.estate())?;
    world.acting(&found.seat, |tx| {
        tx.once(once, form, |tx| {
            use_up(tx, found)?;
            must_be_on_offer(tx, found, &names)?;
            let form = ProposalForm {
                job: found.link.job,
                day: form.day.day,
                from: form.day.from,
                until: form.day.until,
                words: form.words.clone(),
            };
            propose_in(tx, &found.seat, &form, &names)
        })
    })
}

/// Reports the visit, through the same completion as every other way in. A job that is not finished by it brings the
/// firm another page for the next visit.
///
/// # Errors
/// [`Error::Gone`] when the link is over; [`Error::Invalid`] with every reason why the visit cannot end so: then
/// nothing is changed and the link still answers.
pub fn report(
    world: &World,
    found: &Found,
    form: &PaperVisit,
    once: &str,
) -> Result<Closed, Error> {
    let (seat, link) = (&found.seat, &found.link);
    if form.job != link.job {
        return Err(Error::NotFound("job"));
    }
    let names = names_in(world, seat.estate())?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            use_up(tx, found)?;
            let job = tx.hold_job(link.job)?;
            if !matches!(stage_of(tx, link.firm, &job, &names)?, Stage::Theirs) {
                return Err(Error::Conflict(format!(
                    "{} is only on offer: take it before you report a visit.",
                    job.number
                )));
            }
            let closed = paper_visit_in(tx, (world, &names, &days), seat, form)?;
            let returns = !closed.state.is_closed() && closed.state != JobState::LeftIsolated;
            if returns {
                let job = tx.job(link.job)?;
                let to = (link.firm, link.mailed_to.clone());
                let now = tx.at();
                ask_for(tx, &job, to, now)?;
            }
            Ok(closed)
        })
    })
}

/// Passes while the job is on offer to the firm of the link.
fn must_be_on_offer(tx: &mut Tx<'_>, found: &Found, names: &Names) -> Result<(), Error> {
    let job = tx.hold_job(found.link.job)?;
    match stage_of(tx, found.link.firm, &job, names)? {
        Stage::Offered(_) => Ok(()),
        Stage::Theirs => Err(Error::Conflict(format!(
            "Your firm has {} already; report the visit here once it is made.",
            job.number
        ))),
    }
}
