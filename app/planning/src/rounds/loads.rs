//! What a firm's week holds: one notion of it for what is said of a round and for what a day more would buy.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::{EngineerId, FirmId, SpaceId};

use super::{RoundInput, RoundPlan, week_of};

/// Of a firm's week, what counts as full: nothing of use fits in the rest. Our choice.
const FULL_PERCENT: i64 = 90;

/// One visit as it stands in a week, whatever it is for: a duty, an open job, a promise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stop {
    /// The day.
    pub day: NaiveDate,
    /// Of which firm.
    pub firm: FirmId,
    /// Who comes.
    pub engineer: EngineerId,
    /// Who comes with them.
    pub second: Option<EngineerId>,
    /// Minutes from midnight.
    pub start: u32,
    /// Minutes of work.
    pub minutes: u32,
    /// Where: what is done there back to back is one visit.
    pub space: Option<SpaceId>,
}

/// What a firm's week holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeekLoad {
    /// Whose.
    pub firm: FirmId,
    /// Its Monday.
    pub week: NaiveDate,
    /// Minutes of visits and ways, of everybody who comes.
    pub minutes: i64,
    /// Minutes the firm gives for planned work.
    pub given: i64,
}

impl WeekLoad {
    /// Nothing of use fits any more.
    pub fn is_full(&self) -> bool {
        self.minutes * 100 >= self.given * FULL_PERCENT
    }
}

/// Every firm's weeks, by week; `way` in minutes before every visit.
pub fn firm_weeks(
    stops: &[Stop],
    way: u32,
    given: &dyn Fn(FirmId, NaiveDate) -> i64,
) -> Vec<WeekLoad> {
    let mut days: BTreeMap<(EngineerId, NaiveDate), Vec<&Stop>> = BTreeMap::new();
    for stop in stops {
        for who in [Some(stop.engineer), stop.second].into_iter().flatten() {
            days.entry((who, stop.day)).or_default().push(stop);
        }
    }
    let mut sums: BTreeMap<(NaiveDate, FirmId), i64> = BTreeMap::new();
    for stops in days.values_mut() {
        stops.sort_by_key(|stop| stop.start);
        // End and space of the visit before, while what follows may be part of it.
        let mut open: Option<(u32, SpaceId)> = None;
        for stop in stops {
            let alone = stop.space.filter(|_| stop.second.is_none());
            let joined = alone.is_some_and(|space| open == Some((stop.start, space)));
            let minutes = stop.minutes + if joined { 0 } else { way };
            *sums.entry((week_of(stop.day), stop.firm)).or_default() += i64::from(minutes);
            open = alone.map(|space| (stop.start + stop.minutes, space));
        }
    }
    let load = |((week, firm), minutes): ((NaiveDate, FirmId), i64)| WeekLoad {
        firm,
        week,
        minutes,
        given: given(firm, week),
    };
    sums.into_iter().map(load).collect()
}

/// The fullest of them: that of which the firm gives the greatest share away, the earlier of two alike.
pub fn fullest(weeks: &[WeekLoad]) -> Option<WeekLoad> {
    weeks.iter().copied().reduce(|most, next| {
        let share = |a: &WeekLoad, b: &WeekLoad| a.minutes * b.given.max(1);
        if share(&next, &most) > share(&most, &next) {
            next
        } else {
            most
        }
    })
}

/// The visits of a plan.
pub fn stops_of(input: &RoundInput, plan: &RoundPlan) -> Vec<Stop> {
    let jobs: BTreeMap<_, _> = input.jobs.iter().map(|j| (j.id, j)).collect();
    let stop = |p: &super::Placed| {
        let job = jobs.get(&p.job)?;
        Some(Stop {
            day: p.day,
            firm: p.firm,
            engineer: p.engineer,
            second: p.second,
            start: p.start_minute,
            minutes: job.minutes,
            space: job.demands.space,
        })
    };
    plan.placed.iter().filter_map(stop).collect()
}
