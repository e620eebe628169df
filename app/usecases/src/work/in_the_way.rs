//! Something is in the way on the road: late, the rest of the day handed back, a second person or another part needed,
//! a colleague takes over. Whoever has to know is queued to be told, and waits on the desk's Today until it was said.
use chrono::TimeDelta;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::jobs::{Job, Which};
use terms::{EngineerId, JobId, JobState, Role};
use uuid::Uuid;

use super::names::{Names, names_in};
use super::offering::may_do;
use super::reach::must_reach_job;
use super::stepping::step;
use super::wall;
use crate::{Error, Seat, World};

/// What is missing at the unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InTheWay {
    /// A second person.
    SecondPerson,
    /// The part that was brought is wrong.
    WrongPart,
}

impl InTheWay {
    /// As said to the office.
    const fn words(self) -> &'static str {
        match self {
            Self::SecondPerson => "A second person is needed",
            Self::WrongPart => "The part that was brought is wrong",
        }
    }
}

/// Something to tell, with the job it is about.
#[derive(Clone, Debug)]
pub struct Telling {
    /// As queued.
    pub telling: store::tellings::Telling,
    /// The job.
    pub job: Job,
    /// Who to tell and where, for the desk: the resident's name and telephone.
    pub resident: Option<(String, String)>,
}

fn engineer_of(seat: &Seat) -> Result<EngineerId, Error> {
    seat.engineer()
        .ok_or(Error::Forbidden("not an engineer of the firm"))
}

/// The jobs this engineer is still booked for today, by their hour.
fn rest_of_today(tx: &mut Tx<'_>, seat: &Seat) -> Result<Vec<Job>, Error> {
    let (firm, engineer) = (seat.firm()?, engineer_of(seat)?);
    let today = wall::day(tx.at());
    let mut mine: Vec<Job> = tx
        .jobs(&Which::OpenOf(firm))?
        .into_iter()
        .filter(|j| j.state == JobState::Booked && j.engineer == Some(engineer))
        .filter(|j| seat.grant().reaches(j.building))
        .filter(|j| j.booked.is_some_and(|(from, _)| wall::day(from) == today))
        .collect();
    mine.sort_by_key(|j| j.booked.map(|b| b.0));
    Ok(mine)
}

/// Runs late: every visit of today that is still to come moves by so many minutes, and each resident is to be told;
/// so is the office. Answers how many visits moved.
///
/// # Errors
/// [`Error::Invalid`] at `minutes` outside 5 to 480, or when no visit is left today.
pub fn late(
    world: &World,
    seat: &Seat,
    (job, minutes): (JobId, i64),
    once: &str,
) -> Result<usize, Error> {
    seat.must_be(&[Role::Contractor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, minutes), |tx| {
            let at_hand = tx.hold_job(job)?;
            must_reach_job(tx, seat, &at_hand)?;
            if !(5..=480).contains(&minutes) {
                return Err(Error::field("minutes", "Between 5 minutes and 8 hours."));
            }
            let rest = rest_of_today(tx, seat)?;
            if rest.is_empty() {
                return Err(Error::field(
                    "minutes",
                    "No further visit is booked to you today, so there is nobody to tell.",
                ));
            }
            let by = TimeDelta::minutes(minutes);
            for listed in &rest {
                let mut job = tx.hold_job(listed.id)?;
                let Some((from, until)) = job.booked else {
                    continue;
                };
                let slot = (from + by, until + by);
                job.booked = Some(slot);
                tx.save_job(&job)?;
                let words = format!(
                    "The engineer is about {minutes} minutes late: now from {} to {}.",
                    wall::local(slot.0).format("%H:%M"),
                    wall::local(slot.1).format("%H:%M")
                );
                written(tx, &job, &words)?;
                tx.add_telling(job.id, "resident", &words)?;
            }
            let moved = rest.len();
            let words = format!(
                "{} runs about {minutes} minutes late; {moved} visits of today moved.",
                seat.name()
            );
            tx.add_telling(at_hand.id, "office", &words)?;
            Ok(moved)
        })
    })
}

/// Hands back every visit of today that is still to come; answers how many.
///
/// # Errors
/// [`Error::Invalid`] at `reason` when none is given, or when no visit is left today.
pub fn hand_back_the_rest(
    world: &World,
    seat: &Seat,
    reason: &str,
    once: &str,
) -> Result<usize, Error> {
    seat.must_be(&[Role::Contractor])?;
    world.acting(seat, |tx| {
        tx.once(once, &reason, |tx| {
            let reason = said(reason, "back_reason")?;
            let rest = rest_of_today(tx, seat)?;
            let Some(first) = rest.first() else {
                return Err(Error::field(
                    "back_reason",
                    "No further visit is booked to you today.",
                ));
            };
            let first = first.id;
            for listed in &rest {
                let mut job = tx.hold_job(listed.id)?;
                let words = format!("Given back: {reason}.");
                written(tx, &job, &words)?;
                job.firm = None;
                job.engineer = None;
                job.booked = None;
                step(tx, &mut job, JobState::ToPlace, &words)?;
                let told = "The visit of today is off; another day follows.";
                tx.add_telling(job.id, "resident", told)?;
            }
            let given = rest.len();
            let words = format!(
                "{} gave back {given} visits of today: {reason}.",
                seat.name()
            );
            tx.add_telling(first, "office", &words)?;
            Ok(given)
        })
    })
}

/// Asks the office for what is missing at the unit; the visit goes on.
///
/// # Errors
/// [`Error::Invalid`] at `needed_words` when nothing is said.
pub fn needed(
    world: &World,
    seat: &Seat,
    (job, what, words): (JobId, InTheWay, String),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, what, &words), |tx| {
            let job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            let words = said(&words, "needed_words")?;
            let words = format!("{}: {words}.", what.words());
            written(tx, &job, &words)?;
            tx.add_telling(job.id, "office", &words)?;
            Ok(())
        })
    })
}

/// A colleague of the same firm takes the job over, as it stands.
///
/// # Errors
/// [`Error::Invalid`] at `engineer` who is of another firm or may not do this work; [`Error::Conflict`] when the job is
/// over.
pub fn colleague_takes_over(
    world: &World,
    seat: &Seat,
    (job, engineer): (JobId, EngineerId),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor, Role::Office])?;
    let names: Names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, engineer), |tx| {
            let mut job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            let firm = seat.firm()?;
            if job.state.is_closed() {
                return Err(Error::Conflict(format!(
                    "{} is {}: there is nothing to take over.",
                    job.number, job.state
                )));
            }
            let day = job.booked.map_or(tx.at(), |(from, _)| from);
            may_do(&job, firm, Some(engineer), &names, wall::day(day))?;
            let before = job.engineer.map(|id| names.engineer(id).to_owned());
            job.engineer = Some(engineer);
            tx.save_job(&job)?;
            let from = before.map_or_else(String::new, |name| format!(" from {name}"));
            let words = format!("{} takes over{from}.", names.engineer(engineer));
            written(tx, &job, &words)?;
            if job.state == JobState::Booked {
                let told = format!(
                    "{} comes instead, at the same hour.",
                    names.engineer(engineer)
                );
                tx.add_telling(job.id, "resident", &told)?;
            }
            Ok(())
        })
    })
}

fn written(tx: &mut Tx<'_>, job: &Job, words: &str) -> Result<(), Error> {
    let whom = job.firm.map(|firm| (firm, job.engineer));
    tx.add_job_event(job.id, job.state, whom, words)?;
    tx.note(
        "something in the way",
        &format!("job {}", job.id),
        &json!({ "number": job.number, "words": words }),
    );
    Ok(())
}

fn said(text: &str, field: &str) -> Result<String, Error> {
    let text = text.trim().trim_end_matches('.');
    if text.is_empty() {
        return Err(Error::field(field, "Say in a few words why."));
    }
    Ok(text.to_owned())
}

/// What waits to be told, oldest first, in the buildings within reach.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk.
pub fn to_tell(world: &World, seat: &Seat) -> Result<Vec<Telling>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let mut waiting = Vec::new();
        for telling in tx.tellings()? {
            let job = tx.job(telling.job)?;
            if !seat.grant().reaches(job.building) {
                continue;
            }
            let resident = match telling.whom.as_str() {
                "resident" => tx.resident(job.space)?,
                _ => None,
            };
            waiting.push(Telling {
                telling,
                job,
                resident,
            });
        }
        Ok(waiting)
    })
}

/// Writes down that a thing was told.
///
/// # Errors
/// [`Error::NotFound`] for one that waits no more, or is out of reach.
pub fn tell_done(world: &World, seat: &Seat, telling: Uuid, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &telling, |tx| {
            let waits = tx.tellings()?.into_iter().find(|t| t.id == telling);
            let waits = waits.ok_or(Error::NotFound("thing to tell"))?;
            let job = tx.hold_job(waits.job)?;
            seat.must_reach(job.building)?;
            if !tx.tell_telling(telling)? {
                return Err(Error::NotFound("thing to tell"));
            }
            written(tx, &job, &format!("Told: {}", waits.words))
        })
    })
}
