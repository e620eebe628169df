//! What a round is planned from, as the register, the firms and the booked visits stand now.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::calendar::add_days;
use planning::rounds::{
    PlannedEngineer, PlannedFirm, PlannedJob, Promise, RoundFacts, RoundVerdict, WorkingDay,
    firm_of_pair,
};
use planning::{RoundInput, RoundPlan};
use store::Tx;
use store::jobs::{Job, Which};
use terms::JobId;
use uuid::Uuid;

use super::bundling::{Piece, Wish, bundle};
use super::calls::{Call, CallAsks, CallPlace, calls_of, placed_calls, planned_call, waits};
use super::demands::{WorkAsks, asks_of_rules, daylight, seasons};
use super::former::{
    Duties, Former, Horizon, booked, booked_job, former_visits, partner, promise_of,
};
use super::known::{Known, planned};
use super::staff::{Staff, engineers_of, firms_of, holidays};
use super::standing_in::{StandIn, stand_ins};
use super::ways::ways_of;
use crate::duties::{DutyLine, lines};
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
    /// Booked jobs of people who are away: whether somebody else could come at the promised time.
    pub stand_ins: Vec<StandIn>,
}

/// Loads what is due and booked, and makes the planner's input of it.
pub(super) fn prepare(
    tx: &mut Tx<'_>,
    seat: &Seat,
    staff: &Staff,
    horizon: Horizon,
) -> Result<Prepared, Error> {
    let found = lines(tx, seat, horizon.today)?;
    prepare_from(tx, staff, horizon, &found)
}

/// The same from the duties that were loaded already, as they stand on the horizon's day.
pub(super) fn prepare_from(
    tx: &mut Tx<'_>,
    staff: &Staff,
    horizon: Horizon,
    all: &[DutyLine],
) -> Result<Prepared, Error> {
    let today = horizon.today;
    let until = add_days(today, HORIZON_DAYS);
    let found = due(tx, all)?;
    let former = former_visits(tx)?;
    let mut open: Vec<Job> = tx.jobs(&Which::Open)?;
    open.retain(|job| job.closed_at.is_none());
    let free = found.iter().filter(|l| l.jobs.is_empty()).count();
    let mut wants = free_wants(
        tx,
        &bundle(&found, &staff.engineers, (horizon, until)),
        &former,
        horizon,
    );
    let asks_of_jobs = asks_of_jobs(&found);
    let last_of_jobs = last_of_jobs(&found, horizon);
    let of_plans = tx.jobs_of_plans()?;
    let with_jobs = job_wants(&found, &open, (&former, &asks_of_jobs), horizon);
    let taken: usize = with_jobs.iter().map(|w| w.0.wish.pieces.len()).sum();
    let left_to_jobs = found.len() - free - taken;
    let asks = tx.round_asks()?;
    let holidays = holidays(tx, staff)?;
    let known = Known::of(tx, &asks, holidays.clone(), horizon)?;
    let (mut jobs, mut before) = free_jobs(&wants, &former, &known);
    for (want, promise) in with_jobs {
        jobs.push(planned(&want, &known, (Some(promise), None)));
        wants.push(want);
    }
    let ours: BTreeSet<JobId> = wants.iter().filter_map(|w| w.job).collect();
    let others: Vec<&Job> = open.iter().filter(|j| !ours.contains(&j.id)).collect();
    let engineers = engineers_of(staff, &asks);
    let stand_ins = stand_ins(&open, (&engineers, &known), horizon);
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
    let ahead = placed_calls(&calls_before).filter(|p| horizon.is_ahead(p.day, p.start_minute));
    before
        .placed
        .extend(ahead.filter(|p| calls.iter().any(|job| job.id == p.job)));
    // What has begun today takes the time of whoever is there.
    let first = horizon.first();
    jobs.retain(|job| job.promise.is_none_or(|p| p.day >= first && p.day <= until));
    jobs.extend(stand_ins.iter().map(|one| one.job.clone()));
    let kept_free_percent = kept_free(tx)?;
    let firms = firms_of(staff, kept_free_percent, &asks);
    let mut input = input_of((horizon, until), holidays, (firms, engineers), jobs);
    (input.hours.way_between, input.ways) = ways_of(tx)?;
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
        stand_ins,
    })
}

/// The planner's input of a year from tomorrow on, or from the rest of today.
fn input_of(
    (horizon, until): (Horizon, NaiveDate),
    bank_holidays: BTreeSet<NaiveDate>,
    (firms, engineers): (Vec<PlannedFirm>, Vec<PlannedEngineer>),
    jobs: Vec<PlannedJob>,
) -> RoundInput {
    let today = horizon.today;
    let mut input = RoundInput {
        from: horizon.first(),
        until,
        bank_holidays,
        hours: WorkingDay::default(),
        ways: Vec::new(),
        heating_seasons: seasons(today, until),
        extra: Vec::new(),
        daylight: daylight(today, until),
        firms,
        engineers,
        jobs,
    };
    if let Some(from) = horizon.rest_from {
        leave_the_rest(&mut input, (today, from));
    }
    settle_pairs(&mut input);
    input
}

/// Nobody's day begins before the minute from which the rest of today is planned.
fn leave_the_rest(input: &mut RoundInput, (today, from): (NaiveDate, u32)) {
    let hours: Vec<Option<(u32, u32)>> = {
        let all = input.engineers.iter();
        all.map(|who| input.shift(who, today)).collect()
    };
    for (who, hours) in input.engineers.iter_mut().zip(hours) {
        match hours {
            Some((opens, shuts)) if from.max(opens) < shuts => {
                who.short.push((today, from.max(opens), shuts));
            }
            Some(_) => who.away.push(today),
            None => {}
        }
    }
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
    former: &BTreeMap<Duties, Former>,
    known: &Known,
) -> (Vec<PlannedJob>, RoundPlan) {
    let mut jobs = Vec::with_capacity(wants.len());
    let mut before = empty_plan();
    for want in wants {
        let was = former.get(&want.wish.duties());
        let ahead = |p: &planning::rounds::Placed| known.horizon.is_ahead(p.day, p.start_minute);
        let place = was.and_then(|f| f.place).filter(ahead);
        let promise = place.filter(|_| want.pinned).map(promise_of);
        before.placed.extend(place);
        jobs.push(planned(want, known, (promise, place)));
    }
    (jobs, before)
}

/// What falls to firms: what site staff take on their monthly round needs no visit, and what is a building's or a home's
/// own stands on no unit a visit could go to: the desk opens a job for it.
fn due<'a>(tx: &mut Tx<'_>, all: &'a [DutyLine]) -> Result<Vec<&'a DutyLine>, Error> {
    let on_site = crate::water::buildings_with_rounds(tx)?;
    let to_firms = |l: &&DutyLine| {
        l.unit.is_some()
            && !(crate::water::is_monthly(&l.rule.code) && on_site.contains(&l.building))
    };
    Ok(all.iter().filter(to_firms).collect())
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
    former: &BTreeMap<Duties, Former>,
    horizon: Horizon,
) -> Vec<Want> {
    wishes
        .iter()
        .map(|wish| {
            let known = former.get(&wish.duties()).filter(|f| f.job.is_none());
            let ahead = |f: &Former| {
                f.place
                    .is_some_and(|p| horizon.is_ahead(p.day, p.start_minute))
            };
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

/// Attendances that are jobs by now: at their booked time, or where the round that was offered has them.
fn job_wants(
    found: &[&DutyLine],
    open: &[Job],
    (former, asks): (&BTreeMap<Duties, Former>, &BTreeMap<JobId, WorkAsks>),
    horizon: Horizon,
) -> Vec<(Want, Promise)> {
    let offered: BTreeMap<JobId, &Former> = former
        .values()
        .filter_map(|f| f.job.map(|job| (job, f)))
        .collect();
    let mut wants = Vec::new();
    for job in open {
        let mut met = found
            .iter()
            .copied()
            .filter(|l| l.jobs.first().is_some_and(|j| j.job == job.id));
        let Some(first) = met.next() else { continue };
        let Some(unit) = first.unit.clone() else {
            continue;
        };
        let pieces: Vec<Piece> = std::iter::once(first)
            .chain(met)
            .map(|line| Piece {
                duty: line.duty,
                nth: 1,
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
        let Some(promise) = promise.filter(|p| p.day >= horizon.first()) else {
            continue;
        };
        let (from, to) =
            super::bundling::planned_days(first, horizon).unwrap_or((promise.day, promise.day));
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

/// The last day of the duties each open job is to meet.
fn last_of_jobs(found: &[&DutyLine], horizon: Horizon) -> BTreeMap<JobId, NaiveDate> {
    let mut last: BTreeMap<JobId, NaiveDate> = BTreeMap::new();
    for line in found {
        let Some((_, to)) = super::bundling::planned_days(line, horizon) else {
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
fn asks_of_jobs(found: &[&DutyLine]) -> BTreeMap<JobId, WorkAsks> {
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
