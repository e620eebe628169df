//! What is looked up for every visit, and a visit as the planner takes it.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};
use inspection::calendar::{add_days, days_between};
use planning::rounds::{Demands, Placed, PlannedJob, Promise};
use store::{AskedTimes, RoundAsk, Tx};
use terms::{JobId, SpaceId, UnitId};

use super::demands::{WorkAsks, in_season};
use super::former::Horizon;
use super::prepared::Want;
use super::staff::not_before;
use crate::Error;

/// Days a resident is told before a visit, where the window leaves them.
pub(super) const NOTICE_DAYS: i64 = crate::letters::NOTICE_DAYS as i64;
/// Of its expected failures, what a yearly service keeps away. Common practice, no source.
const KEPT_AWAY: f64 = 0.1;
/// Attendances a failure costs: a repair, a return, the resident's day. Common practice, no source.
const FAILURE_COSTS: f64 = 10.0;

/// What a day's wait for its service is expected to harm, by the unit's own forecast: riskier units come earlier
/// in their window where that costs little.
fn waits_of(tx: &mut Tx<'_>) -> Result<BTreeMap<UnitId, f64>, Error> {
    let told = tx.told_failures(None)?.into_iter();
    let told = told.filter(|t| t.expected_12m.is_finite() && t.expected_12m > 0.0);
    let harm = |expected: f64| (expected * KEPT_AWAY * FAILURE_COSTS / 365.25).min(0.1);
    Ok(told.map(|t| (t.unit, harm(t.expected_12m))).collect())
}

fn stairs_of(tx: &mut Tx<'_>) -> Result<BTreeMap<SpaceId, String>, Error> {
    Ok(tx
        .spaces(None)?
        .into_iter()
        .filter_map(|s| s.stair.map(|stair| (s.id, stair)))
        .collect())
}

/// When somebody opens, by where they live: the last word of each.
fn access_of(tx: &mut Tx<'_>, asks: &[RoundAsk]) -> Result<BTreeMap<SpaceId, AskedTimes>, Error> {
    let mut found = BTreeMap::new();
    for ask in asks.iter().filter(|a| a.what == "access") {
        if let (Some(unit), Some(times)) = (ask.unit, &ask.times) {
            found.insert(tx.unit(unit)?.space, times.clone());
        }
    }
    Ok(found)
}

/// First day on which somebody may come, by where: one who is away is away for every unit there.
fn held_until(
    tx: &mut Tx<'_>,
    asks: &[RoundAsk],
    today: NaiveDate,
) -> Result<BTreeMap<SpaceId, NaiveDate>, Error> {
    let mut found: BTreeMap<SpaceId, NaiveDate> = BTreeMap::new();
    for (unit, from) in not_before(asks, today) {
        let day = found.entry(tx.unit(unit)?.space).or_insert(from);
        *day = (*day).max(from);
    }
    Ok(found)
}

/// What is looked up for every visit.
pub(super) struct Known {
    /// Harm of a day's wait, in attendances.
    waits: BTreeMap<UnitId, f64>,
    stairs: BTreeMap<SpaceId, String>,
    not_before: BTreeMap<SpaceId, NaiveDate>,
    access: BTreeMap<SpaceId, AskedTimes>,
    holidays: BTreeSet<NaiveDate>,
    /// From when on it is planned.
    pub horizon: Horizon,
    /// The day it is planned on.
    pub today: NaiveDate,
}

impl Known {
    /// Looked up as things stand.
    pub fn of(
        tx: &mut Tx<'_>,
        asks: &[RoundAsk],
        holidays: BTreeSet<NaiveDate>,
        horizon: Horizon,
    ) -> Result<Self, Error> {
        let today = horizon.today;
        Ok(Self {
            waits: waits_of(tx)?,
            stairs: stairs_of(tx)?,
            not_before: held_until(tx, asks, today)?,
            access: access_of(tx, asks)?,
            holidays,
            horizon,
            today,
        })
    }

    /// Stair or riser; empty = none.
    pub fn stair(&self, space: SpaceId) -> String {
        self.stairs.get(&space).cloned().unwrap_or_default()
    }

    /// First day on which somebody may come there, where a person asked for that.
    pub fn held(&self, space: SpaceId) -> Option<NaiveDate> {
        self.not_before.get(&space).copied()
    }

    /// What work in a space asks of a day between two.
    pub fn demands(
        &self,
        space: SpaceId,
        (asks, presses): (WorkAsks, bool),
        days: (NaiveDate, NaiveDate),
    ) -> Demands {
        let access = self.access.get(&space);
        Demands {
            space: Some(space),
            pair: asks.pair,
            slots: access
                .map(|a| (a.from_minute, a.until_minute))
                .into_iter()
                .collect(),
            weekdays: access.map(|a| a.weekdays.clone()).unwrap_or_default(),
            heat_off: asks.heat_off && !presses && self.season_leaves(days),
            daylight: asks.daylight,
        }
    }

    /// Whether a working day outside the heating season lies between two days: then heat may wait for it.
    fn season_leaves(&self, (from, last): (NaiveDate, NaiveDate)) -> bool {
        let working = |day: &NaiveDate| {
            day.weekday().number_from_monday() < 6 && !self.holidays.contains(day)
        };
        let mut days = from.iter_days().take_while(|day| *day <= last);
        days.any(|day| working(&day) && !in_season(day))
    }
}

/// An attendance as the planner takes it, promised or standing where it was.
pub(super) fn planned(
    want: &Want,
    known: &Known,
    (promise, stands): (Option<Promise>, Option<Placed>),
) -> PlannedJob {
    let wish = &want.wish;
    let notice = add_days(known.today, NOTICE_DAYS);
    let asked = known.held(wish.unit.space).filter(|_| promise.is_none());
    // Where the window shuts before or just after the notice would end, being in time comes first.
    let told_in_time = days_between(notice, wish.last) >= NOTICE_DAYS;
    // What stands on today was told before: the rest of a day is planned with the visits it has.
    let told_in_time = told_in_time && stands.is_none_or(|place| place.day != known.today);
    let not_before = (told_in_time && promise.is_none())
        .then_some(notice)
        .max(asked);
    let demands = if let Some(promise) = promise {
        // A person gave it: nothing but who comes and where is asked any more.
        Demands {
            pair: promise.second.is_some() || wish.asks.pair,
            space: Some(wish.unit.space),
            ..Demands::default()
        }
    } else {
        let earliest = wish.first.max(known.horizon.first());
        let from = not_before.map_or(earliest, |day| day.max(earliest));
        let asks = (wish.asks, wish.presses);
        known.demands(wish.unit.space, asks, (from, wish.last))
    };
    PlannedJob {
        id: JobId(want.visit),
        building: wish.unit.building,
        stair: known.stair(wish.unit.space),
        window_first: wish.first,
        deadline: wish.last,
        not_before,
        minutes: wish.minutes(),
        needs: wish.needs.clone(),
        risk_weight: if wish.presses {
            1.0
        } else {
            known.waits.get(&wish.unit.id).copied().unwrap_or(0.0)
        },
        firm: None,
        promise,
        demands,
    }
}
