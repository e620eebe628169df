//! What stands beside the comparison on the page of an advice: the unit's own facts, and what each course means for the
//! leaseholders.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Months, NaiveDate, Utc};
use store::Tx;
use store::jobs::Which;
use terms::unit::{FailureRecord, Reading, UnitCard};
use terms::{FunctionLost, JobState, Pence, UnitId};

use super::consultation::{Consultation, consultation};
use super::reading::Listed;
use crate::Error;
use crate::founding::{StaysWith, stays};

/// Facts reach back so many months, as in the decision pack.
const MONTHS: u32 = 36;

/// One kind of reading, then and now.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// The reading's code.
    pub code: String,
    /// "Hot water at the tap"
    pub what: String,
    /// "°C"
    pub measured_in: String,
    /// The earliest on record, with its day.
    pub first: (NaiveDate, f64),
    /// The latest.
    pub last: (NaiveDate, f64),
}

/// A failure on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PastFailure {
    /// First day it may have happened.
    pub on: NaiveDate,
    /// Last day, when only a month or year is known.
    pub until: Option<NaiveDate>,
    /// What was lost by it.
    pub lost: Option<FunctionLost>,
    /// The part, in words.
    pub part: Option<String>,
    /// Found at a planned visit, nothing being lost.
    pub found_at_service: bool,
    /// Answered by a job, whose clocks say for how long a home did without; one brought in from a list has none.
    pub timed: bool,
    /// What it cost, VAT in it.
    pub cost: Option<Pence>,
    /// What the part belongs to, where that stays beside what would be fitted: "the network’s supply".
    pub stays: Option<String>,
}

/// The moment of an advice: what came after it is no part of its page, which says the same whenever it is read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    at: DateTime<Utc>,
    day: NaiveDate,
}

impl Moment {
    /// The instant an advice was made, and the day that was to it.
    pub fn new(at: DateTime<Utc>, day: NaiveDate) -> Self {
        Self { at, day }
    }

    /// The first day that counts.
    fn since(self) -> NaiveDate {
        self.day - Months::new(MONTHS)
    }
}

/// A unit's own facts, but for the last as they were known when the advice was made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct UnitFacts {
    /// Its failures of 36 months, the latest first; visits that found nothing wrong are none.
    pub failures: Vec<PastFailure>,
    /// Days without heat or hot water in 36 months by its jobs: how many days, and over how many jobs.
    pub without: (i64, usize),
    /// How one of its readings went.
    pub trend: Option<Trend>,
    /// Unsafe situations not cleared by today: nobody may read that one is open, or none, when it is not so.
    pub unsafe_open: usize,
    /// What of its kind stays beside what would be fitted, each thing once: "the network’s supply".
    pub stays: Vec<String>,
}

impl UnitFacts {
    /// Its failures of 36 months, and what was paid for them.
    pub(super) fn lately(&self) -> (u32, Pence) {
        let paid = self.failures.iter().filter_map(|f| f.cost);
        (
            self.failures.len() as u32,
            Pence(paid.map(|cost| cost.0).sum()),
        )
    }
}

/// The facts of a unit beside an option that would be fitted in its place.
pub(super) fn unit_facts(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    then: Moment,
    option: Option<&str>,
) -> Result<UnitFacts, Error> {
    let mut staying = stays(then.day)?;
    staying.retain(|row| {
        row.kind == unit.kind && option.is_some_and(|o| row.with.iter().any(|with| with == o))
    });
    // Each once, in the order of the list: rows of one thing need not stand beside each other.
    let mut things: Vec<String> = Vec::new();
    for row in &staying {
        if !things.contains(&row.what) {
            things.push(row.what.clone());
        }
    }
    Ok(UnitFacts {
        failures: failures(tx, unit, then, &staying)?,
        stays: things,
        without: without(tx, unit.id, then)?,
        trend: trend(
            &tx.readings_of(unit.id)?
                .into_iter()
                .map(|(_, reading)| reading)
                .filter(|reading| reading.taken_at <= then.at)
                .collect::<Vec<_>>(),
            &crate::register::reading_names(&unit.kind)?,
        ),
        unsafe_open: tx.open_notices(Some(unit.id))?.len(),
    })
}

fn failures(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    then: Moment,
    staying: &[StaysWith],
) -> Result<Vec<PastFailure>, Error> {
    let history = tx.histories(&[unit.id], then.at)?.remove(&unit.id);
    let mut records: Vec<FailureRecord> = history.map(|h| h.failures).unwrap_or_default();
    records.retain(|f| !f.no_fault_found && (then.since()..=then.day).contains(&f.happened_on));
    records.sort_by_key(|f| std::cmp::Reverse(f.happened_on));
    let shares = tx.part_shares()?;
    let named = |code: String| {
        let share = shares
            .iter()
            .find(|s| s.kind == unit.kind && s.code == code);
        share.map_or_else(|| code.replace('_', " "), |s| s.name.clone())
    };
    let stays = |part: Option<&String>| {
        let row = staying.iter().find(|row| Some(&row.part) == part)?;
        Some(row.what.clone())
    };
    Ok(records
        .into_iter()
        .map(|f| PastFailure {
            stays: stays(f.part.as_ref()),
            on: f.happened_on,
            until: f.happened_until,
            lost: f.function_lost.and_then(|code| code.parse().ok()),
            part: f.part.map(named),
            found_at_service: f.found_at_service,
            timed: f.job.is_some(),
            cost: f.cost,
        })
        .collect())
}

/// From opening to closing of every job by which a home did without heat or hot water, each at least a day; one still open
/// then counts to the day of the advice. Jobs that overlap count their days once.
fn without(tx: &mut Tx<'_>, unit: UnitId, then: Moment) -> Result<(i64, usize), Error> {
    let since = then.since();
    let mut days: BTreeSet<NaiveDate> = BTreeSet::new();
    let mut jobs = 0;
    for job in tx.jobs(&Which::Unit(unit))? {
        let open = !job.state.is_closed() && job.state != JobState::Done;
        let ended = match job.closed_at {
            None if open => None,
            None => Some(job.state_at),
            closed => closed,
        };
        let end = ended
            .filter(|at| *at <= then.at)
            .map_or(then.day, |at| at.date_naive());
        let cold = job.function_lost.is_some_and(FunctionLost::takes_heat);
        if !cold || job.opened_at > then.at || end < since {
            continue;
        }
        jobs += 1;
        let begun = job.opened_at.date_naive().max(since);
        let last = if end > begun {
            end.pred_opt().unwrap_or(end)
        } else {
            begun
        };
        days.extend(begun.iter_days().take_while(|day| *day <= last));
    }
    Ok((days.len() as i64, jobs))
}

/// Of the readings taken on two days or more, hot water first, else the one taken most often.
fn trend(readings: &[Reading], names: &BTreeMap<String, String>) -> Option<Trend> {
    let mut taken: BTreeMap<&str, Vec<(NaiveDate, f64, &Reading)>> = BTreeMap::new();
    for reading in readings {
        if let Some(value) = reading.value {
            let day = reading.taken_at.date_naive();
            taken
                .entry(&reading.code)
                .or_default()
                .push((day, value, reading));
        }
    }
    let several = taken.into_iter().filter_map(|(code, mut list)| {
        list.sort_by_key(|(_, _, reading)| reading.taken_at);
        let (first, last) = (list.first()?, list.last()?);
        (first.0 < last.0).then(|| {
            let trend = Trend {
                code: code.to_owned(),
                what: names
                    .get(code)
                    .cloned()
                    .unwrap_or_else(|| code.replace('_', " ")),
                measured_in: last.2.measured_in.clone(),
                first: (first.0, first.1),
                last: (last.0, last.1),
            };
            ((code == "hot_c", list.len()), trend)
        })
    });
    several
        .max_by_key(|(rank, _)| *rank)
        .map(|(_, trend)| trend)
}

/// What replacing with each option compared would put on the leaseholders, by its code.
pub(super) fn shares(
    tx: &mut Tx<'_>,
    listed: &Listed,
) -> Result<BTreeMap<String, Consultation>, Error> {
    let mut found = BTreeMap::new();
    for option in listed.answer.options.iter().filter(|o| o.compared) {
        let Some(price) = option.price else { continue };
        if let Some(test) = consultation(tx, listed.unit.building, price)? {
            found.insert(option.code.clone(), test);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(code: &str, day: &str, value: f64) -> Reading {
        Reading {
            unit: UnitId(uuid::Uuid::nil()),
            code: code.to_owned(),
            value: Some(value),
            words: String::new(),
            measured_in: "°C".to_owned(),
            place: String::new(),
            conditions: String::new(),
            stage: String::new(),
            instrument: String::new(),
            calibrated_until: None,
            taken_at: format!("{day}T10:00:00Z").parse().unwrap(),
        }
    }

    #[test]
    fn a_trend_needs_two_days_and_hot_water_comes_first() {
        let names = BTreeMap::from([("hot_c".to_owned(), "Hot water".to_owned())]);
        let once = [reading("hot_c", "2026-03-02", 42.0)];
        assert_eq!(trend(&once, &names), None);
        let several = [
            reading("hot_c", "2026-11-20", 36.0),
            reading("flow", "2024-01-05", 9.0),
            reading("flow", "2025-01-05", 8.0),
            reading("flow", "2026-01-05", 7.0),
            reading("hot_c", "2026-03-02", 42.0),
        ];
        let found = trend(&several, &names).unwrap();
        assert_eq!(
            (found.code.as_str(), found.what.as_str()),
            ("hot_c", "Hot water")
        );
        assert_eq!((found.first.1, found.last.1), (42.0, 36.0));
    }
}
