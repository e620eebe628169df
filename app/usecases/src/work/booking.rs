//! Naming a day, giving a job back, standing it down, agreeing its papers.
use chrono::{NaiveDate, NaiveTime, TimeDelta};
use serde::{Deserialize, Serialize};
use store::Tx;
use store::jobs::Job;
use terms::{EngineerId, JobId, JobState, Pence, Role};

use super::names::{Names, names_in};
use super::offering::may_do;
use super::reach::{must_reach_job, must_see};
use super::stepping::{leaves_unsafe, must_read_version, step};
use super::wall;
use crate::advice::{Before, before_money};
use crate::{Error, Seat, World};

/// A slot, in the building's wall time.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Booking {
    /// The job.
    pub job: JobId,
    /// The day.
    pub day: NaiveDate,
    /// From.
    pub from: NaiveTime,
    /// Until.
    pub until: NaiveTime,
    /// Who attends; `None` leaves it as it is.
    pub engineer: Option<EngineerId>,
    /// The version of the job that was read.
    pub version: Option<i32>,
}

/// Books a day and time; a booked job is booked anew. The firm that has it may, and the desk.
///
/// # Errors
/// [`Error::Invalid`] for a slot that has no hour, ends before it begins, or lies in the past.
pub fn book(world: &World, seat: &Seat, form: Booking, once: &str) -> Result<(), Error> {
    seat.must_be(&[
        Role::Agent,
        Role::Supervisor,
        Role::Contractor,
        Role::Office,
    ])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| book_in(tx, seat, &form, &names).map(drop))
    })
}

/// The same inside a transaction that does more with it; answers the job as booked.
pub(crate) fn book_in(
    tx: &mut Tx<'_>,
    seat: &Seat,
    form: &Booking,
    names: &Names,
) -> Result<Job, Error> {
    let mut job = tx.hold_job(form.job)?;
    must_reach_job(tx, seat, &job)?;
    must_read_version(&job, form.version)?;
    let Some(firm) = job.firm else {
        return Err(Error::Conflict(format!(
            "Nobody has taken {} yet: offer it, or write down who takes it, then book.",
            job.number
        )));
    };
    let slot = slot_of(form, tx.at())?;
    let engineer = form.engineer.or(job.engineer).or_else(|| seat.engineer());
    may_do(&job, firm, engineer, names, form.day)?;
    if job.state == JobState::Booked {
        step(
            tx,
            &mut job,
            JobState::Taken,
            "The slot before was given up.",
        )?;
    }
    job.engineer = engineer;
    job.booked = Some(slot);
    let words = format!(
        "Booked for {} to {}.",
        wall::words(slot.0),
        form.until.format("%H:%M")
    );
    step(tx, &mut job, JobState::Booked, &words)?;
    Ok(job)
}

type Slot = (chrono::DateTime<chrono::Utc>, chrono::DateTime<chrono::Utc>);

pub(crate) fn slot_of(form: &Booking, now: chrono::DateTime<chrono::Utc>) -> Result<Slot, Error> {
    let skipped = |field: &str| {
        Error::field(
            field,
            "That hour does not exist on this day: the clocks go forward.",
        )
    };
    let from = wall::instant(form.day, form.from).ok_or_else(|| skipped("from"))?;
    let until = wall::instant(form.day, form.until).ok_or_else(|| skipped("until"))?;
    if until <= from {
        return Err(Error::field("until", "The slot ends before it begins."));
    }
    if until < now {
        return Err(Error::field("day", "That slot is over already."));
    }
    if from > now + TimeDelta::days(400) {
        return Err(Error::field("day", "That is more than a year ahead."));
    }
    Ok((from, until))
}

/// Gives a job back to the desk.
pub fn give_back(
    world: &World,
    seat: &Seat,
    (job, reason): (JobId, String),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[
        Role::Agent,
        Role::Supervisor,
        Role::Contractor,
        Role::Office,
    ])?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, &reason), |tx| {
            let mut job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            let reason = said(&reason, "reason")?;
            let words = format!("Given back: {reason}.");
            let whom = job.firm.map(|firm| (firm, job.engineer));
            tx.add_job_event(job.id, job.state, whom, &words)?;
            job.firm = None;
            job.engineer = None;
            job.booked = None;
            step(tx, &mut job, JobState::ToPlace, &words)
        })
    })
}

/// Stands a job down: it is not needed any more.
pub fn stand_down(
    world: &World,
    seat: &Seat,
    (job, reason, version): (JobId, String, Option<i32>),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, &reason), |tx| {
            let mut job = tx.hold_job(job)?;
            must_see(tx, seat, &job)?;
            must_read_version(&job, version)?;
            let reason = said(&reason, "reason")?;
            if let Some(why) = leaves_unsafe(tx, &job)? {
                return Err(Error::field("reason", why));
            }
            for open in tx.offers_of(job.id)?.iter().filter(|o| o.answer.is_none()) {
                tx.answer_offer(open.id, "withdrawn", "stood down")?;
            }
            step(
                tx,
                &mut job,
                JobState::StoodDown,
                &format!("Stood down: {reason}."),
            )
        })
    })
}

/// What is agreed of a finished job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Agreed {
    /// The job.
    pub job: JobId,
    /// What it cost, VAT in it; `None` leaves it as it is.
    pub cost: Option<Pence>,
    /// What speaks against paying was looked into: warranty, the same again, the same part.
    pub looked: bool,
}

/// Agrees that papers and invoice are right; the cost is kept with the job. Money is agreed only after a warranty, the same
/// put right within 30 days and the same part within two years were looked into.
///
/// # Errors
/// [`Error::Invalid`] at `looked` for a cost where one of these speaks against it and nobody looked.
pub fn agree(world: &World, seat: &Seat, form: Agreed, once: &str) -> Result<(), Error> {
    let Agreed { job, cost, looked } = form;
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let mut job = tx.hold_job(job)?;
            must_see(tx, seat, &job)?;
            // What an empty field leaves as it is gets paid too.
            if cost.or(job.cost).is_some_and(|cost| cost.0 > 0) && !looked {
                nothing_against(tx, &job)?;
            }
            if cost.is_some() {
                job.cost = cost;
            }
            step(
                tx,
                &mut job,
                JobState::Agreed,
                "Papers and invoice are right.",
            )
        })
    })
}

/// That nothing speaks against paying for a job.
fn nothing_against(tx: &mut Tx<'_>, job: &Job) -> Result<(), Error> {
    let Some(unit) = job.unit else {
        return Ok(());
    };
    let unit = tx.unit(unit)?;
    let part = match tx.quote_of_job(job.id)? {
        Some((id, _, _)) => tx.quote(id)?.body.part,
        None => None,
    };
    let found = before_money(tx, &unit, Some(job.id), part.as_deref())?;
    let said: Vec<String> = found.iter().map(Before::in_short).collect();
    if said.is_empty() {
        return Ok(());
    }
    let words = format!(
        "{}. Look into it before it is paid, then say so.",
        said.join("; ")
    );
    Err(Error::field("looked", words))
}

fn said(text: &str, field: &str) -> Result<String, Error> {
    let text = text.trim().trim_end_matches('.');
    if text.is_empty() {
        return Err(Error::field(field, "Say in a few words why."));
    }
    Ok(text.to_owned())
}
