//! Joining calls into an outage: one job answers them, each home keeps its own clock.
use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};
use inspection::clock::WorkingDays;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::branches::BranchCard;
use store::jobs::NewJob;
use store::outage_acts::NewOutage;
use store::outages::{OutageCard, WhichOutages};
use store::suspected::LooseCall;
use terms::unit::UnitCard;
use terms::{
    BranchId, BuildingId, FaultCallId, FunctionLost, JobId, JobKind, JobState, OutageId, SpaceId,
    UsedAs, counting_order,
};

use super::pipes::Pipes;
use super::{DESK, counts_for};
use crate::work::{covers_of, hand_over, leaves_unsafe, open_in, step, working_days};
use crate::{Error, Seat, World};

/// Minutes reckoned for finding one shared cause.
const MINUTES: i32 = 120;
/// How far back calls may still be joined.
const DAYS_BACK: i64 = 14;

/// Calls about to be joined.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct JoinForm {
    /// The building.
    pub building: BuildingId,
    /// The pipe; `None`: the building as a whole.
    pub branch: Option<BranchId>,
    /// What is lost.
    pub lost: FunctionLost,
    /// What is thought of it; may be empty.
    pub cause: String,
    /// The calls.
    pub calls: Vec<FaultCallId>,
}

/// Joins calls into an outage and opens the one job that answers them. The calls' own jobs are stood down, unless
/// somebody is there already; each home's clock runs on, on the outage.
///
/// # Errors
/// [`Error::Invalid`] at `calls` with fewer than two homes; [`Error::NotFound`] for a pipe of another building.
pub fn join(world: &World, seat: &Seat, form: JoinForm, once: &str) -> Result<OutageId, Error> {
    seat.must_be(&DESK)?;
    seat.must_reach(form.building)?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let pipes = Pipes::load(tx, form.building)?;
            let branch = match form.branch {
                Some(id) => Some(pipes.branch(id).cloned().ok_or(Error::NotFound("branch"))?),
                None => None,
            };
            let calls = chosen(tx, &form)?;
            let since = calls.iter().map(|c| c.since_at).min().unwrap_or(tx.at());
            let (job, number) = open_job(tx, (&pipes, branch.as_ref()), &form, &calls)?;
            let id = tx.add_outage(&NewOutage {
                building: form.building,
                branch: form.branch,
                lost: form.lost,
                cause: form.cause.trim().to_owned(),
                from_at: since,
                job,
            })?;
            for call in &calls {
                fold_in(tx, call, id, (job, &number, &days))?;
            }
            tx.note(
                "calls joined",
                &format!("outage {id}"),
                &json!({ "job": number, "branch": form.branch, "calls": form.calls }),
            );
            Ok(id)
        })
    })
}

/// One more call joins an outage that lasts.
///
/// # Errors
/// [`Error::Conflict`] when the outage has ended; [`Error::Invalid`] at `call` when it cannot belong to it.
pub fn join_call(
    world: &World,
    seat: &Seat,
    (outage, call): (OutageId, FaultCallId),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&DESK)?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &(outage, call), |tx| {
            let card = one(tx, outage)?;
            seat.must_reach(card.building)?;
            let Some(job) = card.job.filter(|_| card.until_at.is_none()) else {
                return Err(Error::Conflict(
                    "This outage has ended. Nothing was joined; the call stays as it was."
                        .to_owned(),
                ));
            };
            let known = loose(tx, card.building)?;
            let found = known.into_iter().find(|c| c.call == call);
            let Some(found) = found.filter(|c| counts_for(c.lost, card.lost)) else {
                return Err(Error::field(
                    "call",
                    "That call is answered already, or lost something else.",
                ));
            };
            let number = tx.job(job)?.number;
            fold_in(tx, &found, outage, (job, &number, &days))?;
            tx.note(
                "call joined",
                &format!("outage {outage}"),
                &json!({ "job": number, "call": call }),
            );
            Ok(())
        })
    })
}

/// One outage.
pub(super) fn one(tx: &mut Tx<'_>, id: OutageId) -> Result<OutageCard, Error> {
    tx.outages(WhichOutages::One(id))?
        .pop()
        .ok_or(Error::NotFound("outage"))
}

fn loose(tx: &mut Tx<'_>, building: BuildingId) -> Result<Vec<LooseCall>, Error> {
    let from = tx.at() - TimeDelta::days(DAYS_BACK);
    Ok(tx
        .loose_calls(from)?
        .into_iter()
        .filter(|c| c.building == building)
        .collect())
}

/// The calls of the form, oldest first; every one must still be open and of this building.
fn chosen(tx: &mut Tx<'_>, form: &JoinForm) -> Result<Vec<LooseCall>, Error> {
    let calls: Vec<LooseCall> = loose(tx, form.building)?
        .into_iter()
        .filter(|c| form.calls.contains(&c.call))
        .collect();
    if calls.len() < form.calls.len() {
        return Err(Error::field(
            "calls",
            "One of these calls is answered already. Open the page again to see how they stand.",
        ));
    }
    if calls.iter().any(|c| !counts_for(c.lost, form.lost)) {
        return Err(Error::field(
            "calls",
            "One of these calls lost something else: it is not the same cause.",
        ));
    }
    let homes: BTreeSet<SpaceId> = calls.iter().map(|c| c.space).collect();
    if homes.len() < 2 {
        return Err(Error::field(
            "calls",
            "An outage needs calls from two homes at least. One home is a job of its own.",
        ));
    }
    Ok(calls)
}

/// The one job: where the pipe is fed, by the nearest of the homes' clocks.
fn open_job(
    tx: &mut Tx<'_>,
    (pipes, branch): (&Pipes, Option<&BranchCard>),
    form: &JoinForm,
    calls: &[LooseCall],
) -> Result<(JobId, String), Error> {
    let unit = only_feeder(tx, pipes, branch)?;
    let space = place_to_look(pipes, unit.as_ref(), calls).ok_or(Error::NotFound("space"))?;
    let due_at: Option<DateTime<Utc>> = calls.iter().filter_map(|c| c.due_at).min();
    let mut names: Vec<&str> = calls.iter().map(|c| c.space_name.as_str()).collect();
    names.sort_by_cached_key(|name| counting_order(name));
    names.dedup();
    let place = branch.map_or("the whole building", |b| b.name.as_str());
    let thought = match form.cause.trim() {
        "" => String::new(),
        // "Strainer of the riser?" keeps its own mark.
        cause if cause.ends_with(['.', '?', '!']) => format!(" Thought of it: {cause}"),
        cause => format!(" Thought of it: {cause}."),
    };
    let new = NewJob {
        kind: JobKind::Repair,
        building: form.building,
        space,
        covers: covers_of(tx, unit.as_ref())?,
        unit: unit.map(|u| u.id),
        function_lost: Some(form.lost),
        words: format!(
            "Outage on {place}: {} homes called ({}). One cause is looked for before anyone visits a home.{thought}",
            names.len(),
            names.join(", ")
        ),
        source: "call",
        minutes: MINUTES,
        due_at,
        due_why: "The nearest of the clocks of the homes that called; each home’s own clock stands on the outage’s page."
            .to_owned(),
        duties: Vec::new(),
    };
    open_in(tx, &new)
}

/// The unit that feeds the pipe, when it is only one.
fn only_feeder(
    tx: &mut Tx<'_>,
    pipes: &Pipes,
    branch: Option<&BranchCard>,
) -> Result<Option<UnitCard>, Error> {
    let Some(branch) = branch else {
        return Ok(None);
    };
    let feeders: Vec<_> = pipes.feeders_of(branch.id).into_iter().collect();
    match feeders.as_slice() {
        [only] => Ok(Some(tx.unit(*only)?)),
        _ => Ok(None),
    }
}

/// The feeding unit's space, else the plant room, else the first home that called.
fn place_to_look(pipes: &Pipes, unit: Option<&UnitCard>, calls: &[LooseCall]) -> Option<SpaceId> {
    let plant = pipes.spaces.iter().find(|s| s.used_as == UsedAs::Plant);
    unit.map(|u| u.space)
        .or(plant.map(|s| s.id))
        .or(calls.first().map(|c| c.space))
}

/// A call joins: its home's clock goes over to the outage, its own job is stood down unless somebody is there.
fn fold_in(
    tx: &mut Tx<'_>,
    call: &LooseCall,
    outage: OutageId,
    (job, number, days): (JobId, &str, &WorkingDays),
) -> Result<(), Error> {
    tx.join_outage(outage, call.space, (call.since_at, call.due_at))?;
    if let Some(own) = call.job.filter(|own| *own != job) {
        let mut own = tx.hold_job(own)?;
        // What was left unsafe in a home is put right in that home, whatever else its call has in common.
        let unsafe_here = leaves_unsafe(tx, &own)?.is_some();
        if own.state.may_become(JobState::StoodDown) && !unsafe_here {
            for open in tx.offers_of(own.id)?.iter().filter(|o| o.answer.is_none()) {
                tx.answer_offer(open.id, "withdrawn", "one cause for several homes")?;
            }
            let words = format!(
                "Answered by {number} with others: one cause, one visit. Its clock runs on there."
            );
            hand_over(tx, days, (own.id, job))?;
            step(tx, &mut own, JobState::StoodDown, &words)?;
        }
    }
    tx.tie_call(call.call, outage, job)?;
    Ok(())
}
