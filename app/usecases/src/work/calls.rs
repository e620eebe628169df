//! A fault call, logged with the resident on the telephone.
use chrono::{DateTime, TimeDelta, Utc};
use inspection::clock::WorkingDays;
use serde::{Deserialize, Serialize};
use store::Tx;
use store::calls::Call;
use store::jobs::{Job, NewJob, Which};
use terms::{FaultCallId, FunctionLost, JobId, JobKind, JobState, Role, SpaceId, UnitId};

use super::by_law::is_council_secure;
use super::clock::{Home, due_by_attendance, gas_script, report_code, working_days};
use super::hazards::{HazardSaid, raise};
use super::opening::{covers_of, open_in, unit_for};
use super::wall;
use crate::{Error, Seat, World};

/// How bad a leak is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum LeakKind {
    /// A bucket holds it, or it drips.
    Contained,
    /// Nobody can stop it.
    Uncontrolled,
    /// It runs over sockets, lamps or a consumer unit.
    OnElectrics,
}

/// What the caller said.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct FaultCall {
    /// Where.
    pub space: SpaceId,
    /// What was lost.
    pub function_lost: FunctionLost,
    /// How bad, when it is a leak.
    pub leak: Option<LeakKind>,
    /// Since when; `None`: since just now.
    pub since: Option<DateTime<Utc>>,
    /// At which unit, when the caller knows.
    pub unit: Option<UnitId>,
    /// In the caller's words.
    pub words: String,
}

/// The same fault not long ago.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Repeat {
    /// The job that answered it.
    pub number: String,
    /// When that job was finished.
    pub closed_at: DateTime<Utc>,
}

/// What became of a call.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Logged {
    /// The call.
    pub call: FaultCallId,
    /// The job that answers it.
    pub job: JobId,
    /// "J-00042"
    pub number: String,
    /// The call joined a job that was open already.
    pub joined: bool,
    /// The same fault within the repeat window.
    pub repeat: Option<Repeat>,
    /// Somebody is there by then.
    pub due_at: Option<DateTime<Utc>>,
    /// What to tell the caller.
    pub tell: String,
}

/// Logs a fault call: the job that answers it is opened with its clock, or found open already.
///
/// # Errors
/// [`Error::Invalid`] for a start in the future or long ago; [`Error::NotFound`] for a space not theirs.
pub fn log_call(world: &World, seat: &Seat, form: FaultCall, once: &str) -> Result<Logged, Error> {
    log_call_of(world, seat, (form, None), once)
}

/// The same for a call of which the desk says that it is a hazard, by the rule's own words.
///
/// # Errors
/// As [`log_call`]; [`Error::Invalid`] at `hazard` for words the rule does not know.
pub fn log_call_of(
    world: &World,
    seat: &Seat,
    (form, hazard): (FaultCall, Option<HazardSaid>),
    once: &str,
) -> Result<Logged, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &(&form, &hazard), |tx| {
            let space = tx.space(form.space)?;
            seat.must_reach(space.building)?;
            let now = tx.at();
            let since = form.since.unwrap_or(now);
            if since > now + TimeDelta::minutes(5) {
                return Err(Error::field("since", "That is in the future."));
            }
            if since < now - TimeDelta::days(366) {
                return Err(Error::field("since", "That is more than a year ago."));
            }
            let past = tx.jobs(&Which::Space(form.space))?;
            let open = past.iter().find(|j| answers(j, form.function_lost));
            let repeat = repeat_of(tx, &past, form.function_lost)?;
            let building = tx.building(space.building)?;
            let (job, joined) = if let Some(open) = open {
                (open.clone(), true)
            } else {
                let place = (&space, building.country);
                (open_for(tx, &days, &form, place, repeat.as_ref())?, false)
            };
            let (job, kept_as) = match &hazard {
                Some(said) => {
                    let what = (said, now, form.words.as_str());
                    let words = raise(tx, &days, (&job, form.space), what)?;
                    (tx.job(job.id)?, format!(" {words}"))
                }
                None => (job, String::new()),
            };
            let tell = tell(tx, &form, &job, (joined, building.country))? + &kept_as;
            let call = tx.add_call(&Call {
                id: FaultCallId(uuid::Uuid::nil()),
                space: form.space,
                function_lost: form.function_lost,
                since_at: since,
                called_at: now,
                words: form.words.trim().to_owned(),
                answered: tell.clone(),
                job: Some(job.id),
            })?;
            tx.note(
                "call logged",
                &format!("call {call}"),
                &serde_json::json!({
                    "space": form.space, "function_lost": form.function_lost,
                    "job": job.number, "joined": joined,
                }),
            );
            Ok(Logged {
                call,
                job: job.id,
                number: job.number,
                joined,
                repeat,
                due_at: job.due_at,
                tell,
            })
        })
    })
}

/// Opens the job that answers a call, with its clock.
fn open_for(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    form: &FaultCall,
    (space, country): (&terms::place::SpaceCard, terms::Country),
    repeat: Option<&Repeat>,
) -> Result<Job, Error> {
    let now = tx.at();
    let home = Home {
        same_day: tx.needs_of(&[form.space])?.iter().any(|n| n.same_day),
        council_secure: is_council_secure(tx, form.space, now)?,
    };
    let report = report_code(form.function_lost, form.leak);
    let due = due_by_attendance(days, country, report, now, home)?;
    let new = new_job(tx, form, space, due.at, &with_repeat(&due.why, repeat))?;
    let (id, _) = open_in(tx, &new)?;
    Ok(tx.job(id)?)
}

/// An open repair of the same function in the same space: a further call joins it.
fn answers(job: &Job, lost: FunctionLost) -> bool {
    job.kind == JobKind::Repair && !job.state.is_closed() && job.function_lost == Some(lost)
}

/// The latest finished job for the same function within the repeat window.
fn repeat_of(tx: &mut Tx<'_>, past: &[Job], lost: FunctionLost) -> Result<Option<Repeat>, Error> {
    let days = tx.setting("repeat_visit_days")?;
    let days: i64 = days.and_then(|d| d.parse().ok()).unwrap_or(30);
    let oldest = tx.at() - TimeDelta::days(days);
    Ok(past
        .iter()
        .filter(|j| j.function_lost == Some(lost) && j.state != JobState::StoodDown)
        .filter_map(|j| {
            j.closed_at.filter(|at| *at >= oldest).map(|at| Repeat {
                number: j.number.clone(),
                closed_at: at,
            })
        })
        .max_by_key(|r| r.closed_at))
}

fn with_repeat(why: &str, repeat: Option<&Repeat>) -> String {
    match repeat {
        None => why.to_owned(),
        Some(repeat) => format!(
            "{why} The same was reported and closed as {} at {}: under most contracts a repeat inside the window is free.",
            repeat.number,
            wall::words(repeat.closed_at)
        ),
    }
}

fn new_job(
    tx: &mut Tx<'_>,
    form: &FaultCall,
    space: &terms::place::SpaceCard,
    due_at: Option<DateTime<Utc>>,
    due_why: &str,
) -> Result<NewJob, Error> {
    let unit = match form.unit {
        Some(id) => Some(tx.unit(id)?),
        None => unit_for(tx, form.space, form.function_lost)?,
    };
    if unit.as_ref().is_some_and(|u| u.building != space.building) {
        return Err(Error::field(
            "unit",
            "That unit stands in another building.",
        ));
    }
    Ok(NewJob {
        kind: JobKind::Repair,
        building: space.building,
        space: form.space,
        covers: covers_of(tx, unit.as_ref())?,
        unit: unit.map(|u| u.id),
        function_lost: Some(form.function_lost),
        words: form.words.trim().to_owned(),
        source: "call",
        minutes: 60,
        due_at,
        due_why: due_why.to_owned(),
        duties: Vec::new(),
    })
}

fn tell(
    tx: &mut Tx<'_>,
    form: &FaultCall,
    job: &Job,
    (joined, country): (bool, terms::Country),
) -> Result<String, Error> {
    let mut said = Vec::new();
    if form.function_lost == FunctionLost::GasOrCo {
        let script = gas_script(tx, country)?;
        said.push(script.lines.join(" "));
    }
    said.push(match (joined, job.booked, job.due_at) {
        (true, Some((from, _)), _) => format!(
            "It is known already as {}; an engineer is booked for {}.",
            job.number,
            wall::words(from)
        ),
        (true, None, _) => format!("It is known already as {}.", job.number),
        (false, _, Some(due)) => format!(
            "It is {}; somebody is to be there by {}.",
            job.number,
            wall::words(due)
        ),
        (false, _, None) => format!("It is {}; no time can be promised yet.", job.number),
    });
    Ok(said.join(" "))
}
