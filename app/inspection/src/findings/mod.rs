//! What the rules say of readings: levels, codes and a sentence each.
//!
//! A finding supports the judgement of the person on site and never replaces it.
mod at_visit;
mod judge;
mod trend;
mod visit;
mod words;

pub use at_visit::{EarlierVisit, VisitFindings, VisitInput, at_visit, known_at};
pub use judge::{Judged, judge};
pub use trend::{Point, TrendQuery, TrendResult, TrendRule, trend};
pub use visit::{Gap, GapCode, Given, gaps};
pub use words::show_number;

pub use crate::rulebook::Level;

use serde::Serialize;

/// One finding as a sheet shows and keeps it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// How grave.
    pub level: Level,
    /// Its code.
    pub code: String,
    /// The reading it stands beside.
    pub reading: String,
    /// The limit's row, none for gaps and trends.
    pub row: Option<String>,
    /// The limit in words, may be empty.
    pub limit: String,
    /// The finding in one plain sentence.
    pub sentence: String,
    /// How the limit is known.
    pub status: String,
    /// `unit`, or `visit` when only the visit is at fault.
    pub on: String,
}
