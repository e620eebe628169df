//! Hazards: said at a call or at the job, what was done about each, and which are still open.
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use inspection::clock::{AwaabKind, WorkingDays};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::hazards::Hazard;
use store::jobs::Job;
use terms::{JobId, Role, SpaceId};

use super::by_law::{LawClock, bring_forward, hazard_clock};
use super::clock::working_days;
use super::reach::must_see;
use super::wall;
use crate::{Error, FieldError, Seat, World};

/// What the hazard lists of the rule name so far, and everything else.
const HAZARDS: [&str; 2] = ["damp_and_mould", "other"];

/// What the agent says of a hazard while the caller is on the telephone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HazardSaid {
    /// "emergency" or "significant".
    pub kind: String,
    /// "damp_and_mould" or "other".
    pub hazard: String,
}

/// A hazard said of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HazardForm {
    /// The job.
    pub job: JobId,
    /// How serious, and which.
    pub said: HazardSaid,
    /// When we were told; `None`: when the job was opened.
    pub aware_at: Option<DateTime<Utc>>,
    /// What was said of it.
    pub words: String,
}

/// What was done about a hazard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HazardDone {
    /// The job.
    pub job: JobId,
    /// The home.
    pub space: SpaceId,
    /// The day the investigation ended.
    pub investigated_on: Option<NaiveDate>,
    /// The day the written summary was given.
    pub summary_on: Option<NaiveDate>,
    /// The day it was made safe.
    pub safety_on: Option<NaiveDate>,
    /// The day further works began.
    pub begun_on: Option<NaiveDate>,
    /// Why it was no hazard after all; empty while it stands.
    pub withdrawn: String,
}

/// A hazard that is not put right yet.
#[derive(Clone, Debug)]
pub struct OpenHazard {
    /// The job that answers it.
    pub job: Job,
    /// The home's name.
    pub space_name: String,
    /// Its clock.
    pub clock: LawClock,
}

fn known(said: &HazardSaid) -> Result<(), Error> {
    if said.kind.parse::<AwaabKind>().is_err() || !HAZARDS.contains(&said.hazard.as_str()) {
        return Err(Error::field(
            "hazard",
            "Choose what it is by the rule’s own words, or that it is none.",
        ));
    }
    Ok(())
}

/// Writes down a hazard of a home, and brings the job's time forward. One said already keeps its beginning; only an
/// emergency takes the place of a significant one. Answers its clock's sentence.
pub(super) fn raise(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    (job, space): (&Job, SpaceId),
    (said, aware_at, words): (&HazardSaid, DateTime<Utc>, &str),
) -> Result<String, Error> {
    known(said)?;
    let there = tx.hazards_of(Some(job.id))?;
    let before = there.iter().find(|h| h.space == space);
    let graver =
        before.is_none_or(|h| h.kind != said.kind && said.kind == AwaabKind::Emergency.code());
    let hazard = match before {
        Some(before) if !graver => before.clone(),
        _ => Hazard {
            job: job.id,
            space,
            kind: said.kind.clone(),
            hazard: said.hazard.clone(),
            aware_at,
            words: words.trim().to_owned(),
            investigated_on: None,
            summary_on: None,
            safety_on: None,
            begun_on: None,
            withdrawn: String::new(),
        },
    };
    if graver {
        tx.state_hazard(&hazard)?;
        tx.note(
            "hazard said",
            &format!("job {}", job.id),
            &json!({ "kind": hazard.kind, "hazard": hazard.hazard, "aware_at": aware_at }),
        );
        bring_forward(tx, days, job.id)?;
    }
    let country = tx.building(job.building)?.country;
    Ok(hazard_clock(tx, days, (&hazard, country))?.sentence)
}

/// Says that what a job answers is a hazard.
///
/// # Errors
/// [`Error::Invalid`] at `hazard` or `aware`; [`Error::Conflict`] for a job that is closed.
pub fn say_hazard(world: &World, seat: &Seat, form: &HazardForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            let job = tx.job(form.job)?;
            must_see(tx, seat, &job)?;
            if job.closed_at.is_some() {
                return Err(Error::Conflict(
                    "This job is closed: log the hazard as a call, so that a job answers it. Nothing was changed."
                        .to_owned(),
                ));
            }
            known(&form.said)?;
            let aware = form.aware_at.unwrap_or(job.opened_at);
            if aware > tx.at() || aware < tx.at() - TimeDelta::days(366) {
                return Err(Error::field(
                    "aware",
                    "Say when we were told of it: not in the future, nor more than a year ago.",
                ));
            }
            let what = (&form.said, aware, form.words.as_str());
            raise(tx, &days, (&job, job.space), what).map(drop)
        })
    })
}

/// States what was done about a hazard: every day known so far.
///
/// # Errors
/// [`Error::Invalid`] at the day that cannot be; [`Error::NotFound`] without such a hazard.
pub fn hazard_done(world: &World, seat: &Seat, form: &HazardDone, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            let job = tx.job(form.job)?;
            must_see(tx, seat, &job)?;
            let hazard = tx
                .hazards_of(Some(job.id))?
                .into_iter()
                .find(|h| h.space == form.space)
                .ok_or(Error::NotFound("hazard"))?;
            Error::unless_empty(wrong_days(form, &hazard, wall::day(tx.at())))?;
            let stated = Hazard {
                investigated_on: form.investigated_on,
                summary_on: form.summary_on,
                safety_on: form.safety_on,
                begun_on: form.begun_on,
                withdrawn: form.withdrawn.trim().to_owned(),
                ..hazard
            };
            tx.state_hazard(&stated)?;
            if let (false, Some(due)) = (stated.withdrawn.is_empty(), job.due_at) {
                // A time once promised is not put off; why it was so near is said with it.
                let why = format!("{} Taken back: it was no hazard; the time stands.", job.due_why);
                tx.move_due(job.id, due, why.trim())?;
            }
            bring_forward(tx, &days, job.id)?;
            tx.note(
                "hazard stated",
                &format!("job {}", job.id),
                &json!({
                    "investigated": form.investigated_on, "summary": form.summary_on, "safe": form.safety_on,
                    "begun": form.begun_on, "withdrawn": form.withdrawn.trim(),
                }),
            );
            Ok(())
        })
    })
}

fn wrong_days(form: &HazardDone, hazard: &Hazard, today: NaiveDate) -> Vec<FieldError> {
    let told = wall::day(hazard.aware_at);
    let mut wrongs = Vec::new();
    let asked = [
        ("investigated", form.investigated_on),
        ("summary", form.summary_on),
        ("safety", form.safety_on),
        ("begun", form.begun_on),
    ];
    for (field, day) in asked {
        match day {
            Some(day) if day > today => {
                wrongs.push(FieldError::at(field, "That day has not come yet."));
            }
            Some(day) if day < told => {
                wrongs.push(FieldError::at(field, "That is before we were told of it."));
            }
            _ => {}
        }
    }
    if form.summary_on.is_some() && form.investigated_on.is_none() {
        wrongs.push(FieldError::at(
            "investigated",
            "The summary is of the investigation: say first when that ended.",
        ));
    }
    wrongs
}

/// The hazards whose clocks still ask for something, the nearest first.
pub fn open_hazards(world: &World, seat: &Seat) -> Result<Vec<OpenHazard>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        let mut found = Vec::new();
        for hazard in tx.hazards_of(None)? {
            let job = tx.job(hazard.job)?;
            if !seat.grant().reaches(job.building) {
                continue;
            }
            let country = tx.building(job.building)?.country;
            let clock = hazard_clock(tx, &days, (&hazard, country))?;
            // Once the job is done nothing says that further works were needed.
            let closed = job.closed_at.is_some();
            let wanting = clock
                .steps
                .iter()
                .any(|s| s.done_on.is_none() && !(closed && s.what.starts_with("further works")));
            if wanting {
                let space_name = tx.space(hazard.space)?.name;
                found.push(OpenHazard {
                    job,
                    space_name,
                    clock,
                });
            }
        }
        found.sort_by_key(|h| (h.clock.due_at, h.job.id));
        Ok(found)
    })
}

/// The hazards of a job whose calls another job answers from now on go with them.
pub(crate) fn hand_over(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    (from, to): (JobId, JobId),
) -> Result<(), Error> {
    for hazard in tx.hazards_of(Some(from))? {
        tx.state_hazard(&Hazard {
            job: to,
            ..hazard.clone()
        })?;
        tx.state_hazard(&Hazard {
            withdrawn: "answered by another job".to_owned(),
            ..hazard
        })?;
    }
    bring_forward(tx, days, to)
}
