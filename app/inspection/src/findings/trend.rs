//! Trend rules over one reading of several visits. Common practice, no source.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::calendar::days_between;
use crate::coded::coded;
use crate::expr::round6;
use crate::rulebook::{Level, LimitKind};

coded! {
    /// The four trend rules.
    TrendRule {
        /// Crossed the limit since the last visit.
        Crossed = "i",
        /// Three visits moving the same way, by more than 15 % together.
        Drift = "ii",
        /// A step of more than 20 % with no work recorded.
        Step = "iii",
        /// The limit will be crossed before the next visit.
        Projected = "iv",
    }
}

/// A value on a day.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// The day.
    pub on: NaiveDate,
    /// The value, in the reading's unit.
    pub value: f64,
}

/// What the trend is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct TrendQuery<'a> {
    /// Values, oldest first.
    pub series: &'a [Point],
    /// Which side of the limit is good; on the limit is good.
    pub kind: LimitKind,
    /// The limit.
    pub limit: f64,
    /// The next due visit, if known.
    pub next_due: Option<NaiveDate>,
    /// Work was recorded since the last value but one.
    pub work_recorded_since_last: bool,
}

/// What the trend says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrendResult {
    /// The rules that fired, in order.
    pub fired: Vec<TrendRule>,
    /// The value to expect at the next due visit, if it can be said.
    pub projected: Option<f64>,
    /// Watch if any fired.
    pub level: Level,
    /// "Do it at this visit": the projection crosses the limit.
    pub do_at_this_visit: bool,
}

impl TrendQuery<'_> {
    fn good(&self, value: f64) -> bool {
        match self.kind {
            LimitKind::Min => round6(value) >= round6(self.limit),
            LimitKind::Max => round6(value) <= round6(self.limit),
        }
    }

    fn crossed(&self) -> bool {
        matches!(self.series, [.., before, last] if self.good(before.value) && !self.good(last.value))
    }

    fn drift(&self) -> bool {
        let [.., one, two, three] = self.series else {
            return false;
        };
        let (one, two, three) = (round6(one.value), round6(two.value), round6(three.value));
        let same_way = (one < two && two < three) || (one > two && two > three);
        same_way && one != 0.0 && round6((three - one).abs() / one.abs()) > 0.15
    }

    fn step(&self) -> bool {
        let [.., before, last] = self.series else {
            return false;
        };
        !self.work_recorded_since_last
            && before.value != 0.0
            && round6((last.value - before.value).abs() / before.value.abs()) > 0.20
    }

    /// Last value plus its change a day since a base at least 300 days older.
    fn projection(&self) -> Option<f64> {
        let (last, earlier) = self.series.split_last()?;
        let next_due = self.next_due?;
        let base = earlier
            .iter()
            .rev()
            .find(|p| days_between(p.on, last.on) >= 300)?;
        let days = days_between(base.on, last.on) as f64;
        let ahead = days_between(last.on, next_due) as f64;
        Some(last.value + (last.value - base.value) / days * ahead).filter(|p| p.is_finite())
    }
}

/// Applies the four rules to a series. Values that are not finite make every rule silent.
pub fn trend(query: &TrendQuery<'_>) -> TrendResult {
    let finite = query.series.iter().all(|p| p.value.is_finite()) && query.limit.is_finite();
    let projected = if finite { query.projection() } else { None };
    let last_good = query.series.last().is_some_and(|p| query.good(p.value));
    let ahead = last_good && projected.is_some_and(|value| !query.good(value));
    let rules = [
        (finite && query.crossed(), TrendRule::Crossed),
        (finite && query.drift(), TrendRule::Drift),
        (finite && query.step(), TrendRule::Step),
        (ahead, TrendRule::Projected),
    ];
    let fired: Vec<TrendRule> = rules.iter().filter(|r| r.0).map(|r| r.1).collect();
    TrendResult {
        level: if fired.is_empty() {
            Level::Pass
        } else {
            Level::Watch
        },
        fired,
        projected,
        do_at_this_visit: ahead,
    }
}
