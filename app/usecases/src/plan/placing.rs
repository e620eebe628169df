//! Placing the visits of the next twelve months on the firms' days.
use std::collections::BTreeMap;

use planning::rounds::{Breach, Placed, Unplaced, audit};
use planning::{PlainRounds, RoundPlan, RoundPlanner};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::rounds::RoundVisit;
use terms::{JobId, Role, RoundId};
use uuid::Uuid;

use super::prepared::{Prepared, place_of, prepare, staff};
use super::words::why_not;
use crate::work::wall;
use crate::{Error, Seat, World};

/// What a placing came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placing {
    /// The round that stands now.
    pub round: RoundId,
    /// Attendances with a day.
    pub placed: usize,
    /// Attendances without.
    pub unplaced: usize,
    /// Nothing differs from the round before, which stays.
    pub unchanged: bool,
}

/// Places a visit for every duty due inside twelve months. Booked visits, and those a person pinned, stay;
/// so does every placed one that still fits. The round is a proposal: nobody is asked or told by it.
pub fn place_visits(world: &World, seat: &Seat, once: &str) -> Result<Placing, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let staff = staff(world, seat)?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        tx.once(once, &"place visits", |tx| {
            let prepared = prepare(tx, seat, &staff, today)?;
            let replanned = PlainRounds.replan(&prepared.input, &prepared.before);
            let plan = replanned.plan;
            let rows = rows_of(&prepared, &plan);
            let (placed, unplaced) = counted(&rows);
            if let Some(card) = tx.round_now()?
                && same(&tx.round_visits(card.id)?, &rows)
            {
                return Ok(Placing {
                    round: card.id,
                    placed,
                    unplaced,
                    unchanged: true,
                });
            }
            let report = json!({
                "facts": plan.facts,
                "verdict": plan.verdict,
                "moved": replanned.moved.len(),
                "stayed": replanned.stayed,
                "left_to_jobs": prepared.left_to_jobs,
                "kept_free_percent": prepared.kept_free_percent,
            });
            let span = (prepared.input.from, prepared.input.until);
            let round = tx.keep_round(span, &report, &rows)?;
            tx.note("visits placed", &format!("round {round}"), &report);
            Ok(Placing {
                round,
                placed,
                unplaced,
                unchanged: false,
            })
        })
    })
}

/// The rules the standing round breaks, from the rules alone; a booked visit that breaks one is a person's
/// to settle.
pub fn round_breaches(world: &World, seat: &Seat) -> Result<Vec<Breach>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let staff = staff(world, seat)?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        let prepared = prepare(tx, seat, &staff, today)?;
        let Some(card) = tx.round_now()? else {
            return Ok(Vec::new());
        };
        let plan = stored_plan(&prepared, &tx.round_visits(card.id)?);
        Ok(audit(&prepared.input, &plan))
    })
}

/// The stored round, with the booked jobs beside it, as a plan.
pub(super) fn stored_plan(prepared: &Prepared, rows: &[RoundVisit]) -> RoundPlan {
    let mut parts: BTreeMap<Uuid, Vec<RoundVisit>> = BTreeMap::new();
    for row in rows {
        parts.entry(row.visit).or_default().push(row.clone());
    }
    let mut placed: Vec<Placed> = parts
        .iter()
        .filter_map(|(visit, parts)| place_of(*visit, parts))
        .collect();
    let here: Vec<JobId> = placed.iter().map(|p| p.job).collect();
    placed.extend(prepared.input.jobs.iter().filter_map(|job| {
        let promise = job.promise.filter(|_| !here.contains(&job.id))?;
        Some(Placed {
            day: promise.day,
            engineer: promise.engineer,
            start_minute: promise.start_minute,
            firm: promise.firm,
            job: job.id,
        })
    }));
    placed.sort();
    let unplaced = parts
        .keys()
        .map(|visit| JobId(*visit))
        .filter(|job| !placed.iter().any(|p| p.job == *job))
        .map(|job| Unplaced {
            job,
            why: planning::rounds::WhyNot::HoursFull {
                minutes: 0,
                days: 0,
                engineers: 0,
            },
            first_room: None,
        })
        .collect();
    RoundPlan {
        placed,
        unplaced,
        ..prepared.before.clone()
    }
}

fn rows_of(prepared: &Prepared, plan: &RoundPlan) -> Vec<RoundVisit> {
    let placed: BTreeMap<JobId, &Placed> = plan.placed.iter().map(|p| (p.job, p)).collect();
    let unplaced: BTreeMap<JobId, &Unplaced> = plan.unplaced.iter().map(|u| (u.job, u)).collect();
    let mut rows = Vec::new();
    for want in &prepared.wants {
        let id = JobId(want.visit);
        let place = placed.get(&id);
        let why = unplaced.get(&id).map(|u| why_not(&u.why, u.first_room));
        let mut start = place.map(|p| i32::try_from(p.start_minute).unwrap_or(0));
        for piece in &want.wish.pieces {
            rows.push(RoundVisit {
                visit: want.visit,
                duty: piece.duty,
                unit: Some(want.wish.unit.id),
                space: Some(want.wish.unit.space),
                building: want.wish.unit.building,
                firm: place.map(|p| p.firm),
                engineer: place.map(|p| p.engineer),
                on_day: place.map(|p| p.day),
                start_minute: start,
                minutes: piece.minutes,
                window_first: want.wish.first,
                deadline: want.wish.last,
                unplaced_why: why.clone(),
                job: want.job,
                pinned: want.pinned,
            });
            start = start.map(|s| s + piece.minutes);
        }
    }
    rows
}

fn counted(rows: &[RoundVisit]) -> (usize, usize) {
    let mut visits: BTreeMap<Uuid, bool> = BTreeMap::new();
    for row in rows {
        visits.insert(row.visit, row.on_day.is_some());
    }
    let placed = visits.values().filter(|placed| **placed).count();
    (placed, visits.len() - placed)
}

fn same(before: &[RoundVisit], now: &[RoundVisit]) -> bool {
    let sorted = |rows: &[RoundVisit]| {
        let mut rows = rows.to_vec();
        rows.sort_by_key(|row| (row.visit, row.duty));
        rows
    };
    sorted(before) == sorted(now)
}
