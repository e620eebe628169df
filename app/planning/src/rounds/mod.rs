//! Rounds: planned jobs placed on contractors' days inside their windows.
//!
//! Dates are local calendar dates, times minutes from midnight on the wall clock. Work happens on a firm's
//! own days and hours (where it states none, Monday to Friday), never on bank holidays, and inside the minutes a
//! firm, and each engineer, gives this estate in a week (Monday to Sunday). A visit takes its jobs' minutes and, of
//! the week's minutes, the way to it as well. Jobs of one space that follow one another without a break on one
//! engineer's day are one visit. A two-person job is a visit of its own for each of two engineers of one firm.
mod audit;
mod bound;
mod choosing;
mod diary;
mod loads;
#[cfg(feature = "solver")]
pub mod optimal;
mod plain;
mod replan;
mod report;

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde::{Deserialize, Serialize};
use terms::people::{Covers, Qualification};
use terms::{BuildingId, EngineerId, FirmId, JobId, SpaceId};

pub use audit::{Breach, Rule, audit};
pub use loads::{Stop, WeekLoad, firm_weeks, fullest, stops_of};
pub use plain::PlainRounds;
pub use replan::{Moved, Replan};
pub use report::{RoundFacts, RoundPlan, RoundVerdict, Unplaced, WhyNot};

/// A visit somebody was promised: it stays where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Promise {
    /// The day.
    pub day: NaiveDate,
    /// Minutes from midnight.
    pub start_minute: u32,
    /// Whose visit.
    pub firm: FirmId,
    /// Who comes.
    pub engineer: EngineerId,
    /// Who comes with them to a two-person job.
    pub second: Option<EngineerId>,
}

impl Promise {
    /// The visit as it was promised.
    pub const fn placed(&self, job: JobId) -> Placed {
        Placed {
            day: self.day,
            engineer: self.engineer,
            start_minute: self.start_minute,
            firm: self.firm,
            job,
            second: self.second,
        }
    }
}

/// What a job asks of its day beside its window.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Demands {
    /// Flat or plant room: what is done there back to back is one visit.
    pub space: Option<SpaceId>,
    /// Two of one firm come together, at the same time; one of them holds what is needed.
    pub pair: bool,
    /// Somebody opens only between these minutes, start and end of the visit inside one of them; empty = any time.
    pub slots: Vec<(u32, u32)>,
    /// Weekdays on which somebody opens, Monday = 0; empty = any.
    pub weekdays: Vec<u32>,
    /// Heat goes off in the building: never inside a heating season.
    pub heat_off: bool,
    /// Work outside: from sunrise to sunset.
    pub daylight: bool,
}

/// A job that wants a day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlannedJob {
    /// Its id.
    pub id: JobId,
    /// Where.
    pub building: BuildingId,
    /// Stair or riser, to bundle by; empty = none.
    pub stair: String,
    /// First day of its window.
    pub window_first: NaiveDate,
    /// Last day of its window.
    pub deadline: NaiveDate,
    /// Not before this day for another reason: notice to the resident, a part on its way.
    pub not_before: Option<NaiveDate>,
    /// Minutes of work.
    pub minutes: u32,
    /// Every field its engineer must be qualified in.
    pub needs: Vec<Covers>,
    /// Expected harm of one day's delay, counted in attendances: 0 for a duty inside its window (it may
    /// wait for company), 1 for a job worth an attendance of its own rather than a day's wait. Also
    /// orders jobs of one deadline, larger = sooner.
    pub risk_weight: f64,
    /// Only this firm may do it; `None` = any that serves the building.
    pub firm: Option<FirmId>,
    /// Promised already.
    pub promise: Option<Promise>,
    /// What it asks of its day.
    pub demands: Demands,
}

impl PlannedJob {
    /// First day it may be done.
    pub fn first_day(&self) -> NaiveDate {
        self.not_before
            .map_or(self.window_first, |day| day.max(self.window_first))
    }
}

/// A firm's time for planned work of this estate.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedFirm {
    /// Its id.
    pub id: FirmId,
    /// Minutes a week for planned work; what is kept free for calls is taken off before.
    pub minutes_a_week: u32,
    /// Buildings it serves; `None` = all.
    pub buildings: Option<Vec<BuildingId>>,
    /// Its own hours by weekday, Monday first, from and until in minutes; `None` = Monday to Friday, the usual hours.
    pub week: Option<[Option<(u32, u32)>; 7]>,
}

/// An engineer's time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedEngineer {
    /// Its id.
    pub id: EngineerId,
    /// The firm.
    pub firm: FirmId,
    /// Minutes a week.
    pub minutes_a_week: u32,
    /// What they may work on, and from when until when.
    pub qualifications: Vec<Qualification>,
    /// Days off.
    pub away: Vec<NaiveDate>,
    /// Other hours than the firm's on single days: day, from, until.
    pub short: Vec<(NaiveDate, u32, u32)>,
}

impl PlannedEngineer {
    /// Whether every field is covered on the day.
    pub fn covers(&self, needs: &[Covers], day: NaiveDate) -> bool {
        needs.iter().all(|need| {
            self.qualifications
                .iter()
                .any(|q| q.covers == *need && q.from_on <= day && day <= q.until_on)
        })
    }
}

/// The hours of a day. The default is ours (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WorkingDay {
    /// First minute a visit may start.
    pub from_minute: u32,
    /// Last minute a visit may end.
    pub to_minute: u32,
    /// Minutes from one visit to the next in the same building.
    pub way_inside: u32,
    /// Minutes from one building to another where no way of its own is known.
    pub way_between: u32,
}

impl Default for WorkingDay {
    fn default() -> Self {
        Self {
            from_minute: 8 * 60 + 30,
            to_minute: 16 * 60 + 30,
            way_inside: 10,
            way_between: 30,
        }
    }
}

/// How long the way between two buildings takes, either way round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Way {
    /// The two buildings, the smaller id first.
    pub between: (BuildingId, BuildingId),
    /// Minutes.
    pub minutes: u32,
}

/// A day more of one engineer in one week: as many minutes as the longest day, of theirs and of their firm's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExtraDay {
    /// Who.
    pub engineer: EngineerId,
    /// Of which firm.
    pub firm: FirmId,
    /// Monday of the week.
    pub week: NaiveDate,
    /// Minutes.
    pub minutes: u32,
}

/// Everything a round is planned from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundInput {
    /// First day that can still be planned.
    pub from: NaiveDate,
    /// Last day of the horizon (12 months on, as a rule).
    pub until: NaiveDate,
    /// Days without work beside Saturdays and Sundays.
    pub bank_holidays: BTreeSet<NaiveDate>,
    /// The hours of a day.
    pub hours: WorkingDay,
    /// Ways between buildings that take longer or shorter than the usual one, in the order of their buildings; no way over a
    /// third building is shorter.
    pub ways: Vec<Way>,
    /// Heating seasons, first and last day.
    pub heating_seasons: Vec<(NaiveDate, NaiveDate)>,
    /// Sunrise and sunset on the wall clock; a day that is not here is light all day.
    pub daylight: BTreeMap<NaiveDate, (u32, u32)>,
    /// Firms, each once.
    pub firms: Vec<PlannedFirm>,
    /// Engineers, each once.
    pub engineers: Vec<PlannedEngineer>,
    /// Days more than the week's hours give.
    pub extra: Vec<ExtraDay>,
    /// Jobs, each once.
    pub jobs: Vec<PlannedJob>,
}

impl RoundInput {
    /// Monday to Friday and no bank holiday.
    pub fn is_working_day(&self, day: NaiveDate) -> bool {
        !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) && !self.bank_holidays.contains(&day)
    }

    /// Minutes from one building to another, or from one visit to the next in the same.
    pub fn way(&self, a: BuildingId, b: BuildingId) -> u32 {
        if a == b {
            return self.hours.way_inside;
        }
        let two = if a < b { (a, b) } else { (b, a) };
        let known = self.ways.binary_search_by_key(&two, |way| way.between);
        known.map_or(self.hours.way_between, |place| self.ways[place].minutes)
    }

    /// Whether the day lies in a heating season.
    pub fn is_heating_day(&self, day: NaiveDate) -> bool {
        let inside = |season: &(NaiveDate, NaiveDate)| (season.0..=season.1).contains(&day);
        self.heating_seasons.iter().any(inside)
    }

    /// A firm's hours on a day; none on a bank holiday or a weekday it does not work.
    pub fn firm_hours(&self, firm: &PlannedFirm, day: NaiveDate) -> Option<(u32, u32)> {
        let usual = (self.hours.from_minute, self.hours.to_minute);
        match &firm.week {
            None => self.is_working_day(day).then_some(usual),
            Some(week) if !self.bank_holidays.contains(&day) => {
                week[day.weekday().num_days_from_monday() as usize]
            }
            Some(_) => None,
        }
    }

    /// Minutes of the day between which a visit for this job may lie, its engineer's hours left aside; empty = never.
    pub fn open_times(&self, job: &PlannedJob, day: NaiveDate) -> Vec<(u32, u32)> {
        let asks = &job.demands;
        let weekday = day.weekday().num_days_from_monday();
        let shut = (!asks.weekdays.is_empty() && !asks.weekdays.contains(&weekday))
            || (asks.heat_off && self.is_heating_day(day));
        if shut {
            return Vec::new();
        }
        let mut light = (0, 24 * 60);
        if let Some(sun) = self.daylight.get(&day).filter(|_| asks.daylight) {
            light = *sun;
        }
        if asks.slots.is_empty() {
            return vec![light];
        }
        let slots = asks.slots.iter();
        slots
            .map(|slot| (slot.0.max(light.0), slot.1.min(light.1)))
            .collect()
    }

    /// An engineer's hours on a day; none on a day off.
    pub fn shift(&self, who: &PlannedEngineer, day: NaiveDate) -> Option<(u32, u32)> {
        if who.away.contains(&day) {
            return None;
        }
        let firm = self.firms.iter().find(|f| f.id == who.firm)?;
        let usual = self.firm_hours(firm, day)?;
        let short = who.short.iter().find(|s| s.0 == day);
        Some(short.map_or(usual, |s| (s.1, s.2)))
    }

    /// Minutes a firm gives in a week, and of them an engineer.
    pub fn week_of_engineer(
        &self,
        who: &PlannedEngineer,
        firm: u32,
        week: NaiveDate,
    ) -> (u32, u32) {
        let more = |own: bool| -> u32 {
            let here = self.extra.iter().filter(|e| e.week == week);
            let mine = here.filter(|e| e.firm == who.firm && (!own || e.engineer == who.id));
            mine.map(|e| e.minutes).sum()
        };
        (firm + more(false), who.minutes_a_week + more(true))
    }

    /// Whether anybody works on a day; where no firm is known, Monday to Friday.
    pub fn anybody_works(&self, day: NaiveDate) -> bool {
        let mut firms = self.firms.iter();
        (self.firms.is_empty() && self.is_working_day(day))
            || firms.any(|f| self.firm_hours(f, day).is_some())
    }

    /// The longest visit a day holds, minutes.
    pub fn longest_day(&self) -> u32 {
        let usual = (self.hours.from_minute, self.hours.to_minute);
        let own = self.firms.iter().filter_map(|f| f.week.as_ref());
        let own = own.flatten().flatten().copied();
        let plain = self.firms.is_empty() || self.firms.iter().any(|f| f.week.is_none());
        let short = self.engineers.iter().flat_map(|e| &e.short);
        plain
            .then_some(usual)
            .into_iter()
            .chain(own)
            .chain(short.map(|s| (s.1, s.2)))
            .map(|span| span.1.saturating_sub(span.0))
            .max()
            .unwrap_or(0)
    }
}

/// The firm a two-person job goes to: the one it names, else of those with two people, one of them able, the one that
/// gives most time.
pub fn firm_of_pair(input: &RoundInput, job: &PlannedJob) -> Option<FirmId> {
    if job.firm.is_some() {
        return job.firm;
    }
    let day = job.first_day().max(input.from);
    let mut able: Vec<(u32, FirmId)> = input
        .firms
        .iter()
        .filter(|firm| {
            let of_firm: Vec<&PlannedEngineer> = input
                .engineers
                .iter()
                .filter(|e| e.firm == firm.id)
                .collect();
            let served = firm.buildings.as_ref();
            served.is_none_or(|list| list.contains(&job.building))
                && of_firm.len() > 1
                && of_firm.iter().any(|e| e.covers(&job.needs, day))
        })
        .map(|firm| (firm.minutes_a_week, firm.id))
        .collect();
    able.sort_unstable();
    able.last().map(|(_, firm)| *firm)
}

/// The Monday of the day's week.
pub fn week_of(day: NaiveDate) -> NaiveDate {
    let back = u64::from(day.weekday().num_days_from_monday());
    day.checked_sub_days(Days::new(back)).unwrap_or(day)
}

/// One visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Placed {
    /// The day.
    pub day: NaiveDate,
    /// Who comes.
    pub engineer: EngineerId,
    /// Minutes from midnight.
    pub start_minute: u32,
    /// Of which firm.
    pub firm: FirmId,
    /// For which job.
    pub job: JobId,
    /// Who comes with them to a two-person job.
    pub second: Option<EngineerId>,
}

/// The seam: whatever makes rounds.
pub trait RoundPlanner {
    /// Places the jobs. Promised visits stay even where they break a rule ([`audit`] says so).
    fn plan(&self, input: &RoundInput) -> RoundPlan;

    /// Plans again after the world changed: promised visits and every visit that still obeys the rules
    /// stay as far as possible.
    fn replan(&self, input: &RoundInput, before: &RoundPlan) -> Replan;
}
