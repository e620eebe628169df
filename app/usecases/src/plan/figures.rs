//! What a programme comes to: money, failures, homes without heat, the charge on a flat.
use std::collections::BTreeMap;

use planning::Programme;
use planning::programme::{ProgrammeUnit, YearLine};
use serde::{Deserialize, Serialize};
use terms::{Pence, UnitId};

use super::asking::Gathered;
use crate::advice::Candidate;

/// Months of heating in the twelve: October to April. Common practice, no source.
const COLD_MONTHS: f64 = 7.0;

/// What a programme comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Expected, discounted cost, pence, relative to an endless chain of new units: only differences say anything.
    pub cost: Pence,
    /// Spent on replacements and setting up in all years.
    pub spent: Pence,
    /// Least the purse holds at any year's end.
    pub lowest: Pence,
    /// Failures expected in all years.
    pub failures: f64,
    /// Homes expected to lose their heating in one heating season by failures, on average over the years: those of a plant count
    /// where what is left of it does not suffice.
    pub cold_homes: f64,
    /// Home-hours of disruption by the replacements of the year that has most of them.
    #[serde(default)]
    pub most_hours: u32,
    /// The same of all years.
    #[serde(default)]
    pub home_hours: u32,
    /// Replacements and what is set aside, by flat and month.
    pub per_flat_month: Pence,
    /// Replacements.
    pub replaced: u32,
}

/// The calendar year of each unit that has one.
pub(super) fn years_of(programme: &Programme) -> BTreeMap<UnitId, i32> {
    programme
        .years
        .iter()
        .flat_map(|line| line.replacements.iter().map(|r| (r.unit, line.year)))
        .collect()
}

/// Failures of a course in a year of it; past its end it goes on as its last year.
pub(super) fn in_year(course: &[f64], year: usize) -> f64 {
    course.get(year).or(course.last()).copied().unwrap_or(0.0)
}

/// Expected failures of a unit in a programme that replaces it in a year (place) with an option, or never.
fn failures_of(unit: &Candidate, done: Option<(usize, &str)>, years: usize) -> f64 {
    let year = done.map(|(year, _)| year);
    let with = done.and_then(|(_, code)| unit.options.iter().find(|o| o.code == code));
    let new = with.map_or(&unit.faults_new, |option| &option.faults_new);
    (0..years)
        .map(|t| match year {
            Some(replaced) if t >= replaced => in_year(new, t - replaced),
            _ => in_year(&unit.faults_old, t),
        })
        .sum()
}

/// Home-hours of disruption by the replacements of a year.
fn hours_of(units: &BTreeMap<UnitId, &ProgrammeUnit>, line: &YearLine) -> u32 {
    let hours = line.replacements.iter().filter_map(|done| {
        let unit = units.get(&done.unit)?;
        let choices = unit.choices().into_iter();
        let mut same = choices.filter(|c| c.option == done.option && c.cash == done.cash);
        same.next().map(|c| c.home_hours)
    });
    hours.sum()
}

/// The figures of a programme of what was gathered.
pub(super) fn figures(gathered: &Gathered, programme: &Programme, cost: Pence) -> Figures {
    let years = programme.years.len();
    let first = gathered.asked.input.first_year;
    let mut done: BTreeMap<UnitId, (usize, &str)> = BTreeMap::new();
    for line in &programme.years {
        let place = usize::try_from(line.year - first).unwrap_or(0);
        let here = line.replacements.iter();
        done.extend(here.map(|r| (r.unit, (place, r.option.as_str()))));
    }
    let (mut failures, mut cold) = (0.0, 0.0);
    for unit in gathered.units.values() {
        let here = failures_of(unit, done.get(&unit.unit).copied(), years);
        failures += here;
        cold += here * f64::from(gathered.fed.homes(unit));
    }
    let paid = |line: &YearLine| line.spent.0 + line.set_up.0;
    let spent: i64 = programme.years.iter().map(paid).sum();
    let aside: i64 = programme.years.iter().map(|l| l.set_aside.0).sum();
    let months = years as i64 * 12 * i64::from(gathered.flats);
    let units = gathered.asked.input.units.iter();
    let units: BTreeMap<UnitId, &ProgrammeUnit> = units.map(|u| (u.unit, u)).collect();
    let lines = programme.years.iter();
    let hours: Vec<u32> = lines.map(|line| hours_of(&units, line)).collect();
    let lowest = programme.years.iter().map(|l| l.reserve.0).min();
    Figures {
        cost,
        spent: Pence(spent),
        lowest: Pence(lowest.unwrap_or(0)),
        failures,
        cold_homes: cold * COLD_MONTHS / 12.0 / years.max(1) as f64,
        per_flat_month: Pence((spent + aside) / months.max(1)),
        replaced: done.len() as u32,
        most_hours: hours.iter().copied().max().unwrap_or(0),
        home_hours: hours.iter().sum(),
    }
}
