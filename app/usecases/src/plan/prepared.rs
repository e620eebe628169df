//! What a round is planned from, as the register, the firms and the booked visits stand now.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, Timelike};
use inspection::calendar::add_days;
use planning::rounds::{
    Demands, Placed, PlannedEngineer, PlannedFirm, PlannedJob, Promise, RoundFacts, RoundVerdict,
    WorkingDay, firm_of_pair,
};
use planning::{RoundInput, RoundPlan};
use store::Tx;
use store::jobs::{Job, Which};
use store::rounds::RoundVisit;
use terms::{DutyId, EngineerId, JobId};
use uuid::Uuid;

use super::bundling::{Piece, Wish, bundle};
use super::calls::{Call, CallAsks, CallPlace, calls_of, placed_calls, planned_call, waits};
use super::demands::{WorkAsks, asks_of_rules, daylight, seasons};
use super::known::{Known, planned};
use super::staff::{Staff, engineers_of, firms_of, holidays};
use crate::duties::{DutyLine, lines};
use crate::work::wall;
use crate::{Error, Seat};

/// Of a firm's week, kept free for calls when the estate has not said otherwise. Common practice, no source.
const KEPT_FREE_PERCENT: u32 = 20;
/// How far a round looks ahead.
const HORIZON_DAYS: i64 = 365;

/// An attendance of the round, known by its id.
#[derive(Clone, Debug)]
pub(super) struct Want {
    /// Kept from the round before while its duties are the same.
    pub visit: Uuid,
    /// What is wanted.
    pub wish: Wish,
    /// The job it was turned into.
    pub job: Option<JobId>,
    /// A person put it where it is.
    pub pinned: bool,
}

impl Prepared {
    /// Gives those jobs the days after their own last one; whether any had fewer.
    pub fn give_time(&mut self, missed: impl Fn(&PlannedJob) -> bool) -> bool {
        let mut gave = false;
        for job in &mut self.input.jobs {
            if let Some(by) = self.else_by.get(&job.id).copied()
                && by > job.deadline
                && missed(job)
            {
                job.deadline = by;
                gave = true;
            }
        }
        gave
    }
}

/// Everything for one planning.
#[derive(Clone, Debug)]
pub(super) struct Prepared {
    /// For the planner.
    pub input: RoundInput,
    /// What the attendances are.
    pub wants: Vec<Want>,
    /// The round before, as far as its attendances are still wanted.
    pub before: RoundPlan,
    /// Open jobs without a day.
    pub calls: Vec<Job>,
    /// Where the standing round proposes them.
    pub calls_before: Vec<CallPlace>,
    /// The day by which each is sought where its own last day cannot be kept.
    else_by: BTreeMap<JobId, NaiveDate>,
    /// Duties left to a job that has no day yet.
    pub left_to_jobs: usize,
    /// Per cent of the firms' weeks kept free for calls.
    pub kept_free_percent: u32,
}

/// The attendances of the round before, by their duties.
struct Former {
    visit: Uuid,
    place: Option<Placed>,
    job: Option<JobId>,
    pinned: bool,
}

/// Loads what is due and booked, and makes the planner's input of it.
pub(super) fn prepare(
    tx: &mut Tx<'_>,
    seat: &Seat,
    staff: &Staff,
    today: NaiveDate,
) -> Result<Prepared, Error> {
    let until = add_days(today, HORIZON_DAYS);
    let found = due(tx, seat, today)?;
    let former = former_visits(tx)?;
    let mut open: Vec<Job> = tx.jobs(&Which::Open)?;
    open.retain(|job| job.closed_at.is_none());
    let free: Vec<&DutyLine> = found.iter().filter(|l| l.jobs.is_empty()).collect();
    let mut wants = free_wants(
        tx,
        &bundle(&free, &staff.engineers, (today, until)),
        &former,
        today,
    );
    let asks_of_jobs = asks_of_jobs(&found);
    let last_of_jobs = last_of_jobs(&found, today);
    let of_plans = tx.jobs_of_plans()?;
    let with_jobs = job_wants(&found, &open, (&former, &asks_of_jobs), today);
    let taken: usize = with_jobs.iter().map(|w| w.0.wish.pieces.len()).sum();
    let left_to_jobs = found.len() - free.len() - taken;
    let asks = tx.round_asks()?;
    let holidays = holidays(tx, staff)?;
    let known = Known::of(tx, &asks, holidays.clone(), today)?;
    let (mut jobs, mut before) = free_jobs(&wants, &former, &known);
    for (want, promise) in with_jobs {
        jobs.push(planned(&want, &known, Some(promise)));
        wants.push(want);
    }
    let ours: BTreeSet<JobId> = wants.iter().filter_map(|w| w.job).collect();
    let others: Vec<&Job> = open.iter().filter(|j| !ours.contains(&j.id)).collect();
    jobs.extend(others.iter().filter_map(|job| booked_job(job)));
    let mut calls: Vec<Job> = others.into_iter().filter(|j| waits(j)).cloned().collect();
    let asks_of_call = |job: JobId| CallAsks {
        work: asks_of_jobs.get(&job).copied().unwrap_or_default(),
        duties_last: last_of_jobs.get(&job).copied(),
        of_plan: of_plans.contains(&job),
    };
    let waiting = planned_calls(&mut calls, &known, until, &asks_of_call);
    let else_by = waiting.iter().map(|c| (c.job.id, c.else_by)).collect();
    jobs.extend(waiting.into_iter().map(|c| c.job));
    let calls_before = tx.round_now()?.as_ref().map(calls_of).unwrap_or_default();
    let ahead = placed_calls(&calls_before).filter(|p| p.day > today);
    before
        .placed
        .extend(ahead.filter(|p| calls.iter().any(|job| job.id == p.job)));
    jobs.retain(|job| job.promise.is_none_or(|p| p.day > today && p.day <= until));
    let kept_free_percent = kept_free(tx)?;
    let firms = firms_of(staff, kept_free_percent, &asks);
    let engineers = engineers_of(staff, &asks);
    let input = input_of((today, until), holidays, (firms, engineers), jobs);
    let inside: BTreeSet<JobId> = input.jobs.iter().map(|j| j.id).collect();
    wants.retain(|want| inside.contains(&JobId(want.visit)));
    Ok(Prepared {
        input,
        wants,
        before,
        calls,
        calls_before,
        else_by,
        left_to_jobs,
        kept_free_percent,
    })
}

/// The planner's input of a year from tomorrow on.
fn input_of(
    (today, until): (NaiveDate, NaiveDate),
    bank_holidays: BTreeSet<NaiveDate>,
    (firms, engineers): (Vec<PlannedFirm>, Vec<PlannedEngineer>),
    jobs: Vec<PlannedJob>,
) -> RoundInput {
    let mut input = RoundInput {
        from: add_days(today, 1),
        until,
        bank_holidays,
        hours: WorkingDay::default(),
        heating_seasons: seasons(today, until),
        extra: Vec::new(),
        daylight: daylight(today, until),
        firms,
        engineers,
        jobs,
    };
    settle_pairs(&mut input);
    input
}

/// Open jobs for the planner; work of a year that lies beyond the round waits for it.
fn planned_calls(
    calls: &mut Vec<Job>,
    known: &Known,
    until: NaiveDate,
    asks: &dyn Fn(JobId) -> CallAsks,
) -> Vec<Call> {
    let mut planned = Vec::with_capacity(calls.len());
    calls.retain(|job| {
        let call = planned_call(job, known, asks(job.id));
        let inside = call.job.window_first <= until;
        if inside {
            planned.push(call);
        }
        inside
    });
    planned
}

/// Attendances that are no job yet, for the planner, and where the round before had them.
fn free_jobs(
    wants: &[Want],
    former: &BTreeMap<Vec<DutyId>, Former>,
    known: &Known,
) -> (Vec<PlannedJob>, RoundPlan) {
    let mut jobs = Vec::with_capacity(wants.len());
    let mut before = empty_plan();
    for want in wants {
        let was = former.get(&want.wish.duties());
        let place = was.and_then(|f| f.place).filter(|p| p.day > known.today);
        let promise = place.filter(|_| want.pinned).map(promise_of);
        before.placed.extend(place);
        jobs.push(planned(want, known, promise));
    }
    (jobs, before)
}

/// What falls to firms: what site staff take on their monthly round needs no visit, and what is a building's or a home's
/// own stands on no unit a visit could go to: the desk opens a job for it.
fn due(tx: &mut Tx<'_>, seat: &Seat, today: NaiveDate) -> Result<Vec<DutyLine>, Error> {
    let on_site = crate::water::buildings_with_rounds(tx)?;
    let mut found = lines(tx, seat, today)?;
    found.retain(|l| {
        l.unit.is_some()
            && !(crate::water::is_monthly(&l.rule.code) && on_site.contains(&l.building))
    });
    Ok(found)
}

/// Per cent of the firms' weeks kept free for calls.
fn kept_free(tx: &mut Tx<'_>) -> Result<u32, Error> {
    Ok(match tx.setting("kept_free_percent")? {
        Some(text) => text.parse().unwrap_or(KEPT_FREE_PERCENT).min(90),
        None => KEPT_FREE_PERCENT,
    })
}

/// A job is offered to one firm, so the firm of two people is settled before the round is sought.
fn settle_pairs(input: &mut RoundInput) {
    for place in 0..input.jobs.len() {
        let job = &input.jobs[place];
        if job.demands.pair && job.promise.is_none() {
            let firm = firm_of_pair(input, job);
            input.jobs[place].firm = firm;
        }
    }
}

/// The attendances that are no job yet, each under the id it had while its duties are the same.
fn free_wants(
    tx: &Tx<'_>,
    wishes: &[Wish],
    former: &BTreeMap<Vec<DutyId>, Former>,
    today: NaiveDate,
) -> Vec<Want> {
    wishes
        .iter()
        .map(|wish| {
            let known = former.get(&wish.duties()).filter(|f| f.job.is_none());
            let ahead = |f: &Former| f.place.is_some_and(|p| p.day > today);
            Want {
                visit: known.map_or_else(|| tx.fresh(), |f| f.visit),
                pinned: known.is_some_and(|f| f.pinned && ahead(f)),
                wish: wish.clone(),
                job: None,
            }
        })
        .collect()
}

fn empty_plan() -> RoundPlan {
    RoundPlan {
        placed: Vec::new(),
        unplaced: Vec::new(),
        facts: RoundFacts::default(),
        verdict: RoundVerdict::NothingToPlace,
    }
}

/// The attendances of the round that stands.
fn former_visits(tx: &mut Tx<'_>) -> Result<BTreeMap<Vec<DutyId>, Former>, Error> {
    let Some(card) = tx.round_now()? else {
        return Ok(BTreeMap::new());
    };
    let mut parts: BTreeMap<Uuid, Vec<RoundVisit>> = BTreeMap::new();
    for part in tx.round_visits(card.id)? {
        parts.entry(part.visit).or_default().push(part);
    }
    Ok(parts
        .into_iter()
        .map(|(visit, parts)| {
            let mut duties: Vec<DutyId> = parts.iter().map(|p| p.duty).collect();
            duties.sort_unstable();
            let former = Former {
                visit,
                place: place_of(visit, &parts),
                job: parts.iter().find_map(|p| p.job),
                pinned: parts.iter().any(|p| p.pinned),
            };
            (duties, former)
        })
        .collect())
}

/// Where the parts of an attendance stand together.
pub(super) fn place_of(visit: Uuid, parts: &[RoundVisit]) -> Option<Placed> {
    let first = parts.iter().min_by_key(|p| p.start_minute)?;
    Some(Placed {
        day: first.on_day?,
        engineer: first.engineer?,
        start_minute: u32::try_from(first.start_minute?).ok()?,
        firm: first.firm?,
        job: JobId(visit),
        second: first.second,
    })
}

fn promise_of(place: Placed) -> Promise {
    Promise {
        day: place.day,
        start_minute: place.start_minute,
        firm: place.firm,
        engineer: place.engineer,
        second: place.second,
    }
}

/// Attendances that are jobs by now: at their booked time, or where the round that was offered has them.
fn job_wants(
    found: &[DutyLine],
    open: &[Job],
    (former, asks): (&BTreeMap<Vec<DutyId>, Former>, &BTreeMap<JobId, WorkAsks>),
    today: NaiveDate,
) -> Vec<(Want, Promise)> {
    let offered: BTreeMap<JobId, &Former> = former
        .values()
        .filter_map(|f| f.job.map(|job| (job, f)))
        .collect();
    let mut wants = Vec::new();
    for job in open {
        let mut met = found
            .iter()
            .filter(|l| l.jobs.first().is_some_and(|j| j.job == job.id));
        let Some(first) = met.next() else { continue };
        let Some(unit) = first.unit.clone() else {
            continue;
        };
        let pieces: Vec<Piece> = std::iter::once(first)
            .chain(met)
            .map(|line| Piece {
                duty: line.duty,
                minutes: line.rule.minutes,
            })
            .collect();
        let known = offered.get(&job.id);
        let placed = known.and_then(|f| f.place);
        let promise = booked(job)
            .map(|(promise, _)| Promise {
                second: partner(placed, &promise),
                ..promise
            })
            .or_else(|| placed.map(promise_of));
        let Some(promise) = promise.filter(|p| p.day > today) else {
            continue;
        };
        let (from, to) =
            super::bundling::planned_days(first, today).unwrap_or((promise.day, promise.day));
        let wish = Wish {
            unit,
            pieces,
            needs: Vec::new(),
            first: from.min(promise.day),
            last: to.max(promise.day),
            presses: false,
            asks: asks.get(&job.id).copied().unwrap_or_default(),
        };
        let want = Want {
            visit: known.map_or(job.id.0, |f| f.visit),
            wish,
            job: Some(job.id),
            pinned: known.is_some_and(|f| f.pinned),
        };
        wants.push((want, promise));
    }
    wants
}

/// Who comes with the one who is booked: of the two who were to come the other, whichever day it is by now. Where another
/// firm has it nobody is known yet, and the audit says that one is missing.
fn partner(placed: Option<Placed>, promise: &Promise) -> Option<EngineerId> {
    let placed = placed.filter(|p| p.firm == promise.firm)?;
    let second = placed.second?;
    Some(if second == promise.engineer {
        placed.engineer
    } else {
        second
    })
}

/// The last day of the duties each open job is to meet.
fn last_of_jobs(found: &[DutyLine], today: NaiveDate) -> BTreeMap<JobId, NaiveDate> {
    let mut last: BTreeMap<JobId, NaiveDate> = BTreeMap::new();
    for line in found {
        let Some((_, to)) = super::bundling::planned_days(line, today) else {
            continue;
        };
        for job in &line.jobs {
            let day = last.entry(job.job).or_insert(to);
            *day = (*day).min(to);
        }
    }
    last
}

/// What the work of open jobs asks of its day, by the duties each is to meet.
fn asks_of_jobs(found: &[DutyLine]) -> BTreeMap<JobId, WorkAsks> {
    let rules = asks_of_rules();
    let mut asks: BTreeMap<JobId, WorkAsks> = BTreeMap::new();
    for line in found {
        let work = rules.get(&line.rule.code).copied().unwrap_or_default();
        for job in &line.jobs {
            let known = asks.entry(job.job).or_default();
            *known = known.with(work);
        }
    }
    asks
}

/// A job's booked slot and its minutes.
fn booked(job: &Job) -> Option<(Promise, u32)> {
    let (from, until) = job.booked?;
    let start = wall::local(from);
    let minutes = u32::try_from((until - from).num_minutes()).ok()?;
    let promise = Promise {
        day: start.date(),
        start_minute: start.hour() * 60 + start.minute(),
        firm: job.firm?,
        engineer: job.engineer?,
        second: None,
    };
    Some((promise, minutes))
}

/// Any other booked job: it takes its engineer's time.
fn booked_job(job: &Job) -> Option<PlannedJob> {
    let (promise, minutes) = booked(job)?;
    Some(PlannedJob {
        id: job.id,
        building: job.building,
        stair: String::new(),
        window_first: promise.day,
        deadline: promise.day,
        not_before: None,
        minutes,
        needs: Vec::new(),
        risk_weight: 0.0,
        firm: Some(promise.firm),
        promise: Some(promise),
        demands: Demands {
            space: Some(job.space),
            ..Demands::default()
        },
    })
}
