//! The technician routing and scheduling problem of the rounds: who goes where on which day.
//!
//! Days 0..D−1, minutes from midnight, money in whole pence. A visit is one attendance of one engineer at
//! one space on one day; its length is set-up + Σ minutes of its jobs. Minimise
//! travel·minutes travelled + visit·visits + Σ delay (day − earliest) + over_week·Σ_w max(0, M_w − level_w)
//! + Σ_{left out} unplaced. Source: `reference/planning/README.md` §2, whose JSON these types read.
use serde::{Deserialize, Serialize};

/// From and to, minutes or days, both inclusive where days.
pub type Span = [i32; 2];

/// Prices in pence.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Costs {
    /// Of a minute travelled.
    pub travel: i64,
    /// Of a visit.
    pub visit: i64,
    /// Of a minute above a week's level.
    pub over_week: i64,
}

/// A building on the map.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Site {
    /// Its row in the travel table.
    pub place: usize,
    /// Its area.
    pub area: usize,
}

/// An engineer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Engineer {
    /// Row of the base in the travel table.
    pub base: usize,
    /// Areas served.
    pub areas: Vec<usize>,
    /// Qualifications held.
    #[serde(rename = "tickets")]
    pub qualifications: Vec<String>,
    /// Working time by weekday, Monday first.
    pub week: Vec<Option<Span>>,
    /// Days off.
    pub off: Vec<i32>,
    /// [day, from, to] in place of that day's hours.
    pub short: Vec<[i32; 3]>,
}

/// A promised day and start.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Appointment {
    /// Day.
    pub day: i32,
    /// Minute the visit starts.
    pub start: i32,
    /// By whom; `None` = anybody.
    #[serde(default)]
    pub engineer: Option<usize>,
}

/// A job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Job {
    /// Index of its building.
    pub building: usize,
    /// Flat or plant room.
    pub space: usize,
    /// Minutes of work.
    pub minutes: i32,
    /// 1, or 2 for a two-person job.
    pub crew: u8,
    /// Qualifications needed.
    #[serde(rename = "tickets")]
    pub qualifications: Vec<String>,
    /// First day.
    pub earliest: i32,
    /// Last day.
    pub latest: i32,
    /// Access: the whole visit inside one of these minute ranges; `None` = any time.
    pub slots: Option<Vec<Span>>,
    /// Weekdays on which it can be done; `None` = any.
    pub weekdays: Option<Vec<i32>>,
    /// Promised.
    pub fixed: Option<Appointment>,
    /// Heat goes off: not on a day of the heating season.
    pub heat_off: bool,
    /// Needs daylight.
    pub daylight: bool,
    /// Pence a day after the earliest: risk.
    pub delay: i64,
    /// Pence if left out.
    pub unplaced: i64,
}

/// Minutes of visits that some engineers together give in any one week; promised visits stay even over it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeekCap {
    /// Indices of the engineers.
    pub engineers: Vec<usize>,
    /// Minutes a week.
    pub minutes: i64,
    /// More in single weeks: number of the week, minutes.
    #[serde(default)]
    pub more: Vec<(usize, i64)>,
}

impl WeekCap {
    /// Minutes of one week.
    pub fn in_week(&self, week: usize) -> i64 {
        let more = self.more.iter().filter(|more| more.0 == week);
        self.minutes + more.map(|more| more.1).sum::<i64>()
    }
}

/// The whole problem.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// D, the number of days.
    pub days: i32,
    /// Weekday of day 0, Monday = 0.
    pub weekday0: i32,
    /// Days nobody works.
    pub bank_holidays: Vec<i32>,
    /// Day ranges of the heating season.
    pub heating_season: Vec<Span>,
    /// Light from and to, by day.
    pub daylight: Vec<Span>,
    /// Minutes a visit takes besides its jobs.
    pub setup: i32,
    /// Prices.
    pub costs: Costs,
    /// Minutes of visits in each week above which a minute costs `over_week`.
    pub week_level: Vec<i64>,
    /// Minutes between places, symmetric.
    pub travel: Vec<Vec<i32>>,
    /// Buildings.
    pub buildings: Vec<Site>,
    /// Engineers.
    pub engineers: Vec<Engineer>,
    /// Jobs.
    pub jobs: Vec<Job>,
    /// Hours given a week; none in the public cases. Bounds leave them aside, which only loosens them.
    #[serde(default)]
    pub week_caps: Vec<WeekCap>,
}

/// One attendance of one engineer at one space.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Visit {
    /// Index of the engineer.
    pub engineer: usize,
    /// Day.
    pub day: i32,
    /// Minute it starts.
    pub start: i32,
    /// Jobs done.
    pub jobs: Vec<usize>,
}

/// Points of a re-plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoveCosts {
    /// A job left out.
    pub drop: i64,
    /// A job at another day or start than before.
    #[serde(rename = "move")]
    pub shift: i64,
    /// A job at the same day and start with another engineer.
    pub swap: i64,
}

/// A plan to be mended after a change, with the fewest moves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Disruption {
    /// Visits before this day stay as they were and nothing new goes there.
    pub now: i32,
    /// What a move costs.
    pub costs: MoveCosts,
    /// The plan before.
    pub before: Vec<Visit>,
    /// The world after the change.
    pub instance: Problem,
}
