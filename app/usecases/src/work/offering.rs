//! Offering a job to firms, taking it exactly once, declining it, and placing it by telephone.
use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::jobs::{Job, NewOffer};
use terms::{Covers, Engineer, EngineerId, FirmId, FirmPaperSort, JobId, JobState, Role};

use super::booking::{Booking, slot_of};
use super::names::{Names, names_in};
use super::reach::must_see;
use super::stepping::{must_read_version, step};
use super::wall;
use crate::{Error, Seat, World};

/// An offer of a job to a firm.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OfferForm {
    /// The job.
    pub job: JobId,
    /// To whom.
    pub firm: FirmId,
    /// It may be taken until then.
    pub until: DateTime<Utc>,
    /// The slot proposed.
    pub proposed: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// The version of the job that was read.
    pub version: Option<i32>,
}

/// A firm said yes by telephone: the desk writes it down.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct PlaceForm {
    /// The job.
    pub job: JobId,
    /// Who takes it.
    pub firm: FirmId,
    /// Who of them.
    pub engineer: Option<EngineerId>,
    /// The version of the job that was read.
    pub version: Option<i32>,
}

/// A firm says no.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Declined {
    /// The job.
    pub job: JobId,
    /// Why.
    pub reason: String,
}

/// Not as offered, but on another day.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ProposalForm {
    /// The job.
    pub job: JobId,
    /// The day.
    pub day: NaiveDate,
    /// From.
    pub from: NaiveTime,
    /// Until.
    pub until: NaiveTime,
    /// What else is to say.
    pub words: String,
}

/// Offers a job to a firm; several firms may hold an offer at once, the first to take it has it.
///
/// # Errors
/// [`Error::Conflict`] when the firm holds an open offer already, or the job is past offering.
pub fn offer(world: &World, seat: &Seat, form: OfferForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| offer_in(tx, seat, &form, &names))
    })
}

/// The same inside a transaction that does more with it.
pub(crate) fn offer_in(
    tx: &mut Tx<'_>,
    seat: &Seat,
    form: &OfferForm,
    names: &Names,
) -> Result<(), Error> {
    let mut job = tx.hold_job(form.job)?;
    must_see(tx, seat, &job)?;
    must_read_version(&job, form.version)?;
    if !names.has_firm(form.firm) {
        return Err(Error::field("firm", "That firm gives this estate no time."));
    }
    if form.until <= tx.at() || form.until > tx.at() + TimeDelta::days(60) {
        return Err(Error::field(
            "until",
            "Offer it until a time in the next 60 days.",
        ));
    }
    let now = tx.at();
    let offers = tx.offers_of(job.id)?;
    if offers.iter().any(|o| o.firm == form.firm && o.is_open(now)) {
        return Err(Error::Conflict(format!(
            "{} is on offer to {} already.",
            job.number,
            names.firm(form.firm)
        )));
    }
    for stale in offers
        .iter()
        .filter(|o| o.answer.is_none() && !o.is_open(now))
    {
        tx.answer_offer(stale.id, "lapsed", "")?;
    }
    tx.add_offer(NewOffer {
        job: job.id,
        firm: form.firm,
        until_at: form.until,
        proposed: form.proposed,
    })?;
    let words = format!(
        "Offered to {} until {}.",
        names.firm(form.firm),
        wall::words(form.until)
    );
    if job.state == JobState::Offered {
        tx.add_job_event(job.id, JobState::Offered, Some((form.firm, None)), &words)?;
    } else {
        step(tx, &mut job, JobState::Offered, &words)?;
    }
    tx.note(
        "job offered",
        &format!("job {}", job.id),
        &json!({ "number": job.number, "firm": form.firm, "until": form.until }),
    );
    Ok(())
}

/// Takes a job on offer: the first of several has it, everybody else is told so.
///
/// # Errors
/// [`Error::Conflict`] when it is gone, ran out or was withdrawn; [`Error::Invalid`] when the engineer
/// may not do this work.
pub fn take(
    world: &World,
    seat: &Seat,
    job: JobId,
    engineer: Option<EngineerId>,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor, Role::Office])?;
    let names = names_in(world, seat.estate())?;
    let engineer = engineer.or_else(|| seat.engineer());
    world.acting(seat, |tx| {
        tx.once(once, &(job, engineer), |tx| {
            take_in(tx, seat, (job, engineer), &names)
        })
    })
}

/// The same inside a transaction that does more with it.
pub(crate) fn take_in(
    tx: &mut Tx<'_>,
    seat: &Seat,
    (job, engineer): (JobId, Option<EngineerId>),
    names: &Names,
) -> Result<(), Error> {
    let firm = seat.firm()?;
    let mut job = tx.hold_job(job)?;
    let offers = tx.offers_of(job.id)?;
    let mine = offers.iter().rfind(|o| o.firm == firm);
    let Some(mine) = mine.filter(|_| seat.grant().reaches(job.building)) else {
        return Err(Error::NotFound("job"));
    };
    if job.state != JobState::Offered || mine.answer.is_some() {
        return Err(Error::Conflict(gone(&job, firm, names)));
    }
    if !mine.is_open(tx.at()) {
        return Err(Error::Conflict(ran_out(&job, mine.until_at)));
    }
    may_do(&job, firm, engineer, names, wall::day(tx.at()))?;
    tx.answer_offer(mine.id, "taken", "")?;
    for other in offers
        .iter()
        .filter(|o| o.id != mine.id && o.answer.is_none())
    {
        tx.answer_offer(other.id, "withdrawn", "somebody else took it")?;
    }
    job.firm = Some(firm);
    job.engineer = engineer;
    let words = format!("Taken by {}.", whom(firm, engineer, names));
    step(tx, &mut job, JobState::Taken, &words)
}

/// An offer that ran out, said to whom it was made.
pub(crate) fn ran_out(job: &Job, until: DateTime<Utc>) -> String {
    format!(
        "The offer of {} ran out at {}. Ring the office if you want it.",
        job.number,
        wall::words(until)
    )
}

fn whom(firm: FirmId, engineer: Option<EngineerId>, names: &Names) -> String {
    match engineer {
        Some(engineer) => format!("{} of {}", names.engineer(engineer), names.firm(firm)),
        None => names.firm(firm).to_owned(),
    }
}

/// Who has it now, said to somebody who came too late. Another firm's name is not told.
pub(crate) fn gone(job: &Job, firm: FirmId, names: &Names) -> String {
    let at = wall::words(job.state_at);
    match (job.firm, job.engineer) {
        (Some(has), Some(engineer)) if has == firm => format!(
            "{} is gone: {} of your firm has had it since {at}.",
            job.number,
            names.engineer(engineer)
        ),
        (Some(has), None) if has == firm => {
            format!("{} is gone: your firm has had it since {at}.", job.number)
        }
        (Some(_), _) => format!("{} is gone: another firm took it at {at}.", job.number),
        (None, _) => format!(
            "{} is not on offer any more; it is {}.",
            job.number, job.state
        ),
    }
}

/// The firm's own papers in date on the day: its insurance, and its registration where the job is gas work.
fn firm_may(job: &Job, firm: FirmId, names: &Names, day: NaiveDate) -> Result<(), Error> {
    let Some(card) = names.firms.iter().find(|f| f.id == firm) else {
        return Ok(());
    };
    for what in FirmPaperSort::ALL {
        if asked_of_firm(&job.covers, *what) && card.stopped_by(*what, day) {
            return Err(Error::field(
                "day",
                format!(
                    "{} asks for {what}; {} has none in date on {}.",
                    job.number,
                    card.name,
                    day.format("%-d %B %Y")
                ),
            ));
        }
    }
    Ok(())
}

/// Whether work that covers these fields asks for a paper of the firm.
pub(crate) fn asked_of_firm(covers: &str, what: FirmPaperSort) -> bool {
    match what {
        FirmPaperSort::Insurance => true,
        FirmPaperSort::GasRegistration => covers
            .split_whitespace()
            .any(|code| code == Covers::Gas.code() || code == Covers::GasPlant.code()),
    }
}

/// A firm with its own papers, and an engineer of it with the qualifications the job asks for, in date on the day.
pub(super) fn may_do(
    job: &Job,
    firm: FirmId,
    engineer: Option<EngineerId>,
    names: &Names,
    day: NaiveDate,
) -> Result<(), Error> {
    firm_may(job, firm, names, day)?;
    let Some(id) = engineer else { return Ok(()) };
    let card: &Engineer = names
        .engineer_card(id)
        .filter(|e| e.firm == firm)
        .ok_or_else(|| Error::field("engineer", "That engineer is not of this firm."))?;
    for code in job.covers.split_whitespace() {
        let Ok(covers) = code.parse::<Covers>() else {
            continue;
        };
        if card.covers(covers, day).is_none() {
            return Err(Error::field(
                "engineer",
                format!(
                    "{} asks for {covers}; {} has no qualification for it in date on {}.",
                    job.number,
                    card.name,
                    day.format("%-d %B %Y")
                ),
            ));
        }
    }
    Ok(())
}

/// Declines an offer; without another open offer the job is to place again.
pub fn decline(world: &World, seat: &Seat, form: Declined, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor, Role::Office])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| decline_in(tx, seat, &form, &names))
    })
}

/// The same inside a transaction that does more with it.
pub(crate) fn decline_in(
    tx: &mut Tx<'_>,
    seat: &Seat,
    form: &Declined,
    names: &Names,
) -> Result<(), Error> {
    let firm = seat.firm()?;
    let mut job = tx.hold_job(form.job)?;
    must_see(tx, seat, &job)?;
    let reason = form.reason.trim().trim_end_matches('.');
    if reason.is_empty() {
        return Err(Error::field(
            "reason",
            "Say in a word why, so that the office can plan.",
        ));
    }
    let offers = tx.offers_of(job.id)?;
    let Some(mine) = offers.iter().find(|o| o.firm == firm && o.answer.is_none()) else {
        return Err(Error::Conflict(gone(&job, firm, names)));
    };
    tx.answer_offer(mine.id, "declined", reason)?;
    let now = tx.at();
    let others = offers.iter().any(|o| o.id != mine.id && o.is_open(now));
    let words = format!("{} declined: {reason}.", names.firm(firm));
    tx.note(
        "offer declined",
        &format!("job {}", job.id),
        &json!({ "number": job.number, "firm": firm, "reason": reason }),
    );
    if others || job.state != JobState::Offered {
        tx.add_job_event(job.id, job.state, Some((firm, None)), &words)?;
        return Ok(());
    }
    step(tx, &mut job, JobState::ToPlace, &words)
}

/// Says on which other day the firm could come. The offer as it stood is declined with that as its reason; the day is
/// kept with it, so the desk's forms begin with it.
///
/// # Errors
/// [`Error::Invalid`] at `day` or `until` for a slot that cannot be; [`Error::Conflict`] when the offer is over.
pub fn propose(world: &World, seat: &Seat, form: ProposalForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor, Role::Office])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| propose_in(tx, seat, &form, &names))
    })
}

/// The same inside a transaction that does more with it.
pub(crate) fn propose_in(
    tx: &mut Tx<'_>,
    seat: &Seat,
    form: &ProposalForm,
    names: &Names,
) -> Result<(), Error> {
    let firm = seat.firm()?;
    let job = tx.hold_job(form.job)?;
    must_see(tx, seat, &job)?;
    let asked = Booking {
        job: form.job,
        day: form.day,
        from: form.from,
        until: form.until,
        engineer: None,
        version: None,
    };
    let slot = slot_of(&asked, tx.at())?;
    let offers = tx.offers_of(job.id)?;
    let Some(mine) = offers.iter().find(|o| o.firm == firm && o.answer.is_none()) else {
        return Err(Error::Conflict(gone(&job, firm, names)));
    };
    if !mine.is_open(tx.at()) {
        return Err(Error::Conflict(ran_out(&job, mine.until_at)));
    }
    tx.counter_offer(mine.id, slot)?;
    let words = form.words.trim().trim_end_matches('.');
    let more = if words.is_empty() {
        String::new()
    } else {
        format!(": {words}")
    };
    let reason = format!(
        "not as offered, but could come from {} to {}{more}",
        wall::words(slot.0),
        form.until.format("%H:%M")
    );
    let form = Declined {
        job: form.job,
        reason,
    };
    decline_in(tx, seat, &form, names)
}

/// Writes down that a firm took a job by telephone.
pub fn place_with(world: &World, seat: &Seat, form: PlaceForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let mut job = tx.hold_job(form.job)?;
            must_see(tx, seat, &job)?;
            must_read_version(&job, form.version)?;
            place(tx, &mut job, (form.firm, form.engineer), &names)
        })
    })
}

/// Gives a held job to a firm, every open offer withdrawn.
pub(crate) fn place(
    tx: &mut Tx<'_>,
    job: &mut Job,
    (firm, engineer): (FirmId, Option<EngineerId>),
    names: &Names,
) -> Result<(), Error> {
    if !names.has_firm(firm) {
        return Err(Error::field("firm", "That firm gives this estate no time."));
    }
    may_do(job, firm, engineer, names, wall::day(tx.at()))?;
    for open in tx.offers_of(job.id)?.iter().filter(|o| o.answer.is_none()) {
        let answer = if open.firm == firm {
            "taken"
        } else {
            "withdrawn"
        };
        tx.answer_offer(open.id, answer, "by telephone")?;
    }
    job.firm = Some(firm);
    job.engineer = engineer;
    let words = format!("Taken by {} by telephone.", whom(firm, engineer, names));
    step(tx, job, JobState::Taken, &words)
}

/// Marks the offers of an estate that ran out; a job without another is to place again. A task of the clock.
pub fn lapse_offers(world: &World, seat: &Seat) -> Result<usize, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let offered: Vec<Job> = tx
            .jobs(&store::jobs::Which::Open)?
            .into_iter()
            .filter(|j| j.state == JobState::Offered)
            .collect();
        let mut lapsed = 0;
        for listed in offered {
            let mut job = tx.hold_job(listed.id)?;
            if job.state != JobState::Offered {
                continue;
            }
            let now = tx.at();
            let offers = tx.offers_of(job.id)?;
            for stale in offers
                .iter()
                .filter(|o| o.answer.is_none() && !o.is_open(now))
            {
                tx.answer_offer(stale.id, "lapsed", "")?;
                lapsed += 1;
            }
            if !offers.iter().any(|o| o.is_open(now)) {
                step(
                    tx,
                    &mut job,
                    JobState::ToPlace,
                    "Nobody took it while it was on offer.",
                )?;
            }
        }
        Ok(lapsed)
    })
}
