//! Why a visit stands on its day, from what was known of it; which weeks are full; what is late.
use std::collections::BTreeMap;

use chrono::{NaiveDate, Timelike};
use inspection::calendar::add_days;
use planning::rounds::{Stop, WeekLoad, WorkingDay, firm_weeks, fullest, week_of};
use store::jobs::Job;
use terms::{DutyId, EngineerId, FirmId, UnitId};

use super::calls::CallPlace;
use super::demands::in_season;
use super::view::{PlannedVisit, Rounds};
use crate::duties::Standing;
use crate::work::wall;

/// So much over the mean week is a peak; the planner pays for every minute above it. Our choice.
const PEAK_PERCENT: i64 = 125;

/// One reason why a visit stands where it does.
#[derive(Clone, Debug, PartialEq)]
pub enum Because {
    /// It is a job with a day by now.
    Promised,
    /// A person put it there.
    Pinned,
    /// Something in it is past its last day by so many days.
    Late(i64),
    /// Nobody can prove when something in it was last done.
    NoEvidence,
    /// Other units in the same flat are done in the same visit.
    SameFlat(Vec<String>),
    /// The engineer makes so many other visits in the building that day.
    Company(usize),
    /// Heat goes off, so it lies outside the heating season.
    OutsideSeason,
    /// Heat goes off inside the season: its last day leaves no other.
    SeasonForced,
    /// Heat goes off inside the season because that day was promised.
    SeasonPromised,
    /// Heat goes off inside the season because a person pinned it there.
    SeasonPinned,
    /// Heat goes off inside the season because it presses.
    SeasonPressed,
    /// Two come, and this one comes along.
    Two(EngineerId),
    /// It is work outside, done in daylight.
    Daylight,
    /// More failures are expected of it in twelve months than of the unit in the middle, so it comes early.
    Riskier(f64, f64),
    /// It stands in the first week of its window.
    Early,
    /// It stands in the last week of its window.
    AtTheEnd,
    /// An earlier week of its window has no room left at that firm.
    FullBefore(WeekLoad),
    /// A person asked that nobody comes before a day.
    Held(NaiveDate, String),
    /// Somebody opens at certain times only.
    Access,
    /// It is the so many-th time its duty falls due within the round, and follows the visit before it.
    Again(i32),
}

/// The fullest of the firms' weeks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fullest {
    /// The week.
    pub load: WeekLoad,
    /// Minutes of that firm's week in the mean, over its weeks from the first visit to the last.
    pub mean: i64,
}

impl Fullest {
    /// More than a quarter over the mean.
    pub fn is_peak(&self) -> bool {
        self.load.minutes * 100 > self.mean * PEAK_PERCENT
    }
}

/// What is looked up for the reasons.
#[derive(Clone, Debug, Default)]
pub(super) struct Looked {
    /// How each duty stands.
    pub standing: BTreeMap<DutyId, Standing>,
    /// Failures expected of each unit in twelve months.
    pub expected: BTreeMap<UnitId, f64>,
}

/// Says of every visit why it stands where it does, and of the round which weeks are full.
pub(super) fn explain(found: &mut Rounds, looked: &Looked) {
    found.weeks = weeks(found);
    found.fullest = fullest_of(&found.weeks);
    let reasons: Vec<Vec<Because>> = found
        .visits
        .iter()
        .map(|visit| because(found, visit, looked))
        .collect();
    let late = found.visits.iter().map(|visit| late_days(visit, looked));
    let late: Vec<Option<i64>> = late.collect();
    for ((visit, reasons), late) in found.visits.iter_mut().zip(reasons).zip(late) {
        visit.because = reasons;
        visit.late = late;
    }
}

/// Days something of the visit is late by: today for what has gone by, else on the day it stands.
fn late_days(visit: &PlannedVisit, looked: &Looked) -> Option<i64> {
    // How a duty stands is said of its next date, not of what follows it.
    if visit.row.nth > 1 {
        return None;
    }
    let standing = visit
        .parts
        .iter()
        .filter_map(|p| looked.standing.get(&p.duty));
    standing
        .filter_map(|standing| match standing {
            Standing::Late { days } => Some(*days),
            _ => None,
        })
        .max()
}

fn because(found: &Rounds, visit: &PlannedVisit, looked: &Looked) -> Vec<Because> {
    let (row, mut said) = (&visit.row, Vec::new());
    let Some(day) = row.on_day else {
        return said;
    };
    if row.job.is_some() {
        said.push(Because::Promised);
    } else if row.pinned {
        said.push(Because::Pinned);
    }
    let late = late_days(visit, looked);
    said.extend(late.map(Because::Late));
    let unknown =
        |p: &super::view::Part| matches!(looked.standing.get(&p.duty), Some(Standing::Unknown));
    let unknown = visit.row.nth == 1 && visit.parts.iter().any(unknown);
    if row.nth > 1 {
        said.push(Because::Again(row.nth));
    }
    if unknown {
        said.push(Because::NoEvidence);
    }
    if visit.asks.heat_off {
        said.push(match (in_season(day), late.is_some() || unknown) {
            (false, _) => Because::OutsideSeason,
            // Who gave the day decides before what its window would leave.
            (true, _) if row.job.is_some() => Because::SeasonPromised,
            (true, _) if row.pinned => Because::SeasonPinned,
            (true, true) => Because::SeasonPressed,
            (true, false) => Because::SeasonForced,
        });
    }
    said.extend(asked(found, visit, day));
    let beside = |other: &&PlannedVisit| {
        other.visit != visit.visit
            && other.row.on_day == Some(day)
            && other.row.engineer == row.engineer
    };
    let here: Vec<&PlannedVisit> = found.visits.iter().filter(beside).collect();
    let flat = here.iter().filter(|v| v.unit.space == visit.unit.space);
    let flat: Vec<String> = flat.map(|v| v.unit.number.clone()).collect();
    let there = here
        .iter()
        .filter(|v| v.unit.building == visit.unit.building);
    let company = there.count() - flat.len();
    if !flat.is_empty() {
        said.push(Because::SameFlat(flat));
    }
    if company > 0 {
        said.push(Because::Company(company));
    }
    said.extend(row.second.map(Because::Two));
    if visit.asks.daylight {
        said.push(Because::Daylight);
    }
    if late.is_none() && !unknown {
        said.extend(in_its_window(found, visit, (day, looked)));
    }
    said
}

/// What a person asked that bears on it.
fn asked(found: &Rounds, visit: &PlannedVisit, day: NaiveDate) -> Vec<Because> {
    let mine = found.asks.iter().filter(|card| {
        let there = card.unit.as_ref().map(|unit| unit.space);
        there == Some(visit.unit.space)
    });
    mine.filter_map(|card| match card.ask.what.as_str() {
        "not_before" if card.ask.from_on <= day => {
            Some(Because::Held(card.ask.from_on, card.ask.why.clone()))
        }
        "access" => Some(Because::Access),
        _ => None,
    })
    .collect()
}

/// Early, at the end, after full weeks: where in its window it stands.
fn in_its_window(
    found: &Rounds,
    visit: &PlannedVisit,
    (day, looked): (NaiveDate, &Looked),
) -> Vec<Because> {
    let row = &visit.row;
    let opens = row.window_first.max(add_days(found.today, 1));
    let mut said = Vec::new();
    let mut all: Vec<f64> = looked.expected.values().copied().collect();
    all.sort_by(f64::total_cmp);
    let middle = all.get(all.len() / 2).copied();
    let early = (day - opens).num_days() * 3 <= (row.deadline - opens).num_days();
    if let (Some(expected), Some(middle)) = (looked.expected.get(&visit.unit.id), middle)
        && *expected > middle
        && early
    {
        said.push(Because::Riskier(*expected, middle));
    }
    if day <= add_days(opens, 7) {
        said.push(Because::Early);
    } else if add_days(day, 7) >= row.deadline {
        said.push(Because::AtTheEnd);
    }
    let full = found.weeks.iter().find(|load| {
        Some(load.firm) == row.firm
            && load.week >= week_of(opens)
            && load.week < week_of(day)
            && load.is_full()
    });
    said.extend(full.copied().map(Because::FullBefore));
    said
}

/// What every firm's weeks hold, by week: visits, promises beside them, and the calls at the times proposed for them.
fn weeks(found: &Rounds) -> Vec<WeekLoad> {
    let of_visit = |visit: &PlannedVisit| {
        let row = &visit.row;
        Some(Stop {
            day: row.on_day?,
            firm: row.firm?,
            engineer: row.engineer?,
            second: row.second,
            start: u32::try_from(row.start_minute?).ok()?,
            minutes: u32::try_from(visit.minutes).ok()?,
            space: Some(visit.unit.space),
        })
    };
    let of_promise = |job: &Job| {
        let (from, until) = job.booked?;
        let start = wall::local(from);
        Some(Stop {
            day: start.date(),
            firm: job.firm?,
            engineer: job.engineer?,
            second: None,
            start: start.hour() * 60 + start.minute(),
            minutes: u32::try_from((until - from).num_minutes()).ok()?,
            space: Some(job.space),
        })
    };
    let of_call = |(job, call): &(Job, CallPlace)| {
        let stand = call.place?;
        Some(Stop {
            day: stand.day,
            firm: stand.firm,
            engineer: stand.engineer,
            second: stand.second,
            start: stand.start,
            minutes: u32::try_from(job.minutes).ok()?,
            space: Some(job.space),
        })
    };
    let visits = found.visits.iter().filter_map(of_visit);
    let promised = found.promised.iter().filter_map(of_promise);
    let calls = found.calls.iter().filter_map(of_call);
    let stops: Vec<Stop> = visits.chain(promised).chain(calls).collect();
    let free = 100 - i64::try_from(found.kept_free_percent).unwrap_or(0);
    let given = |firm: FirmId, _: NaiveDate| {
        let card = found.names.firms.iter().find(|f| f.id == firm);
        card.map_or(0, |f| i64::from(f.minutes_a_week) * free / 100)
    };
    firm_weeks(&stops, WorkingDay::default().way_inside, &given)
}

fn fullest_of(weeks: &[WeekLoad]) -> Option<Fullest> {
    let load = fullest(weeks)?;
    let mine: Vec<&WeekLoad> = weeks.iter().filter(|w| w.firm == load.firm).collect();
    let (first, last) = (mine.first()?.week, mine.last()?.week);
    let count = (last - first).num_days() / 7 + 1;
    let mean = mine.iter().map(|w| w.minutes).sum::<i64>() / count;
    Some(Fullest { load, mean })
}
