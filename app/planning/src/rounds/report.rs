//! What a round says beside its visits: who has no day and why, what it comes to, how it ended.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use terms::people::Covers;
use terms::{EngineerId, JobId};

use super::Placed;

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
    /// Heat goes off, and all its days lie in the heating season.
    HeatingSeason,
    /// When somebody opens, or it is light, nobody able works long enough.
    NoAccess,
    /// It takes two of one firm, and two are never there.
    NoPair,
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
