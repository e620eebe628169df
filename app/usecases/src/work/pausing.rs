//! Pauses of a job's clock, with their reason. A clock of law is stopped by nothing; a landlord's own time, agreed
//! with the firm, is stopped by two reasons. Every other reason is kept on record and stops nothing.
use chrono::{DateTime, Utc};
use inspection::clock::{Basis, HoursQuery, LocalTime, Pause as Stretch, hours};
use serde_json::json;
use store::Tx;
use store::jobs::Job;
use store::pauses::Pause;
use terms::{JobId, Role};
use uuid::Uuid;

use super::by_law::runs_by_law;
use super::{must_see, wall};
use crate::{Error, Seat, World};

/// A reason for a pause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PauseReason {
    /// Its code, as the clock knows it.
    pub code: &'static str,
    /// As the desk says it.
    pub words: &'static str,
    /// It stops a clock that is not law.
    pub stops: bool,
}

/// Reasons for a pause, those that stop a contract's clock first.
pub const PAUSE_REASONS: [PauseReason; 5] = [
    PauseReason {
        code: "resident_asked_later",
        words: "The resident asked for a later day",
        stops: true,
    },
    PauseReason {
        code: "supplier_network_off",
        words: "The supplier’s network is off",
        stops: true,
    },
    PauseReason {
        code: "no_access",
        words: "Nobody opened",
        stops: false,
    },
    PauseReason {
        code: "awaiting_part",
        words: "A part is on its way",
        stops: false,
    },
    PauseReason {
        code: "awaiting_decision",
        words: "Somebody has to decide",
        stops: false,
    },
];

/// The pauses of a job's clock and what they do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pauses {
    /// Oldest first.
    pub all: Vec<Pause>,
    /// The job's clock is law: nothing stops it.
    pub by_law: bool,
    /// What the pauses do to the clock, in sentences.
    pub sentences: Vec<String>,
}

/// The one that lasts.
fn open(pauses: &[Pause]) -> Option<&Pause> {
    pauses.iter().find(|p| p.until_at.is_none())
}

/// A job that is to meet a duty of law runs by the law's clock, and so does one for which the right to repair or a hazard
/// sets a date.
fn by_law(tx: &mut Tx<'_>, job: &Job) -> Result<bool, Error> {
    if runs_by_law(tx, job)? {
        return Ok(true);
    }
    let rules = tx.duty_rules()?;
    Ok(tx.duties_of_job(job.id)?.iter().any(|(_, code, _)| {
        rules
            .iter()
            .any(|rule| rule.code == *code && rule.basis == "law")
    }))
}

/// The instant the job is due at with these pauses counted.
fn due_with(job: &Job, pauses: &[Pause], law: bool) -> Result<Option<DateTime<Utc>>, Error> {
    let Some(first) = pauses.first() else {
        return Ok(None);
    };
    let local = |at: DateTime<Utc>| LocalTime(wall::local(at));
    let minutes = (first.due_without - job.opened_at).num_minutes().max(0);
    let stretches = pauses
        .iter()
        .filter_map(|p| {
            Some(Stretch {
                from: local(p.from_at),
                to: local(p.until_at?),
                reason: p.reason.clone(),
            })
        })
        .collect();
    let query = HoursQuery {
        start_local: local(job.opened_at),
        hours: minutes as f64 / 60.0,
        basis: if law { Basis::Law } else { Basis::Contract },
        pauses: stretches,
        finished_local: None,
        now_local: None,
    };
    let clock = hours(&query).map_err(|e| Error::Internal(e.to_string()))?;
    let moved = chrono::TimeDelta::minutes(clock.paused_minutes);
    Ok(Some(first.due_without + moved))
}

/// Pauses a job's clock from now.
///
/// # Errors
/// [`Error::Invalid`] at `reason`; [`Error::Conflict`] when the clock stands, the job has none, or it is closed.
pub fn pause(
    world: &World,
    seat: &Seat,
    (job, reason, words): (JobId, String, String),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, &reason, &words), |tx| {
            let job = tx.hold_job(job)?;
            must_see(tx, seat, &job)?;
            let Some(reason) = PAUSE_REASONS.iter().find(|r| r.code == reason) else {
                return Err(Error::field("pause_reason", "Choose the reason."));
            };
            let pauses = tx.pauses_of(job.id)?;
            let due = job.due_at.filter(|_| job.closed_at.is_none());
            let (Some(due), None) = (due, open(&pauses)) else {
                return Err(Error::Conflict(
                    "This job has no clock that could be paused now. Nothing was changed."
                        .to_owned(),
                ));
            };
            tx.add_pause(&Pause {
                id: Uuid::nil(),
                job: job.id,
                reason: reason.code.to_owned(),
                words: words.trim().to_owned(),
                from_at: tx.at(),
                until_at: None,
                due_without: pauses.first().map_or(due, |p| p.due_without),
                recorded_at: tx.at(),
                recorded_by: tx.who(),
            })?;
            tx.note(
                "clock paused",
                &format!("job {}", job.id),
                &json!({ "number": job.number, "reason": reason.code }),
            );
            Ok(())
        })
    })
}

/// Lets a job's clock run on from now; what stopped it moves its due time by as much.
///
/// # Errors
/// [`Error::Conflict`] when nothing is paused.
pub fn run_on(world: &World, seat: &Seat, job: JobId, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &("run on", job), |tx| {
            let job = tx.hold_job(job)?;
            must_see(tx, seat, &job)?;
            let pauses = tx.pauses_of(job.id)?;
            let Some(lasting) = open(&pauses).cloned() else {
                return Err(Error::Conflict(
                    "The clock of this job runs. Nothing was changed.".to_owned(),
                ));
            };
            tx.end_pause(&lasting, tx.at())?;
            let pauses = tx.pauses_of(job.id)?;
            let law = by_law(tx, &job)?;
            if let Some(due) = due_with(&job, &pauses, law)?
                && Some(due) != job.due_at
            {
                let why = format!(
                    "{} Its clock stood still in between; without that it was due at {}.",
                    job.due_why,
                    wall::words(lasting.due_without)
                );
                tx.move_due(job.id, due, why.trim())?;
            }
            tx.note(
                "clock runs on",
                &format!("job {}", job.id),
                &json!({ "number": job.number, "reason": lasting.reason }),
            );
            Ok(())
        })
    })
}

/// The pauses of a job's clock.
pub fn pauses(world: &World, seat: &Seat, job: JobId) -> Result<Pauses, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see(tx, seat, &job)?;
        let all = tx.pauses_of(job.id)?;
        let by_law = by_law(tx, &job)?;
        let sentences = all.iter().map(|p| sentence(p, by_law)).collect();
        Ok(Pauses {
            all,
            by_law,
            sentences,
        })
    })
}

fn sentence(pause: &Pause, by_law: bool) -> String {
    let known = PAUSE_REASONS.iter().find(|r| r.code == pause.reason);
    let reason = known.map_or(pause.reason.as_str(), |r| r.words);
    let said = if pause.words.is_empty() {
        String::new()
    } else {
        format!(" “{}”", pause.words)
    };
    let effect = match (by_law, known.is_some_and(|r| r.stops)) {
        (true, _) => "the clock is law, so it ran on",
        (false, true) => "the clock stood still",
        (false, false) => "kept on record; it stops no clock",
    };
    match pause.until_at {
        Some(until) => format!(
            "{reason}, from {} to {}: {effect}.{said}",
            wall::words(pause.from_at),
            wall::words(until)
        ),
        None => format!(
            "{reason}, since {}: {effect}.{said}",
            wall::words(pause.from_at)
        ),
    }
}
