//! That a letter went out: a fact with its day, its way and what it said; and taking back one that never did.
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::jobs::Job;
use store::letters::SentLetter;
use terms::{JobId, LetterKind, Role, SentHow, UsedAs};
use uuid::Uuid;

use super::filled::Filled;
use crate::work::{must_see, wall};
use crate::{Error, FieldError, Seat, World};

/// The least notice of a repair: 24 hours in writing (tenancies, from memory; leases by their own terms).
const REPAIR_NOTICE_HOURS: i64 = 24;

/// A letter that went out.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Sending {
    /// The job it is about.
    pub job: JobId,
    /// Which letter.
    pub kind: LetterKind,
    /// How it went out.
    pub how: SentHow,
    /// The number of recorded post; may be empty otherwise.
    pub reference: String,
    /// When it went out.
    pub sent_at: DateTime<Utc>,
    /// What it said.
    pub filled: Filled,
}

/// Records that a letter went out; answers its id.
///
/// # Errors
/// [`Error::Invalid`] at `sent_on`, `how`, `reference`, `day`, `agreed` or `terms`; [`Error::NotFound`] for anybody but the desk.
pub fn send(world: &World, seat: &Seat, form: Sending, once: &str) -> Result<Uuid, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let job = tx.job(form.job)?;
            must_see(tx, seat, &job)?;
            if tx.space(job.space)?.used_as != UsedAs::Flat {
                return Err(Error::NotFound("letter"));
            }
            Error::unless_empty(wrongs(tx, &job, &form)?)?;
            let id = tx.add_letter(&SentLetter {
                id: Uuid::nil(),
                job: job.id,
                space: job.space,
                kind: form.kind,
                how: form.how,
                reference: form.reference.trim().to_owned(),
                body: serde_json::to_value(&form.filled)
                    .map_err(|e| Error::Internal(e.to_string()))?,
                sent_at: form.sent_at,
                happened_on: wall::day(form.sent_at),
                recorded_at: tx.at(),
                recorded_by: tx.who(),
                superseded_at: None,
            })?;
            tx.note(
                "letter sent",
                &format!("job {}", job.id),
                &json!({ "letter": id, "kind": form.kind, "how": form.how, "sent_at": form.sent_at }),
            );
            Ok(id)
        })
    })
}

/// Everything that cannot be of a letter that went out.
fn wrongs(tx: &mut Tx<'_>, job: &Job, form: &Sending) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    if form.sent_at > tx.at() {
        wrongs.push(FieldError::at("sent_on", "That has not come yet."));
    }
    if form.how == SentHow::RecordedPost && form.reference.trim().is_empty() {
        wrongs.push(FieldError::at(
            "reference",
            "Recorded post has a number: write it down, it is the proof.",
        ));
    }
    if form.reference.chars().count() > 100 {
        wrongs.push(FieldError::at("reference", "That is longer than a number."));
    }
    wrongs.extend(match form.kind.nth() {
        Some(nth) => about_access(tx, job, (form, nth))?,
        None => about_a_visit(form),
    });
    Ok(wrongs)
}

/// The letter follows its try; the third goes by recorded post and names the terms.
fn about_access(
    tx: &mut Tx<'_>,
    job: &Job,
    (form, nth): (&Sending, usize),
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    let tries = tx.access_attempts_of(job.id)?;
    let before = tries.iter().filter(|a| a.at <= form.sent_at).count();
    if before < nth {
        let said = match before {
            0 => "No try is on record before that".to_owned(),
            1 => "Only one try is on record before that".to_owned(),
            n => format!("Only {n} tries are on record before that"),
        };
        wrongs.push(FieldError::at(
            "sent_on",
            format!("{said}; the {} follows try {nth}.", form.kind),
        ));
    }
    if form.kind == LetterKind::ThirdNoAccess {
        if form.how != SentHow::RecordedPost {
            wrongs.push(FieldError::at(
                "how",
                "The third letter goes by recorded post, so that it can be shown.",
            ));
        }
        if form.filled.terms.trim().is_empty() {
            wrongs.push(FieldError::at(
                "terms",
                "Name the clause of the tenancy or lease that gives access.",
            ));
        }
    }
    Ok(wrongs)
}

/// A notice announces a day; a repair is announced a whole day before.
fn about_a_visit(form: &Sending) -> Vec<FieldError> {
    let Some(begins) = form.filled.begins_at() else {
        return vec![FieldError::at(
            "day",
            "A notice says on which day and from what hour somebody comes.",
        )];
    };
    let notice = begins - form.sent_at;
    let mut wrongs = Vec::new();
    if notice < TimeDelta::zero() {
        wrongs.push(FieldError::at("day", "That visit was before the letter."));
    } else if form.kind == LetterKind::Repair
        && notice < TimeDelta::hours(REPAIR_NOTICE_HOURS)
        && !form.filled.agreed
    {
        wrongs.push(FieldError::at(
            "agreed",
            "That is less than 24 hours before the visit. Name a later hour, or say that the resident agreed.",
        ));
    }
    wrongs
}

/// Takes back a letter that never went out; the entry stays readable in the audit. Answers the job it was about.
///
/// # Errors
/// [`Error::Conflict`] when it was taken back before; [`Error::Invalid`] without a reason.
pub fn take_back(
    world: &World,
    seat: &Seat,
    (letter, reason): (Uuid, &str),
    once: &str,
) -> Result<JobId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(letter, reason), |tx| {
            let sent = tx.letter(letter)?;
            let job = tx.job(sent.job)?;
            must_see(tx, seat, &job)?;
            if reason.trim().is_empty() {
                return Err(Error::field("reason", "Say why it counts as not sent."));
            }
            if tx.supersede_letter(letter)? == 0 {
                return Err(Error::Conflict(
                    "It was taken back before. Nothing was changed by you.".to_owned(),
                ));
            }
            tx.note(
                "letter taken back",
                &format!("job {}", job.id),
                &json!({ "letter": letter, "kind": sent.kind, "reason": reason.trim() }),
            );
            Ok(job.id)
        })
    })
}
