//! Rounds: planned jobs placed on contractors' days inside their windows.
//!
//! Dates are local calendar dates, times minutes from midnight on the wall clock. Work happens Monday
//! to Friday except on bank holidays, inside the working day and inside the minutes a firm, and each
//! engineer, gives this estate in a week (Monday to Sunday). A visit takes the job's minutes and, of the
//! week's minutes, the way to it as well.
mod audit;
mod bound;
mod choosing;
mod diary;
#[cfg(feature = "solver")]
pub mod optimal;
mod plain;
mod replan;

use std::collections::BTreeSet;

use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde::{Deserialize, Serialize};
use terms::people::{Covers, Qualification};
use terms::{BuildingId, EngineerId, FirmId, JobId};

pub use audit::{Breach, Rule, audit};
pub use plain::PlainRounds;
pub use replan::{Moved, Replan};

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
    /// Minutes from one building to another.
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
    /// Firms, each once.
    pub firms: Vec<PlannedFirm>,
    /// Engineers, each once.
    pub engineers: Vec<PlannedEngineer>,
    /// Jobs, each once.
    pub jobs: Vec<PlannedJob>,
}

impl RoundInput {
    /// Monday to Friday and no bank holiday.
    pub fn is_working_day(&self, day: NaiveDate) -> bool {
        !matches!(day.weekday(), Weekday::Sat | Weekday::Sun) && !self.bank_holidays.contains(&day)
    }

    /// The longest visit a day holds, minutes.
    pub fn longest_day(&self) -> u32 {
        self.hours.to_minute.saturating_sub(self.hours.from_minute)
    }
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
}

/// Why a job found no day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyNot {
    /// The last day lies before the first.
    WindowShut {
        /// First day it might be done.
        first: NaiveDate,
        /// Last day it might.
        last: NaiveDate,
    },
    /// Its deadline has passed.
    LateAlready {
        /// The deadline.
        deadline: NaiveDate,
        /// Days since.
        days: i64,
    },
    /// Its window opens after the horizon.
    OpensLater {
        /// First day it might be done.
        first: NaiveDate,
    },
    /// No working day lies in its window.
    NoWorkingDay {
        /// First day looked at.
        first: NaiveDate,
        /// Last day looked at.
        last: NaiveDate,
    },
    /// Nobody who may come holds all it needs on any day of its window.
    NobodyQualified {
        /// What it needs.
        needs: Vec<Covers>,
    },
    /// It takes longer than a day, or than anybody's week.
    TooLong {
        /// What it takes.
        minutes: u32,
        /// The longest visit there can be.
        longest: u32,
    },
    /// It was promised to somebody who is not on the list any more.
    PromisedToNobody {
        /// Who should have come.
        engineer: EngineerId,
        /// When.
        day: NaiveDate,
    },
    /// Everybody qualified is full on every day of its window.
    HoursFull {
        /// Minutes it takes.
        minutes: u32,
        /// Working days looked at.
        days: u32,
        /// Engineers looked at.
        engineers: u32,
    },
}

/// A job without a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unplaced {
    /// The job.
    pub job: JobId,
    /// Why.
    pub why: WhyNot,
    /// First day, outside the window if need be, on which somebody qualified still has room.
    pub first_room: Option<NaiveDate>,
}

/// What the plan comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundFacts {
    /// Jobs placed, promised ones with them.
    pub placed: u32,
    /// Jobs without a day.
    pub unplaced: u32,
    /// Promised visits, all left where they were.
    pub promised: u32,
    /// Minutes of work placed.
    pub minutes: u32,
    /// Attendances: an engineer in a building on a day, however many flats.
    pub attendances: u32,
    /// No plan for the placed jobs can do with fewer attendances.
    pub attendances_at_least: u32,
    /// Engineers' days used.
    pub engineer_days: u32,
}

impl RoundFacts {
    /// Attendances above the bound.
    pub fn gap(&self) -> u32 {
        self.attendances.saturating_sub(self.attendances_at_least)
    }
}

/// How the planning ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RoundVerdict {
    /// There was nothing to place.
    NothingToPlace,
    /// Every job has a day.
    Complete,
    /// Some jobs can have no day under the rules as they are; every other has one.
    OnlyTheImpossibleLeft,
    /// Some jobs found no hours; another order might have.
    HoursShort,
}

/// The plan and its report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundPlan {
    /// Visits by day, engineer and start.
    pub placed: Vec<Placed>,
    /// Jobs without a day, in the order of the input.
    pub unplaced: Vec<Unplaced>,
    /// What it comes to.
    pub facts: RoundFacts,
    /// How it ended.
    pub verdict: RoundVerdict,
}

/// The seam: whatever makes rounds.
pub trait RoundPlanner {
    /// Places the jobs. Promised visits stay even where they break a rule ([`audit`] says so).
    fn plan(&self, input: &RoundInput) -> RoundPlan;

    /// Plans again after the world changed: promised visits and every visit that still obeys the rules
    /// stay as far as possible.
    fn replan(&self, input: &RoundInput, before: &RoundPlan) -> Replan;
}
