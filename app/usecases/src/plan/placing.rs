//! Placing the visits of the next twelve months on the firms' days.
use std::sync::atomic::{AtomicBool, Ordering};

use chrono::{NaiveDate, Timelike};
use planning::rounds::optimal::{MoreTime, OptimalRounds, RoundProof};
use planning::rounds::{Breach, PlannedJob, Rule, audit};
use planning::{Allowance, Part, RoundPlan};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::{JobId, Role, RoundId, TaskId};
use uuid::Uuid;

use super::calls::{CallPlace, calls_of, found_calls, placed_calls, stand_ins_of};
use super::former::Horizon;
use super::making::allowance;
use super::moves::{MoveLine, lines_of};
use super::prepared::{Prepared, prepare, prepare_from};
use super::rows::{counted, rows_of, same, stored_plan};
use super::staff::{Staff, staff};
use super::standing_in::found_stand_ins;
use crate::duties::{DutyLine, lines};
use crate::work::wall;
use crate::{Error, Seat, World};

/// Visits up to which a whole round is placed afresh while the page waits, unless the estate says otherwise.
const AT_ONCE: usize = 600;
/// Seconds a page may wait for a round, and a task may take for one.
const SECONDS: (f64, f64) = (2.0, 60.0);
/// Seconds in which it is tried what a day more would buy.
const MORE_SECONDS: f64 = 2.0;
/// Every search is seeded alike: the same day gives the same round.
const SEED: u64 = 1;
/// The setting that names the placing a person asked to stop.
const STOPPED: &str = "round_stopped";
/// The task that places large rounds afresh.
pub const ROUND_TASK: &str = "place_rounds";

/// What a placing came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placing {
    /// The round that stands now.
    pub round: RoundId,
    /// Attendances with a day.
    pub placed: usize,
    /// Attendances without.
    pub unplaced: usize,
    /// Attendances that stood elsewhere before.
    pub moved: usize,
    /// Nothing differs from the round before, which stays.
    pub unchanged: bool,
}

/// What came of asking for a whole round afresh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Afresh {
    /// It stands.
    Placed(Placing),
    /// It is large: a task places it.
    Waits,
}

/// Minutes from now before which nobody can be sent: to be rung, and to get there. Common practice, no source.
const LEAD: u32 = 30;
/// What is planned of today begins at a full five minutes.
const FIVE: u32 = 5;

/// How far the round of before binds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Basis {
    /// As few visits move as can be.
    Before,
    /// Every visit that is neither booked nor pinned may move.
    Nothing,
}

/// Places a visit for every duty due inside twelve months. Booked visits, and those a person pinned, stay; of the
/// others as few move as can be. The round is a proposal: nobody is asked or told by it.
pub fn place_visits(world: &World, seat: &Seat, once: &str) -> Result<Placing, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let rest = rest_of_today(world);
    // What is proposed for the rest of today stays there when the visits are placed again.
    let standing = world.acting(seat, |tx| Ok::<_, Error>(tx.round_now()?))?;
    let calls = standing.as_ref().map(calls_of).unwrap_or_default();
    let still =
        placed_calls(&calls).any(|p| p.day == rest.today && rest.is_ahead(p.day, p.start_minute));
    let horizon = if still {
        rest
    } else {
        Horizon::from_tomorrow(rest.today)
    };
    let from = (Basis::Before, SECONDS.0, horizon);
    place(world, seat, from, once, &mut |_| Ok(true))
}

/// The same after somebody was said to be away: with the rest of today where that is one of the days.
pub fn place_round_absence(
    world: &World,
    seat: &Seat,
    (from, until): (NaiveDate, NaiveDate),
    once: &str,
) -> Result<Placing, Error> {
    if (from..=until).contains(&wall::day(world.now())) {
        place_with_today(world, seat, once)
    } else {
        place_visits(world, seat, once)
    }
}

/// From the next full five minutes half an hour on.
fn rest_of_today(world: &World) -> Horizon {
    let now = wall::local(world.now());
    Horizon {
        today: now.date(),
        rest_from: Some((now.hour() * 60 + now.minute() + LEAD).next_multiple_of(FIVE)),
    }
}

/// The same with the rest of today: somebody fell ill, or a fault cannot wait. What has begun, was booked or pinned stays;
/// the first time that is planned lies half an hour ahead.
pub fn place_with_today(world: &World, seat: &Seat, once: &str) -> Result<Placing, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let horizon = rest_of_today(world);
    let from = (Basis::Before, SECONDS.0, horizon);
    place(world, seat, from, once, &mut |_| Ok(true))
}

/// Places every visit that is neither booked nor pinned anew, where it costs least.
pub fn place_afresh(world: &World, seat: &Seat, once: &str) -> Result<Afresh, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let at_once = world.acting(seat, |tx| {
        let most = match tx.setting("round_at_once_visits")? {
            Some(text) => text.parse().unwrap_or(AT_ONCE),
            None => AT_ONCE,
        };
        Ok(tx.open_duties()?.len() <= most)
    })?;
    if at_once {
        let horizon = Horizon::from_tomorrow(wall::day(world.now()));
        let from = (Basis::Nothing, SECONDS.0, horizon);
        return place(world, seat, from, once, &mut |_| Ok(true)).map(Afresh::Placed);
    }
    world.acting(seat, |tx| {
        tx.once(once, &"place afresh", |tx| {
            tx.queue(ROUND_TASK, json!({}), Some(ROUND_TASK))?;
            Ok(Afresh::Waits)
        })
    })
}

/// The same in a task: `told` hears where it is, in words. Where a person asks it to stop, what was found is kept.
pub fn place_afresh_slowly(
    world: &World,
    seat: &Seat,
    task: TaskId,
    told: &mut dyn FnMut(&str) -> Result<(), Error>,
) -> Result<Placing, Error> {
    let once = format!("{ROUND_TASK} {}", Uuid::new_v4());
    let mut go_on = |words: &str| -> Result<bool, Error> {
        told(words)?;
        let stopped = world.acting(seat, |tx| Ok::<_, Error>(tx.setting(STOPPED)?))?;
        Ok(stopped != Some(task.to_string()))
    };
    let horizon = Horizon::from_tomorrow(wall::day(world.now()));
    let from = (Basis::Nothing, SECONDS.1, horizon);
    place(world, seat, from, &once, &mut go_on)
}

/// Asks the placing that is under way to end now and keep what it has found.
///
/// # Errors
/// [`Error::Conflict`] when none is under way.
pub fn stop_placing(world: &World, seat: &Seat, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let tasks = crate::tasks::recent(world, seat, 20)?;
    let under_way = tasks
        .into_iter()
        .find(|t| t.kind == ROUND_TASK && t.done_at.is_none());
    let Some(task) = under_way else {
        return Err(Error::Conflict(
            "No visits are being placed any more. The last finished round stands.".to_owned(),
        ));
    };
    world.acting(seat, |tx| {
        tx.once(once, &("stop placing", task.id), |tx| {
            tx.set(STOPPED, &task.id.to_string())?;
            tx.note("placing stopped", &format!("task {}", task.id), &json!({}));
            Ok(())
        })
    })
}

/// A round with what is said of it.
struct Round {
    plan: RoundPlan,
    proof: Option<RoundProof>,
    moves: Vec<MoveLine>,
    fewest: bool,
    stayed: u32,
    /// A person ended the search before its time.
    stopped: bool,
    /// What a day more in the fullest week would buy.
    more: Option<MoreTime>,
}

/// What is kept of a placing beside its visits.
fn report_of(
    prepared: &Prepared,
    round: &Round,
    (calls, stand_ins): (&[CallPlace], &[CallPlace]),
) -> serde_json::Value {
    json!({
        "facts": round.plan.facts,
        "verdict": round.plan.verdict,
        "proof": round.proof,
        "moves": round.moves,
        "fewest": round.fewest,
        "moved": round.moves.len(),
        "stayed": round.stayed,
        "stopped": round.stopped,
        "more": round.more,
        "calls": calls,
        "stand_ins": stand_ins,
        "left_to_jobs": prepared.left_to_jobs,
        "kept_free_percent": prepared.kept_free_percent,
    })
}

/// Hears where a search is, in words; `false` = end it.
type Told<'a> = &'a mut dyn FnMut(&str) -> Result<bool, Error>;

fn place(
    world: &World,
    seat: &Seat,
    (basis, seconds, horizon): (Basis, f64, Horizon),
    once: &str,
    told: Told<'_>,
) -> Result<Placing, Error> {
    let staff = staff(world, seat)?;
    let (mut prepared, standing) = world.acting(seat, |tx| {
        let standing = tx.round_now()?.map(|card| card.id);
        Ok((prepare(tx, seat, &staff, horizon)?, standing))
    })?;
    // No transaction is open while it is sought.
    let mut round = seek(&prepared, basis, seconds, told)?;
    // What cannot be done by its own last day is sought a day after it, and said to be late.
    let without: Vec<JobId> = round.plan.unplaced.iter().map(|u| u.job).collect();
    if prepared.give_time(|job| without.contains(&job.id)) {
        round = seek(&prepared, basis, seconds, told)?;
    }
    world.acting(seat, |tx| {
        let asked = (
            "place visits",
            basis == Basis::Nothing,
            horizon.rest_from.is_some(),
        );
        tx.once(once, &asked, |tx| {
            let now = tx.round_now()?;
            if now.as_ref().map(|card| card.id) != standing {
                return Err(Error::Conflict(
                    "Somebody placed the visits while this was worked out. Nothing was changed by you."
                        .to_owned(),
                ));
            }
            let rows = rows_of(&prepared, &round.plan);
            let (placed, unplaced) = counted(&rows);
            let moved = round.moves.len();
            let calls = found_calls(&prepared, &round.plan);
            let stand_ins = found_stand_ins(&prepared.stand_ins, &round.plan);
            if let Some(card) = now
                && calls_of(&card) == calls
                && stand_ins_of(&card) == stand_ins
                && same(&tx.round_visits(card.id)?, &rows)
            {
                return Ok(Placing {
                    round: card.id,
                    placed,
                    unplaced,
                    moved: 0,
                    unchanged: true,
                });
            }
            let report = report_of(&prepared, &round, (&calls, &stand_ins));
            let span = (prepared.input.from, prepared.input.until);
            let id = tx.keep_round(span, &report, &rows)?;
            let mut brief = report;
            if let Some(brief) = brief.as_object_mut() {
                brief.remove("moves");
            }
            tx.note("visits placed", &format!("round {id}"), &brief);
            Ok(Placing {
                round: id,
                placed,
                unplaced,
                moved,
                unchanged: false,
            })
        })
    })
}

fn seek(prepared: &Prepared, basis: Basis, seconds: f64, told: Told<'_>) -> Result<Round, Error> {
    let clock = allowance(seconds);
    let stopped = AtomicBool::new(false);
    let left = || {
        if stopped.load(Ordering::Relaxed) {
            0.0
        } else {
            clock()
        }
    };
    let (input, before) = (&prepared.input, &prepared.before);
    let end = !told("The visits are being placed")?;
    stopped.store(end, Ordering::Relaxed);
    if basis == Basis::Nothing || before.placed.is_empty() {
        return afresh(prepared, &left, &stopped, told);
    }
    let mending = Part::share(&left, 0.7);
    let optimal = OptimalRounds {
        allowance: &mending,
        seed: SEED,
    };
    let (mended, fewest) = optimal.mend(input, before);
    let judging = OptimalRounds {
        allowance: &left,
        seed: SEED,
    };
    Ok(Round {
        proof: judging.judge(input, &mended.plan),
        moves: lines_of(input, before, (&mended.plan, &prepared.calls)),
        plan: mended.plan,
        fewest,
        stayed: mended.stayed,
        stopped: false,
        more: None,
    })
}

/// All of it placed anew, with what a day more would buy.
fn afresh(
    prepared: &Prepared,
    left: &dyn Allowance,
    stopped: &AtomicBool,
    told: Told<'_>,
) -> Result<Round, Error> {
    let (input, before) = (&prepared.input, &prepared.before);
    let optimal = OptimalRounds {
        allowance: left,
        seed: SEED,
    };
    let mut said = 0;
    let mut trouble = None;
    let (plan, proof) = optimal.prove(input, &mut |progress| {
        let percent = (progress.gone * 100.0) as u32;
        if percent > said && trouble.is_none() {
            said = percent;
            let words = format!(
                "The visits are being placed: {percent} per cent of the time is gone; a better round could save \
                 {:.1} per cent at most",
                progress.gap * 100.0
            );
            match told(&words) {
                Ok(go_on) => stopped.store(!go_on, Ordering::Relaxed),
                Err(error) => trouble = Some(error),
            }
        }
    });
    if let Some(trouble) = trouble {
        return Err(trouble);
    }
    let ended = stopped.load(Ordering::Relaxed);
    let trying = allowance(MORE_SECONDS);
    let again = OptimalRounds {
        allowance: &trying,
        seed: SEED,
    };
    // Whoever stops the search waits for nothing more.
    let judged = proof.filter(|_| !ended);
    let more = judged.and_then(|proof| again.more_time(input, (&plan, &proof)));
    let moves = lines_of(input, before, (&plan, &prepared.calls));
    let stayed = before.placed.len().saturating_sub(moves.len()) as u32;
    Ok(Round {
        plan,
        proof,
        moves,
        fewest: false,
        stayed,
        more,
        stopped: ended,
    })
}

/// The rules the standing round breaks, from the rules alone; a booked visit that breaks one is a person's
/// to settle.
pub fn round_breaches(world: &World, seat: &Seat) -> Result<Vec<Breach>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let staff = staff(world, seat)?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        let lines = lines(tx, seat, today)?;
        breaches_in(tx, &staff, (today, &lines))
    })
}

/// The same inside a transaction, from the duties as they stand on the day.
pub(super) fn breaches_in(
    tx: &mut Tx<'_>,
    staff: &Staff,
    (today, lines): (NaiveDate, &[DutyLine]),
) -> Result<Vec<Breach>, Error> {
    let Some(card) = tx.round_now()? else {
        return Ok(Vec::new());
    };
    let mut prepared = prepare_from(tx, staff, Horizon::from_tomorrow(today), lines)?;
    // Who stands in for somebody is proposed beside the round.
    let beside: Vec<JobId> = prepared.stand_ins.iter().map(|one| one.job.id).collect();
    prepared.input.jobs.retain(|job| !beside.contains(&job.id));
    let plan = stored_plan(&prepared, &tx.round_visits(card.id)?);
    // A job proposed after its own last day is said to be late; the days it then has bind all the same.
    let after = |job: &PlannedJob| {
        let mut placed = plan.placed.iter();
        placed.any(|p| p.job == job.id && p.day > job.deadline)
    };
    prepared.give_time(after);
    let gone_by = |breach: &Breach| {
        let mut placed = plan.placed.iter();
        // Today is not planned from tomorrow on: what stands on it is not therefore outside its days.
        breach.rule == Rule::OutsideWindow
            && placed.any(|p| Some(p.job) == breach.job && p.day <= today)
    };
    let mut breaches = audit(&prepared.input, &plan);
    breaches.retain(|breach| !gone_by(breach));
    Ok(breaches)
}
