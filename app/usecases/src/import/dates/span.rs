//! A date with its doubt: the days it may have been.
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::import::problem::Code;

/// No unit and no record is older.
const FIRST_YEAR: i32 = 1900;

/// How sure a date is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// The day is known.
    Known,
    /// The month is.
    Month,
    /// The year is.
    Year,
    /// Some time between two days that were given.
    Between,
    /// "2009?": a year either side is allowed for.
    Doubtful,
    /// "about 2012": two years either side are allowed for.
    About,
}

/// A date with its doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Span {
    /// First day it may have been.
    pub from: NaiveDate,
    /// Last day it may have been.
    pub until: NaiveDate,
    /// How sure it is.
    pub doubt: Doubt,
}

impl Span {
    /// One day.
    pub(super) fn day(year: i32, month: u32, day: u32) -> Result<Self, Code> {
        let on =
            NaiveDate::from_ymd_opt(in_reach(year)?, month, day).ok_or(Code::DateImpossible)?;
        Ok(Self {
            from: on,
            until: on,
            doubt: Doubt::Known,
        })
    }

    /// From the start of one month to the end of another, both of one year.
    pub(super) fn months(year: i32, first: u32, last: u32, doubt: Doubt) -> Result<Self, Code> {
        let from =
            NaiveDate::from_ymd_opt(in_reach(year)?, first, 1).ok_or(Code::DateImpossible)?;
        let after = if last == 12 {
            NaiveDate::from_ymd_opt(year + 1, 1, 1)
        } else {
            NaiveDate::from_ymd_opt(year, last + 1, 1)
        };
        let until = after
            .and_then(|d| d.pred_opt())
            .ok_or(Code::DateImpossible)?;
        Ok(Self { from, until, doubt })
    }

    /// A month.
    pub(super) fn month(year: i32, month: u32) -> Result<Self, Code> {
        Self::months(year, month, month, Doubt::Month)
    }

    /// A year.
    pub(super) fn year(year: i32) -> Result<Self, Code> {
        Self::months(year, 1, 12, Doubt::Year)
    }

    /// So many years more at either end.
    pub(super) fn widened(self, years: i32, doubt: Doubt) -> Self {
        let moved = |day: NaiveDate, by: i32| day.with_year(day.year() + by).unwrap_or(day);
        Self {
            from: moved(self.from, -years),
            until: moved(self.until, years),
            doubt,
        }
    }
}

fn in_reach(year: i32) -> Result<i32, Code> {
    if (FIRST_YEAR..=2199).contains(&year) {
        Ok(year)
    } else {
        Err(Code::DateImpossible)
    }
}
