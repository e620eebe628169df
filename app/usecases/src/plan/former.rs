//! The round before: where its attendances stand, and what is booked of them.
use std::collections::BTreeMap;

use chrono::{NaiveDate, Timelike};
use inspection::calendar::add_days;
use planning::rounds::{Demands, Placed, PlannedJob, Promise};
use store::Tx;
use store::jobs::Job;
use store::rounds::RoundVisit;
use terms::{DutyId, EngineerId, JobId};
use uuid::Uuid;

use crate::Error;
use crate::work::wall;

/// From when on a round is planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Horizon {
    /// The day it is planned on.
    pub today: NaiveDate,
    /// Minute from which the rest of today is planned too; `None` = from tomorrow on.
    pub rest_from: Option<u32>,
}

impl Horizon {
    /// From tomorrow on.
    pub const fn from_tomorrow(today: NaiveDate) -> Self {
        Self {
            today,
            rest_from: None,
        }
    }

    /// First day that is planned.
    pub fn first(self) -> NaiveDate {
        match self.rest_from {
            Some(_) => self.today,
            None => add_days(self.today, 1),
        }
    }

    /// Whether a time lies ahead: what has begun, or begins before anybody could come, is no longer planned.
    pub fn is_ahead(self, day: NaiveDate, minute: u32) -> bool {
        match self.rest_from {
            Some(from) if day == self.today => minute >= from,
            _ => day > self.today,
        }
    }
}

/// What an attendance is known by: its duties, each with which time within the round it is.
pub(super) type Duties = Vec<(DutyId, i32)>;

/// The attendances of the round before, by their duties.
pub(super) struct Former {
    pub visit: Uuid,
    pub place: Option<Placed>,
    pub job: Option<JobId>,
    pub pinned: bool,
}

/// The attendances of the round that stands.
pub(super) fn former_visits(tx: &mut Tx<'_>) -> Result<BTreeMap<Duties, Former>, Error> {
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
            let mut duties: Duties = parts.iter().map(|p| (p.duty, p.nth)).collect();
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

/// The place as a promise.
pub(super) fn promise_of(place: Placed) -> Promise {
    Promise {
        day: place.day,
        start_minute: place.start_minute,
        firm: place.firm,
        engineer: place.engineer,
        second: place.second,
    }
}

/// Who comes with the one who is booked: of the two who were to come the other, whichever day it is by now. Where another
/// firm has it nobody is known yet, and the audit says that one is missing.
pub(super) fn partner(placed: Option<Placed>, promise: &Promise) -> Option<EngineerId> {
    let placed = placed.filter(|p| p.firm == promise.firm)?;
    let second = placed.second?;
    Some(if second == promise.engineer {
        placed.engineer
    } else {
        second
    })
}

/// A job's booked slot and its minutes.
pub(super) fn booked(job: &Job) -> Option<(Promise, u32)> {
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
pub(super) fn booked_job(job: &Job) -> Option<PlannedJob> {
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
