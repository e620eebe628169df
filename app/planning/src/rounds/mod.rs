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
mod report;

use std::collections::BTreeSet;

use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde::{Deserialize, Serialize};
use terms::people::{Covers, Qualification};
use terms::{BuildingId, EngineerId, FirmId, JobId};

pub use audit::{Breach, Rule, audit};
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

/// The seam: whatever makes rounds.
pub trait RoundPlanner {
    /// Places the jobs. Promised visits stay even where they break a rule ([`audit`] says so).
    fn plan(&self, input: &RoundInput) -> RoundPlan;

    /// Plans again after the world changed: promised visits and every visit that still obeys the rules
    /// stay as far as possible.
    fn replan(&self, input: &RoundInput, before: &RoundPlan) -> Replan;
}
