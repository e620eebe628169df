//! Cover for nights and days off: which of them nobody comes in.
use std::collections::BTreeSet;

use chrono::{Datelike, Days, NaiveDate, Weekday};
use serde::{Deserialize, Serialize};

/// Who comes when, from a day to a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cover {
    /// Every night.
    pub nights: bool,
    /// From the evening before days off to the morning after them.
    pub weekends: bool,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day; `None`: until further notice.
    pub until_on: Option<NaiveDate>,
}

/// A night or a day off that nobody covers. A night belongs to the day it begins on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gap {
    /// The day.
    pub on: NaiveDate,
    /// The night that begins on it, rather than its daytime.
    pub night: bool,
}

/// Whether a day is off: a Saturday, a Sunday or a bank holiday.
pub fn is_off(day: NaiveDate, holidays: &BTreeSet<NaiveDate>) -> bool {
    matches!(day.weekday(), Weekday::Sat | Weekday::Sun) || holidays.contains(&day)
}

/// The nights of `count` days from `first`, and the daytime of those that are off, that none of `covers` holds. Cover
/// by weekends holds the daytime of a day off, its night, and the night before it; cover by nights holds every night.
/// Common practice, no source.
pub fn gaps(
    covers: &[Cover],
    (first, count): (NaiveDate, u64),
    holidays: &BTreeSet<NaiveDate>,
) -> Vec<Gap> {
    let mut found = Vec::new();
    for day in (0..count).filter_map(|n| first.checked_add_days(Days::new(n))) {
        let in_force = |c: &&Cover| c.from_on <= day && c.until_on.is_none_or(|last| day <= last);
        let off = is_off(day, holidays);
        let before_off = day.succ_opt().is_some_and(|next| is_off(next, holidays));
        let daytime = covers.iter().filter(in_force).any(|c| c.weekends);
        let night = covers
            .iter()
            .filter(in_force)
            .any(|c| c.nights || (c.weekends && (off || before_off)));
        if off && !daytime {
            found.push(Gap {
                on: day,
                night: false,
            });
        }
        if !night {
            found.push(Gap {
                on: day,
                night: true,
            });
        }
    }
    found
}
