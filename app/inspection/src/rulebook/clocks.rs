//! Days of events, right-to-repair periods and response times.
use serde::Deserialize;

use crate::duties::EventReason;

/// How soon something is due after an event.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EventRule {
    /// The event.
    pub event: String,
    /// What is due, in words.
    pub task: String,
    /// Days after the event's day.
    pub days: i64,
    /// How they are counted.
    pub counting: EventReason,
    /// Law, code, standard, maker, good practice or contract.
    pub basis: String,
    /// How it is known.
    pub status: String,
}

/// A defect of the right to repair.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RepairRule {
    /// Its code.
    pub defect: String,
    /// Its words.
    pub words: String,
    /// Law.
    pub basis: String,
    /// How it is known.
    pub status: String,
    /// The period.
    pub period: RepairPeriod,
}

/// Working days allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub enum RepairPeriod {
    /// The same all year.
    Fixed {
        /// Working days.
        days: u32,
    },
    /// By season.
    BySeason {
        /// 1 November to 30 April.
        winter: u32,
        /// 1 May to 31 October.
        summer: u32,
    },
}

/// A span after a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Span {
    /// Real hours.
    Hours(u32),
    /// Working days; the report's day is day 0.
    WorkingDays(u32),
    /// Days.
    Days(u32),
}

/// The four spans of one season.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Targets {
    /// Aim to attend.
    pub attend_target: Option<Span>,
    /// Attend.
    pub attend_by: Option<Span>,
    /// Attend where somebody needs it sooner.
    pub attend_by_vulnerable: Option<Span>,
    /// Aim to finish.
    pub finish_target: Option<Span>,
    /// Finish.
    pub finish_by: Option<Span>,
}

/// The response times of one kind of report.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResponseRule {
    /// Its code.
    pub report: String,
    /// Its words.
    pub words: String,
    /// What the caller is told first.
    #[serde(default)]
    pub say: Option<String>,
    /// The right-to-repair defect it counts as.
    #[serde(default)]
    pub defect: Option<String>,
    /// Where the times come from.
    pub basis: String,
    /// How they are known.
    pub status: String,
    /// Times all year.
    #[serde(default)]
    pub all: Option<Targets>,
    /// Times from 1 November to 30 April.
    #[serde(default)]
    pub winter: Option<Targets>,
    /// Times from 1 May to 31 October.
    #[serde(default)]
    pub summer: Option<Targets>,
}

impl ResponseRule {
    /// The times of the season.
    pub fn targets(&self, winter: bool) -> Targets {
        let season = if winter { self.winter } else { self.summer };
        season.or(self.all).unwrap_or_default()
    }
}
