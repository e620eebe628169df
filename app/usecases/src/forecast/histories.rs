//! From what is on record of a unit to its history as the model reads it.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};
use dependability::recording;
use dependability::{
    CovariatePrior, Failure, InputError, Installed, MergedReports, Renewal, Report, UnitHistory,
    Window, merge_repeat_visits,
};
use serde::{Deserialize, Serialize};
use store::history::History;
use terms::Fate;
use terms::unit::{FailureRecord, UnitCard};

use super::alike::{Alike, along};
use super::lapse;
use super::priors::{
    FAMILY, MakeUp, OPEN_SYSTEM, PEOPLE, SERVICE_LAPSED, beyond_two, open, place_of,
};
use super::season::axis;

/// Where a unit's installation date comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InstalledFrom {
    /// Nothing on record, and the building's year is unknown or too long ago: within twice the kind's usual life
    /// before the register opened (judgement).
    Assumed,
    /// Nothing on record but the building's year.
    BuiltYear,
    /// A range on record.
    Range,
    /// A day on record.
    Stated,
}

/// What a forecast rests on beside the numbers: kept with it, and shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Basis {
    /// First day it may have been fitted, as used.
    pub installed_from: NaiveDate,
    /// Last day it may have been fitted, as used.
    pub installed_until: NaiveDate,
    /// Where those days come from.
    pub installed_by: InstalledFrom,
    /// From this day on failures would be on record.
    pub watched_from: NaiveDate,
    /// The failures counted, oldest first.
    pub failures: Vec<NaiveDate>,
    /// Failures outside the times in which they were written down: known, not counted.
    pub before_watch: u32,
    /// Repeat visits merged into these failures.
    pub merged: u32,
    /// Found at a planned service: kept, not counted as calls.
    pub found_at_service: u32,
    /// Calls where nothing was found wrong: kept, not counted.
    pub no_fault_found: u32,
    /// Parts put in new, latest fitting of each.
    pub renewed: Vec<(String, NaiveDate)>,
    /// First and last days of the times in which failures would be on record, the earliest first; empty in a forecast made
    /// before they could be stated.
    #[serde(default)]
    pub watched: Vec<(NaiveDate, NaiveDate)>,
}

/// A unit ready for the model.
#[derive(Clone, Debug)]
pub(crate) struct Ready {
    pub history: UnitHistory,
    pub basis: Basis,
}

/// The facts of one unit, in one place: what its digest covers.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Facts {
    pub card: UnitCard,
    pub built_year: Option<i32>,
    pub usual_life: f64,
    /// The times in which failures were written down, where they are stated, the earliest first: first day, and last day
    /// unless they are kept still. Empty: from the day on that the unit is watched from.
    pub kept: Vec<(NaiveDate, Option<NaiveDate>)>,
    /// Days on which a duty of service was met.
    pub met: Vec<NaiveDate>,
    /// What it is alike with others in.
    pub alike: Alike,
    #[serde(skip)]
    pub record: History,
}

impl Facts {
    /// SHA-256 of what the forecast reads of them.
    pub fn digest(&self) -> String {
        let failures: Vec<_> = self
            .record
            .failures
            .iter()
            .map(|f| {
                let flags = (f.found_at_service, f.no_fault_found);
                let links = (&f.job, &f.same_as);
                let what = (&f.part, &f.function_lost);
                (&f.id, f.happened_on, f.happened_until, what, flags, links)
            })
            .collect();
        let parts: Vec<_> = self
            .record
            .parts
            .iter()
            .map(|p| (&p.part, p.fitted_on))
            .collect();
        let c = &self.card;
        let card = (
            (&c.kind, c.installed, c.watched_from, c.fate, c.fate_on),
            (c.filter_fitted, c.reducer_fitted, c.hardness_mg_l),
            (self.built_year, self.usual_life),
        );
        super::digest(&(
            card,
            failures,
            parts,
            &self.kept,
            self.serviced(),
            &self.alike,
        ))
    }

    /// The history up to `today`, or to the unit's end, with what a fit asks, in its order.
    ///
    /// # Errors
    /// What on record cannot be, in words.
    pub fn ready(&self, today: NaiveDate, asked: &[CovariatePrior]) -> Result<Ready, InputError> {
        let card = &self.card;
        let (from, until, by) = self.installed();
        let end = card.fate_on.unwrap_or(today).min(today);
        let watched = self.watched(from, end);
        let opened = watched
            .first()
            .map_or_else(|| card.watched_from.max(from), |w| w.0);
        let x = MakeUp::of(card, &self.alike).in_order(asked);
        let windows = watched.iter().map(|(from, until)| Window {
            from: axis(*from),
            until: axis(*until),
            x: x.clone(),
        });
        let told = told(&self.record.failures);
        let history = UnitHistory {
            installed: Installed {
                earliest: axis(from),
                latest: axis(until),
            },
            windows: windows.collect(),
            renewals: self
                .record
                .parts
                .iter()
                .map(|p| Renewal {
                    part: p.part.clone(),
                    at: axis(p.fitted_on),
                })
                .collect(),
            failures: told.failures.iter().map(|(f, _)| f.clone()).collect(),
            present: x,
            merged: told.merged,
            written_off: card.fate == Fate::WrittenOff
                && card.fate_on.is_some_and(|on| on <= today),
        };
        let history = self.over_time(history, today, asked);
        history.check(history.present.len())?;
        let inside = |day: &NaiveDate| watched.iter().any(|w| w.0 <= *day && *day <= w.1);
        let days: Vec<NaiveDate> = told.failures.iter().map(|(_, day)| *day).collect();
        let basis = Basis {
            installed_from: from,
            installed_until: until,
            installed_by: by,
            watched_from: opened,
            before_watch: days.iter().filter(|d| !inside(d) && **d <= end).count() as u32,
            failures: days.into_iter().filter(inside).collect(),
            merged: told.merged,
            found_at_service: told.found_at_service,
            no_fault_found: told.no_fault_found,
            renewed: self.renewed(),
            watched,
        };
        Ok(Ready { history, basis })
    }

    /// The word of the family it is of now.
    pub fn family(&self) -> Option<String> {
        super::alike::now(&self.alike.family)
    }

    /// The history with its windows cut where a covariate that changes over time does.
    fn over_time(
        &self,
        mut history: UnitHistory,
        today: NaiveDate,
        asked: &[CovariatePrior],
    ) -> UnitHistory {
        let alike = &self.alike;
        if let Some(place) = place_of(asked, OPEN_SYSTEM) {
            history = along(&history, (&alike.system, today), place, |s| open(*s));
        }
        if let Some(place) = place_of(asked, PEOPLE) {
            history = along(&history, (&alike.people, today), place, |n| beyond_two(*n));
        }
        for (place, covariate) in asked.iter().enumerate() {
            if let Some(name) = covariate.code.strip_prefix(FAMILY) {
                history = along(&history, (&alike.family, today), place, |own: &String| {
                    f64::from(u8::from(own == name))
                });
            }
        }
        if let Some(place) = place_of(asked, SERVICE_LAPSED) {
            let lapses = lapse::lapses(&self.serviced(), today);
            history = lapse::in_lapse(&history, &lapses, place);
        }
        match place_of(asked, recording::YEAR) {
            Some(place) => recording::by_year(&history, axis(today), place),
            None => history,
        }
    }

    /// First and last days of the times in which failures of the unit would be on record, between its installation and its
    /// end; as stated, else from the day on that it is watched from.
    fn watched(&self, installed: NaiveDate, end: NaiveDate) -> Vec<(NaiveDate, NaiveDate)> {
        let until_now = [(self.card.watched_from, None)];
        let stated = if self.kept.is_empty() {
            &until_now[..]
        } else {
            self.kept.as_slice()
        };
        let cut = stated.iter().map(|(from, until)| {
            let last = until.map_or(end, |day| day.min(end));
            ((*from).max(installed), last)
        });
        cut.filter(|(from, until)| from < until).collect()
    }

    /// The days of its services, by the work on record and by the duties met, the earliest first.
    fn serviced(&self) -> Vec<NaiveDate> {
        let services = self.record.services.iter();
        let work = services.filter(|s| s.what == lapse::SERVICE);
        let days = work.map(|s| s.happened_on).chain(self.met.iter().copied());
        days.collect::<BTreeSet<NaiveDate>>().into_iter().collect()
    }

    fn renewed(&self) -> Vec<(String, NaiveDate)> {
        let mut latest: BTreeMap<&str, NaiveDate> = BTreeMap::new();
        for part in &self.record.parts {
            let day = latest.entry(&part.part).or_insert(part.fitted_on);
            *day = (*day).max(part.fitted_on);
        }
        latest
            .into_iter()
            .map(|(code, day)| (code.to_owned(), day))
            .collect()
    }

    /// First and last day the unit may have been fitted. Nothing on record: from the building's year, though not
    /// further back than twice the kind's usual life, to the first day anything is known of it.
    fn installed(&self) -> (NaiveDate, NaiveDate, InstalledFrom) {
        let card = &self.card;
        if let Some((from, until)) = card.installed {
            let by = if from == until {
                InstalledFrom::Stated
            } else {
                InstalledFrom::Range
            };
            return (from, until, by);
        }
        let first_known = self
            .record
            .failures
            .iter()
            .map(|f| f.happened_on)
            .chain(self.record.parts.iter().map(|p| p.fitted_on))
            .chain(card.placed_from)
            .chain(self.kept.first().map(|w| w.0))
            .fold(card.watched_from, NaiveDate::min);
        possible_span(first_known, self.built_year, self.usual_life)
    }
}

/// When a unit may have been fitted of which nothing is on record but the first day anything is known of it.
pub(crate) fn possible_span(
    first_known: NaiveDate,
    built_year: Option<i32>,
    usual_life: f64,
) -> (NaiveDate, NaiveDate, InstalledFrom) {
    let years = (2.0 * usual_life).clamp(1.0, 120.0).round() as i32;
    let far = NaiveDate::from_ymd_opt(first_known.year() - years, 1, 1).unwrap_or(first_known);
    let built = built_year
        .and_then(|year| NaiveDate::from_ymd_opt(year, 1, 1))
        .filter(|day| *day > far && *day <= first_known);
    match built {
        Some(day) => (day, first_known, InstalledFrom::BuiltYear),
        None => (far.min(first_known), first_known, InstalledFrom::Assumed),
    }
}

struct Told {
    failures: Vec<(Failure, NaiveDate)>,
    merged: u32,
    found_at_service: u32,
    no_fault_found: u32,
}

/// The failures among one unit's records as forecasts count them, each with its day and the visits it was made of, the
/// first one first.
pub(crate) fn failures_among(records: &[FailureRecord]) -> Vec<(NaiveDate, Vec<&FailureRecord>)> {
    let (counted, merged) = merged(records);
    merged
        .failures
        .iter()
        .filter_map(|failure| {
            let of: Vec<&FailureRecord> = failure.reports.iter().map(|&i| counted[i]).collect();
            Some((day_of(of.first()?), of))
        })
        .collect()
}

/// Merges repeat visits: the same job or mark, or the same function lost within 30 days. What a service found and
/// calls without a fault are set aside.
fn merged(records: &[FailureRecord]) -> (Vec<&FailureRecord>, MergedReports) {
    let counted: Vec<&FailureRecord> = records.iter().filter(|r| !r.no_fault_found).collect();
    // Two links may tie a record: its job and its mark. A job seen with a mark is known by the mark.
    let marks: BTreeMap<_, &str> = counted
        .iter()
        .filter(|r| !r.same_as.is_empty())
        .filter_map(|r| r.job.map(|job| (job, r.same_as.as_str())))
        .collect();
    let reports: Vec<Report> = counted
        .iter()
        .enumerate()
        .map(|(order, r)| Report {
            order: order as u64,
            unit: String::new(),
            component: component(r),
            link: link(r, &marks),
            day: (day_of(r) - NaiveDate::default()).num_days(),
            found_at_service: r.found_at_service,
        })
        .collect();
    let merged = merge_repeat_visits(&reports, dependability::REPEAT_DAYS);
    (counted, merged)
}

/// The same for the model: the day is that of the first visit, the part the last one named.
fn told(records: &[FailureRecord]) -> Told {
    let (counted, merged) = merged(records);
    let failures = merged
        .failures
        .iter()
        .filter_map(|failure| {
            let of: Vec<&FailureRecord> = failure.reports.iter().map(|&i| counted[i]).collect();
            let day = of.first().map(|r| day_of(r))?;
            let part = of.iter().rev().find_map(|r| r.part.clone());
            let at = axis(day);
            let between = match of.as_slice() {
                [only] => span(only),
                _ => None,
            };
            Some((Failure { part, at, between }, day))
        })
        .collect();
    Told {
        failures,
        merged: merged.merged_away as u32,
        found_at_service: merged.found_at_service as u32,
        no_fault_found: (records.len() - counted.len()) as u32,
    }
}

/// The middle of the days it may have happened on.
fn day_of(record: &FailureRecord) -> NaiveDate {
    let until = record.happened_until.unwrap_or(record.happened_on);
    let days = (until - record.happened_on).num_days().max(0);
    record.happened_on + chrono::TimeDelta::days(days / 2)
}

/// First and last moment of a failure whose day is not known to within [`dependability::REPEAT_DAYS`].
fn span(record: &FailureRecord) -> Option<(f64, f64)> {
    let until = record.happened_until?;
    let days = (until - record.happened_on).num_days();
    (days > dependability::REPEAT_DAYS).then(|| (axis(record.happened_on), axis(until)))
}

fn component(record: &FailureRecord) -> String {
    // Of two known only to the same months nobody can say that one is the other's repeat: a job or a mark alone ties them.
    if span(record).is_some() {
        return format!("record {}", record.id);
    }
    match (&record.function_lost, &record.part) {
        (Some(function), _) => function.clone(),
        (None, Some(part)) => format!("part {part}"),
        (None, None) => "not known".to_owned(),
    }
}

fn link(record: &FailureRecord, marks: &BTreeMap<terms::JobId, &str>) -> String {
    let mark = Some(record.same_as.as_str()).filter(|m| !m.is_empty());
    match (mark, record.job) {
        (Some(mark), _) => format!("mark {mark}"),
        (None, Some(job)) => match marks.get(&job) {
            Some(mark) => format!("mark {mark}"),
            None => format!("job {job}"),
        },
        (None, None) => String::new(),
    }
}
