//! What is looked at before any money is agreed: a warranty, a notice of its maker, the same again within 30 days, the same part within two
//! years; and what a warranty's own date is worth.
use std::collections::BTreeMap;

use chrono::{Days, Months, NaiveDate};
use costing::cover::cover_left;
use store::Tx;
use store::history::History;
use store::jobs::{Job, Which};
use terms::unit::UnitCard;
use terms::{ExpectedPounds, Fate, FunctionLost, JobId, JobState, UnitId};

use super::book::Book;
use super::case::{Subject, weighable};
use crate::Error;

/// The same function lost again within so many days is the same job, free under most contracts (common practice, no
/// source).
const REPEAT_DAYS: u64 = 30;
/// The same part again within so many months asks for an explanation (common practice, no source).
const SAME_PART_MONTHS: u32 = 24;
/// A year in days, as everywhere.
const YEAR: f64 = 365.25;

/// Something that speaks against paying as asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Before {
    /// The unit is in warranty.
    InWarranty {
        /// Its last day.
        until: NaiveDate,
    },
    /// Its maker calls it back, or asks to have something put right, and nobody has settled that for it.
    Recalled {
        /// What the notice calls itself.
        title: String,
        /// The day of the notice.
        on: NaiveDate,
        /// What would settle whether the unit is meant; empty: it is.
        unsure: Vec<&'static str>,
    },
    /// The same function was put right within 30 days.
    Repeat {
        /// The earlier job's number.
        number: String,
        /// The day it was closed.
        closed_on: NaiveDate,
    },
    /// The same part failed or was fitted within 24 months.
    SamePart {
        /// The part's code.
        part: String,
        /// The day.
        on: NaiveDate,
    },
}

impl Before {
    /// In a few words, beginning a sentence, for a field's error.
    pub(crate) fn in_short(&self) -> String {
        let day = |on: &NaiveDate| on.format("%-d %B %Y").to_string();
        match self {
            Self::InWarranty { until } => format!("It is in warranty until {}", day(until)),
            Self::Recalled { title, on, unsure } => format!(
                "A notice of its maker of {} {} it: “{title}”",
                day(on),
                if unsure.is_empty() {
                    "means"
                } else {
                    "may mean"
                }
            ),
            Self::Repeat { number, closed_on } => format!(
                "The same was put right on {} ({number}), within 30 days",
                day(closed_on)
            ),
            Self::SamePart { on, .. } => format!(
                "The same part was dealt with on {}, within two years",
                day(on)
            ),
        }
    }
}

/// A date that a warranty hangs on.
#[derive(Clone, Debug, PartialEq)]
pub struct AtRisk {
    /// The duty that has to be done by then: its name.
    pub duty: String,
    /// The day.
    pub by: NaiveDate,
    /// The last day of the warranty.
    pub until: NaiveDate,
    /// What the cover after that day is worth.
    pub worth: ExpectedPounds,
}

/// What speaks against paying for `part` of `unit`, upon `job`.
pub(crate) fn before_money(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    job: Option<JobId>,
    part: Option<&str>,
) -> Result<Vec<Before>, Error> {
    let today = tx.today();
    let job = job.map(|id| tx.job(id)).transpose()?;
    let asked_on = job.as_ref().map_or(today, |j| j.opened_at.date_naive());
    let mut found = Vec::new();
    found.extend(
        unit.warranty_until
            .filter(|until| *until >= asked_on)
            .map(|until| Before::InWarranty { until }),
    );
    let open = crate::recalls::open_on(tx, unit)?;
    found.extend(open.into_iter().map(|open| Before::Recalled {
        title: open.recall.title,
        on: open.recall.on,
        unsure: open.unsure,
    }));
    let jobs = tx.jobs(&Which::Unit(unit.id))?;
    if let Some(job) = &job {
        found.extend(repeat_of(job, &jobs, asked_on));
    }
    let history = tx.history(unit.id)?;
    let own = job.as_ref().map(|j| j.id);
    if let Some(part) = part {
        found.extend(same_part(&history, own, part, asked_on));
    }
    Ok(found)
}

fn repeat_of(job: &Job, jobs: &[Job], asked_on: NaiveDate) -> Option<Before> {
    let lost: FunctionLost = job.function_lost?;
    let oldest = asked_on.checked_sub_days(Days::new(REPEAT_DAYS))?;
    jobs.iter()
        .filter(|j| j.id != job.id && j.function_lost == Some(lost))
        .filter(|j| matches!(j.state, JobState::Done | JobState::Agreed))
        .filter_map(|j| Some((j, j.closed_at?.date_naive())))
        .filter(|(_, on)| *on >= oldest && *on <= asked_on)
        .max_by_key(|(_, on)| *on)
        .map(|(j, on)| Before::Repeat {
            number: j.number.clone(),
            closed_on: on,
        })
}

fn same_part(
    history: &History,
    own: Option<JobId>,
    part: &str,
    asked_on: NaiveDate,
) -> Option<Before> {
    let oldest = asked_on.checked_sub_months(Months::new(SAME_PART_MONTHS))?;
    let fitted = history
        .parts
        .iter()
        .filter(|p| p.part == part && (own.is_none() || p.job != own))
        .map(|p| p.fitted_on);
    let failed = history
        .failures
        .iter()
        .filter(|f| f.part.as_deref() == Some(part) && (own.is_none() || f.job != own))
        .map(|f| f.happened_on);
    fitted
        .chain(failed)
        .filter(|on| *on >= oldest && *on <= asked_on)
        .max()
        .map(|on| Before::SamePart {
            part: part.to_owned(),
            on,
        })
}

/// The next duty of its maker that a unit's warranty hangs on, and what the cover after its deadline is worth. `None` out of
/// warranty, or where no such duty runs.
pub(crate) fn cover_at_risk(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<Option<AtRisk>, Error> {
    let found = covers_at_risk(tx, std::slice::from_ref(unit), NaiveDate::MAX)?;
    Ok(found.into_iter().next().map(|(_, risk)| risk))
}

/// The same for several units, those whose day comes by `last`, the nearest first.
pub(crate) fn covers_at_risk<'a>(
    tx: &mut Tx<'_>,
    units: &'a [UnitCard],
    last: NaiveDate,
) -> Result<Vec<(&'a UnitCard, AtRisk)>, Error> {
    let today = tx.today();
    let covered: Vec<(&UnitCard, NaiveDate)> = units
        .iter()
        .filter(|unit| unit.fate == Fate::InService)
        .filter_map(|unit| Some((unit, unit.warranty_until.filter(|day| *day > today)?)))
        .collect();
    if covered.is_empty() {
        return Ok(Vec::new());
    }
    let rules: BTreeMap<String, String> = tx
        .duty_rules()?
        .into_iter()
        .filter(|rule| rule.basis == "maker")
        .map(|rule| (rule.code, rule.name))
        .collect();
    let deadlines = tx.running_deadlines()?;
    let mut found = Vec::new();
    for (unit, until) in covered {
        let next = deadlines
            .iter()
            .filter(|d| d.unit == Some(unit.id) && d.deadline >= today)
            .filter(|d| d.deadline < until && d.deadline <= last)
            .find_map(|d| Some((d.deadline, rules.get(&d.rule)?)));
        let Some((by, duty)) = next else {
            continue;
        };
        let risk = AtRisk {
            worth: worth_between(tx, unit.id, (by, until))?,
            duty: duty.clone(),
            by,
            until,
        };
        found.push((unit, risk));
    }
    found.sort_by_key(|(_, risk)| risk.by);
    Ok(found)
}

/// What cover between two days is worth: failures expected in it at the price of a repair of the kind.
fn worth_between(
    tx: &mut Tx<'_>,
    unit: UnitId,
    (from, until): (NaiveDate, NaiveDate),
) -> Result<ExpectedPounds, Error> {
    let (book, card, today) = (Book::load(tx)?, tx.unit(unit)?, tx.today());
    let told = tx.told_failures(Some(unit))?.pop();
    let history = tx.history(unit)?;
    let subject = Subject {
        card: &card,
        options: Vec::new(),
        told: told.as_ref(),
        failures: &history.failures,
        fitted: &history.parts,
        quote: None,
        today,
        age: None,
    };
    let weighable = weighable(&book, &subject)?;
    let case = weighable.case;
    let costing::Yearly::Each(all) = &case.old.faults else {
        return Ok(ExpectedPounds(0.0));
    };
    // A warranty pays for the unit's own parts, not for what would stay beside the next one.
    let stays = weighable.staying.beside_all(&[card.kind.as_str()]);
    let share = |i: usize| stays.get(i).copied().unwrap_or(0.0);
    let own = all.iter().enumerate().map(|(i, m)| m * (1.0 - share(i)));
    let faults: Vec<f64> = own.collect();
    let cost = case.old.fault_cost;
    let paid = cost.mean() - cost.disruption;
    let years = |day: NaiveDate| (day - today).num_days() as f64 / YEAR;
    let to = |day: NaiveDate| cover_left(&faults, years(day), paid, 0.0);
    Ok(ExpectedPounds(to(until) - to(from)))
}
