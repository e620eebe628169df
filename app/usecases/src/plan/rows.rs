//! A round as rows of the store, and back.
use std::collections::BTreeMap;

use planning::RoundPlan;
use planning::rounds::{Placed, Unplaced, WhyNot};
use store::rounds::RoundVisit;
use terms::JobId;
use uuid::Uuid;

use super::calls::placed_calls;
use super::former::place_of;
use super::prepared::Prepared;
use super::words::why_not;

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
        Some(promise.placed(job.id))
    }));
    let waiting: Vec<JobId> = prepared.calls.iter().map(|job| job.id).collect();
    placed.extend(placed_calls(&prepared.calls_before).filter(|p| waiting.contains(&p.job)));
    placed.sort();
    let unplaced = parts
        .keys()
        .map(|visit| JobId(*visit))
        .chain(waiting)
        .filter(|job| !placed.iter().any(|p| p.job == *job))
        .map(|job| Unplaced {
            job,
            why: WhyNot::HoursFull {
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

/// The plan as rows, one a duty's part.
pub(super) fn rows_of(prepared: &Prepared, plan: &RoundPlan) -> Vec<RoundVisit> {
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
                second: place.and_then(|p| p.second),
                on_day: place.map(|p| p.day),
                start_minute: start,
                minutes: piece.minutes,
                window_first: want.wish.first,
                deadline: want.wish.last,
                unplaced_why: why.clone(),
                job: want.job,
                pinned: want.pinned,
                nth: piece.nth,
            });
            start = start.map(|s| s + piece.minutes);
        }
    }
    rows
}

/// Attendances with a day, and without.
pub(super) fn counted(rows: &[RoundVisit]) -> (usize, usize) {
    let mut visits: BTreeMap<Uuid, bool> = BTreeMap::new();
    for row in rows {
        visits.insert(row.visit, row.on_day.is_some());
    }
    let placed = visits.values().filter(|placed| **placed).count();
    (placed, visits.len() - placed)
}

/// Whether two rounds hold the same.
pub(super) fn same(before: &[RoundVisit], now: &[RoundVisit]) -> bool {
    let sorted = |rows: &[RoundVisit]| {
        let mut rows = rows.to_vec();
        rows.sort_by_key(|row| (row.visit, row.duty, row.nth));
        rows
    };
    sorted(before) == sorted(now)
}
