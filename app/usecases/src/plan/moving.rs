//! Moving a placed visit to another day, and pinning it where it is.
use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime, Timelike};
use planning::rounds::{Breach, Placed, audit, week_of};
use planning::{RoundInput, RoundPlan};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::rounds::{NewPlace, RoundVisit};
use terms::{EngineerId, JobId, Role, RoundId};
use uuid::Uuid;

use super::former::Horizon;
use super::prepared::{Prepared, prepare};
use super::rows::stored_plan;
use super::staff::staff;
use super::words::broken;
use crate::work::wall;
use crate::{Error, Seat, World};

/// Minutes between two starts that are tried when none was asked for.
const STEP: u32 = 5;

/// Where a person wants a visit.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct MoveVisit {
    /// The visit.
    pub visit: Uuid,
    /// The day.
    pub day: NaiveDate,
    /// The start; `None`: the first that fits.
    pub start: Option<NaiveTime>,
    /// By whom; `None`: whoever has it, else the first who can.
    pub engineer: Option<EngineerId>,
    /// It stays there when the visits are placed again.
    pub pin: bool,
}

/// The visit's parts in the round that stands.
pub(super) fn parts_of(
    tx: &mut Tx<'_>,
    seat: &Seat,
    visit: Uuid,
) -> Result<(RoundId, Vec<RoundVisit>, Vec<RoundVisit>), Error> {
    let card = tx.round_now()?.ok_or(Error::NotFound("visit"))?;
    let rows = tx.round_visits(card.id)?;
    let parts: Vec<RoundVisit> = rows.iter().filter(|r| r.visit == visit).cloned().collect();
    let first = parts.first().ok_or(Error::NotFound("visit"))?;
    seat.must_reach(first.building)?;
    Ok((card.id, rows, parts))
}

/// Moves a visit that is not a job yet.
///
/// # Errors
/// [`Error::Invalid`] at `day`, `start` or `engineer` with the rule it would break; [`Error::Conflict`]
/// when it was turned into a job.
pub fn move_visit(world: &World, seat: &Seat, form: MoveVisit, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let staff = staff(world, seat)?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (round, rows, parts) = parts_of(tx, seat, form.visit)?;
            if parts.iter().any(|p| p.job.is_some()) {
                return Err(Error::Conflict(
                    "This visit is a job by now; its booking says when. Nothing was changed."
                        .to_owned(),
                ));
            }
            let horizon = Horizon::from_tomorrow(today);
            let prepared = prepare(tx, seat, &staff, horizon)?;
            let place = find_place(&prepared, &rows, &form)?;
            let new = NewPlace {
                on_day: place.day,
                start_minute: i32::try_from(place.start_minute).unwrap_or(0),
                firm: place.firm,
                engineer: place.engineer,
                second: place.second,
                pinned: form.pin,
            };
            tx.move_round_visit(round, &parts, new)?;
            tx.note(
                "visit moved",
                &format!("visit {}", form.visit),
                &json!({
                    "from": parts.first().and_then(|p| p.on_day), "to": place.day,
                    "start": place.start_minute, "engineer": place.engineer, "pinned": form.pin,
                }),
            );
            Ok(())
        })
    })
}

/// The first place on the day that breaks no rule.
fn find_place(prepared: &Prepared, rows: &[RoundVisit], form: &MoveVisit) -> Result<Placed, Error> {
    let id = JobId(form.visit);
    let job = prepared
        .input
        .jobs
        .iter()
        .find(|job| job.id == id)
        .ok_or_else(|| {
            Error::Conflict("The round has changed since you read it. Open it again.".to_owned())
        })?;
    let plan = stored_plan(prepared, rows);
    let now = plan.placed.iter().find(|p| p.job == id).copied();
    let (input, rest) = one_week(prepared, &plan, (id, form.day));
    let before = audit(&input, &rest);
    let mut engineers: Vec<_> = input
        .engineers
        .iter()
        .filter(|e| form.engineer.is_none_or(|id| e.id == id))
        .collect();
    engineers.sort_by_key(|e| now.is_none_or(|p| p.engineer != e.id));
    let mut first_breach = None;
    for engineer in engineers {
        let usual = (input.hours.from_minute, input.hours.to_minute);
        let hours = input.shift(engineer, form.day).unwrap_or(usual);
        let starts: Vec<u32> = match form.start {
            Some(time) => vec![time.hour() * 60 + time.minute()],
            None => (hours.0..hours.1).step_by(STEP as usize).collect(),
        };
        let mates = input.engineers.iter().filter(|other| {
            job.demands.pair && other.firm == engineer.firm && other.id != engineer.id
        });
        let mut seconds: Vec<Option<EngineerId>> = mates.map(|other| Some(other.id)).collect();
        if seconds.is_empty() {
            seconds.push(None);
        }
        for &start_minute in &starts {
            for &second in &seconds {
                let place = Placed {
                    day: form.day,
                    engineer: engineer.id,
                    start_minute,
                    firm: engineer.firm,
                    job: id,
                    second,
                };
                let mut tried = rest.clone();
                tried.placed.push(place);
                tried.unplaced.retain(|u| u.job != id);
                let fresh = audit(&input, &tried)
                    .into_iter()
                    .find(|b| !before.contains(b));
                match fresh {
                    None => return Ok(place),
                    Some(breach) => first_breach = first_breach.or(Some(breach)),
                }
            }
        }
    }
    let field = if form.start.is_some() { "start" } else { "day" };
    let sentence = first_breach.map_or_else(
        || "That engineer gives this estate no time.".to_owned(),
        |Breach { rule, .. }| broken(&rule, (job.first_day(), job.deadline)),
    );
    Err(Error::field(field, sentence))
}

/// The week's part of input and plan, without the visit that is being moved. A pinned visit may be moved:
/// its promise is the person's own.
fn one_week(
    prepared: &Prepared,
    plan: &RoundPlan,
    (id, day): (JobId, NaiveDate),
) -> (RoundInput, RoundPlan) {
    let week = week_of(day);
    let placed: Vec<Placed> = plan
        .placed
        .iter()
        .filter(|p| p.job != id && week_of(p.day) == week)
        .copied()
        .collect();
    let here: BTreeSet<JobId> = placed.iter().map(|p| p.job).chain([id]).collect();
    let mut input = prepared.input.clone();
    input.jobs.retain(|job| here.contains(&job.id));
    for job in input.jobs.iter_mut().filter(|job| job.id == id) {
        job.promise = None;
        // Who rings the resident knows better than the rule of notice.
        job.not_before = None;
    }
    let rest = RoundPlan {
        placed,
        unplaced: Vec::new(),
        ..plan.clone()
    };
    (input, rest)
}

/// Pins a placed visit where it is, or lets it go.
pub fn pin_visit(
    world: &World,
    seat: &Seat,
    (visit, pinned): (Uuid, bool),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(visit, pinned), |tx| {
            let (round, _, parts) = parts_of(tx, seat, visit)?;
            let place = super::former::place_of(visit, &parts).ok_or_else(|| {
                Error::Conflict("This visit has no day, so it cannot be pinned to one.".to_owned())
            })?;
            let new = NewPlace {
                on_day: place.day,
                start_minute: i32::try_from(place.start_minute).unwrap_or(0),
                firm: place.firm,
                engineer: place.engineer,
                second: place.second,
                pinned,
            };
            tx.move_round_visit(round, &parts, new)?;
            tx.note(
                if pinned {
                    "visit pinned"
                } else {
                    "visit let go"
                },
                &format!("visit {visit}"),
                &json!({ "day": place.day }),
            );
            Ok(())
        })
    })
}
