//! A letter about a job as the desk sees it before it is printed, and as it was sent.
use chrono::{NaiveDate, TimeDelta};
use store::Tx;
use store::jobs::Job;
use store::letters::SentLetter;
use store::visits::AccessAttempt;
use terms::{JobId, LetterKind, Role, UsedAs};
use uuid::Uuid;

use super::filled::{Filled, suggested};
use super::next::{PartOfDay, part_of};
use crate::letterhead::letterhead_in;
use crate::work::{Names, must_see, names_in, wall};
use crate::{Error, Seat, World};

/// What the desk should know before the letter goes out; never printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Advice {
    /// No letterhead is stated: the letter names nobody to write to.
    NoLetterhead,
    /// Nobody is on record as living there.
    NoName,
    /// A notice without a day and hour announces nothing.
    NoSlot,
    /// The visit proposed falls in a part of the day that was tried before.
    SameTimeOfDay(PartOfDay),
    /// A repair is announced less than a day before.
    ShortNotice,
    /// A planned visit is announced less than a week before.
    UnderAWeek,
    /// Fewer tries than this letter speaks of are on record.
    NotTried(usize),
    /// The third letter names no clause yet.
    NoTerms,
}

/// A letter about a job.
#[derive(Clone, Debug)]
pub struct LetterView {
    /// Which letter.
    pub kind: LetterKind,
    /// The job it is about.
    pub job: Job,
    /// The building's address; may be empty.
    pub address: String,
    /// Who lives there, as they wish to be called.
    pub resident: Option<String>,
    /// What is filled in.
    pub filled: Filled,
    /// The letter's date.
    pub on: NaiveDate,
    /// The duties it is about: name, whether the law asks it, and the last day that is not late.
    pub duties: Vec<(String, bool, Option<NaiveDate>)>,
    /// When nobody opened, with the names of who stood at the door.
    pub tries: Vec<(AccessAttempt, String)>,
    /// Letters sent about this job.
    pub earlier: Vec<SentLetter>,
    /// The letter itself, when it is one that was sent.
    pub sent: Option<SentLetter>,
    /// The gas emergency service's number, where the work is on gas.
    pub gas_number: Option<String>,
    /// What the desk should know first.
    pub advice: Vec<Advice>,
}

/// A letter about a job, filled in as the job suggests or as `typed`.
///
/// # Errors
/// [`Error::NotFound`] for anybody but the desk, and where nobody lives.
pub fn letter(
    world: &World,
    seat: &Seat,
    (job, kind): (JobId, LetterKind),
    typed: Option<Filled>,
) -> Result<LetterView, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see(tx, seat, &job)?;
        view_of(tx, &names, (job, kind), typed)
    })
}

/// The letters sent about a job, oldest first.
///
/// # Errors
/// [`Error::NotFound`] for anybody but the desk.
pub fn letters_of_job(world: &World, seat: &Seat, job: JobId) -> Result<Vec<SentLetter>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see(tx, seat, &job)?;
        Ok(tx.letters_of(job.id)?)
    })
}

/// A letter as it was sent.
///
/// # Errors
/// [`Error::NotFound`] for anybody but the desk, and when it was taken back.
pub fn sent_letter(world: &World, seat: &Seat, id: Uuid) -> Result<LetterView, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let sent = tx.letter(id)?;
        if sent.superseded_at.is_some() {
            return Err(Error::NotFound("letter"));
        }
        let job = tx.job(sent.job)?;
        must_see(tx, seat, &job)?;
        let filled: Filled = serde_json::from_value(sent.body.clone())
            .map_err(|e| Error::Internal(format!("letter {id}: {e}")))?;
        let mut view = view_of(tx, &names, (job, sent.kind), Some(filled))?;
        view.on = sent.happened_on;
        view.tries.retain(|(attempt, _)| attempt.at <= sent.sent_at);
        view.earlier.retain(|l| l.sent_at < sent.sent_at);
        view.advice.clear();
        view.sent = Some(sent);
        Ok(view)
    })
}

fn view_of(
    tx: &mut Tx<'_>,
    names: &Names,
    (job, kind): (Job, LetterKind),
    typed: Option<Filled>,
) -> Result<LetterView, Error> {
    if tx.space(job.space)?.used_as != UsedAs::Flat {
        return Err(Error::NotFound("letter"));
    }
    let duties = duties(tx, job.id)?;
    let filled = match typed {
        Some(filled) => filled,
        None => suggest(tx, names, &job, &duties)?,
    };
    let tries: Vec<(AccessAttempt, String)> = tx
        .access_attempts_of(job.id)?
        .into_iter()
        .map(|attempt| {
            let who = attempt.engineer.map(|e| names.engineer(e).to_owned());
            (attempt, who.unwrap_or_else(|| "our engineer".to_owned()))
        })
        .collect();
    let resident = tx.resident(job.space)?.map(|(name, _)| name);
    let building = tx.building(job.building)?;
    let on_gas = job.covers.split_whitespace().any(|code| code == "gas");
    let gas_number = on_gas
        .then(|| crate::work::gas_script(tx, building.country))
        .transpose()?
        .map(|script| script.number);
    let mut view = LetterView {
        kind,
        address: building.address,
        resident,
        gas_number,
        on: wall::day(tx.at()),
        duties,
        tries,
        earlier: tx.letters_of(job.id)?,
        sent: None,
        advice: Vec::new(),
        filled,
        job,
    };
    view.advice = advice(&view, tx.at());
    Ok(view)
}

fn suggest(
    tx: &mut Tx<'_>,
    names: &Names,
    job: &Job,
    duties: &[(String, bool, Option<NaiveDate>)],
) -> Result<Filled, Error> {
    let kind_code = match job.unit {
        Some(unit) => tx.unit(unit)?.kind,
        None => String::new(),
    };
    let kinds = tx.kinds()?;
    let kind = kinds.iter().find(|k| k.code == kind_code);
    let kind_name = kind.map_or("", |k| k.name.as_str());
    let sender = letterhead_in(tx)?;
    let duties: Vec<String> = duties.iter().map(|(name, _, _)| name.clone()).collect();
    Ok(suggested(
        job,
        (&kind_code, kind_name),
        &duties,
        (names, sender),
        tx.at(),
    ))
}

/// The duties of a job: name, whether the law asks it, last day.
fn duties(tx: &mut Tx<'_>, job: JobId) -> Result<Vec<(String, bool, Option<NaiveDate>)>, Error> {
    let rules = tx.duty_rules()?;
    let mut found = Vec::new();
    for (id, code, _) in tx.duties_of_job(job)? {
        let Some(rule) = rules.iter().find(|r| r.code == code) else {
            continue;
        };
        let rows = tx.completions_of(&[id], false)?;
        let deadline = rows.last().and_then(|row| row.next_deadline);
        let last = deadline.map(|day| crate::duties::dates::window(rule, day).last);
        found.push((rule.name.clone(), rule.basis == "law", last));
    }
    Ok(found)
}

fn advice(view: &LetterView, now: chrono::DateTime<chrono::Utc>) -> Vec<Advice> {
    let filled = &view.filled;
    let mut found = Vec::new();
    if filled.sender.name.is_empty() || filled.sender.address.is_empty() {
        found.push(Advice::NoLetterhead);
    }
    if view.resident.is_none() {
        found.push(Advice::NoName);
    }
    let begins = filled.begins_at();
    match (view.kind.nth(), begins) {
        (None, None) => found.push(Advice::NoSlot),
        (None, Some(at)) if view.kind == LetterKind::Repair => {
            if at - now < TimeDelta::hours(24) {
                found.push(Advice::ShortNotice);
            }
        }
        (None, Some(at)) => {
            if at - now < TimeDelta::days(7) {
                found.push(Advice::UnderAWeek);
            }
        }
        (Some(nth), at) => {
            if view.tries.len() < nth {
                found.push(Advice::NotTried(view.tries.len()));
            }
            let part = at.map(part_of);
            let tried = |p| view.tries.iter().any(|(a, _)| part_of(a.at) == p);
            found.extend(part.filter(|p| tried(*p)).map(Advice::SameTimeOfDay));
        }
    }
    if view.kind == LetterKind::ThirdNoAccess && filled.terms.trim().is_empty() {
        found.push(Advice::NoTerms);
    }
    found
}
