//! What a history row would write, held against what the register has: the same, or something like it.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::UnitId;
use terms::unit::{FailureRecord, PartFitted, ServiceRecord};

use super::known::Known;

/// Two records of one unit this many days apart may be one event that two people wrote down.
const NEAR_DAYS: i64 = 7;

/// What a row would write.
pub enum Event {
    /// A failure, or a visit for one that found nothing.
    Failure(FailureRecord),
    /// A service, check or repair.
    Service(ServiceRecord),
    /// A part fitted, with its words and the record of its money.
    Part(PartFitted, String, Option<ServiceRecord>),
}

impl Event {
    /// The unit it happened to.
    pub fn unit(&self) -> UnitId {
        match self {
            Self::Failure(record) => record.unit,
            Self::Service(record) => record.unit,
            Self::Part(fitted, _, _) => fitted.unit,
        }
    }

    /// It in a few words, as it is shown beside another.
    pub fn words(&self) -> String {
        match self {
            Self::Failure(record) => failure_words(record),
            Self::Service(record) => service_words(record),
            Self::Part(fitted, words, paid) => {
                let cost = paid.as_ref().and_then(|paid| paid.cost);
                told(
                    &format!("{} fitted", plain(&fitted.part)),
                    fitted.fitted_on,
                    (None, cost, words),
                )
            }
        }
    }

    fn key(&self) -> String {
        match self {
            Self::Failure(record) => failure_key(record),
            Self::Service(record) => service_key(record),
            Self::Part(fitted, _, _) => part_key(fitted),
        }
    }
}

/// One record as far as it can be the same event as another.
struct Near {
    on: NaiveDate,
    sort: String,
    part: Option<String>,
    key: String,
    words: String,
}

/// What the register holds already, each record as often as it stands there.
pub struct OnRecord {
    left: BTreeMap<String, u32>,
    by_unit: BTreeMap<UnitId, Vec<Near>>,
}

impl OnRecord {
    /// Everything the register knows of the units.
    pub fn of(known: &Known) -> Self {
        let mut record = Self {
            left: BTreeMap::new(),
            by_unit: BTreeMap::new(),
        };
        for history in known.histories.values() {
            for failure in &history.failures {
                let near = Near {
                    on: failure.happened_on,
                    sort: "failure".to_owned(),
                    part: failure.part.clone(),
                    key: failure_key(failure),
                    words: failure_words(failure),
                };
                record.add(failure.unit, near);
            }
            for service in &history.services {
                let near = Near {
                    on: service.happened_on,
                    sort: service.what.clone(),
                    part: None,
                    key: service_key(service),
                    words: service_words(service),
                };
                record.add(service.unit, near);
            }
            for fitted in &history.parts {
                let near = Near {
                    on: fitted.fitted_on,
                    sort: "part".to_owned(),
                    part: Some(fitted.part.clone()),
                    key: part_key(fitted),
                    words: told(
                        &format!("{} fitted", plain(&fitted.part)),
                        fitted.fitted_on,
                        (None, None, ""),
                    ),
                };
                record.add(fitted.unit, near);
            }
        }
        record
    }

    fn add(&mut self, unit: UnitId, near: Near) {
        *self.left.entry(near.key.clone()).or_insert(0) += 1;
        self.by_unit.entry(unit).or_default().push(near);
    }

    /// Whether the register holds it word for word; each record stands for one row.
    pub fn holds(&mut self, event: &Event) -> bool {
        let known = self.put_aside(&event.key());
        if let Event::Part(_, _, Some(paid)) = event {
            // The money of a part stands in a record of its own, which goes with it.
            let _ = self.put_aside(&service_key(paid));
        }
        known
    }

    fn put_aside(&mut self, key: &str) -> bool {
        match self.left.get_mut(key) {
            Some(left) if *left > 0 => {
                *left -= 1;
                true
            }
            _ => false,
        }
    }

    /// The failures of a unit between two days, not put aside, in words.
    pub fn failures_in(&self, unit: UnitId, (from, until): (NaiveDate, NaiveDate)) -> Vec<&str> {
        let of = self.by_unit.get(&unit).into_iter().flatten();
        of.filter(|near| near.sort == "failure" && (from..=until).contains(&near.on))
            .filter(|near| self.left.get(&near.key).is_some_and(|left| *left > 0))
            .map(|near| near.words.as_str())
            .collect()
    }

    /// A record, not put aside, that may be the same event: same unit and sort, at most [`NEAR_DAYS`] apart, and not of
    /// another part. In words.
    pub fn near(&self, event: &Event) -> Option<&str> {
        let (sort, on, part) = match event {
            Event::Failure(record) => ("failure", record.happened_on, record.part.as_ref()),
            Event::Service(record) => (record.what.as_str(), record.happened_on, None),
            Event::Part(fitted, _, _) => ("part", fitted.fitted_on, Some(&fitted.part)),
        };
        let found = self.by_unit.get(&event.unit())?.iter().find(|near| {
            let apart = (near.on - on).num_days().abs();
            let other_part = matches!((near.part.as_ref(), part), (Some(a), Some(b)) if a != b);
            near.sort == sort
                && apart <= NEAR_DAYS
                && !other_part
                && self.left.get(&near.key).is_some_and(|left| *left > 0)
        })?;
        Some(&found.words)
    }
}

fn failure_key(r: &FailureRecord) -> String {
    format!(
        "failure|{}|{}|{:?}|{:?}|{:?}|{}|{}|{:?}|{}|{}",
        r.unit,
        r.happened_on,
        r.happened_until,
        r.part,
        r.function_lost,
        r.found_at_service,
        r.no_fault_found,
        r.cost,
        r.same_as,
        r.words
    )
}

fn service_key(r: &ServiceRecord) -> String {
    format!(
        "service|{}|{}|{}|{:?}|{}",
        r.unit, r.what, r.happened_on, r.cost, r.words
    )
}

fn part_key(fitted: &PartFitted) -> String {
    format!("part|{}|{}|{}", fitted.unit, fitted.part, fitted.fitted_on)
}

fn failure_words(record: &FailureRecord) -> String {
    let what = if record.no_fault_found {
        "no fault found"
    } else {
        "failure"
    };
    told(
        what,
        record.happened_on,
        (record.part.as_deref(), record.cost, &record.words),
    )
}

fn service_words(record: &ServiceRecord) -> String {
    told(
        &record.what,
        record.happened_on,
        (None, record.cost, &record.words),
    )
}

/// "failure on 3 Nov 2019, diverter valve, £310.00, “stuck”".
fn told(
    what: &str,
    on: NaiveDate,
    (part, cost, words): (Option<&str>, Option<terms::Pence>, &str),
) -> String {
    let mut all = vec![format!("{what} on {}", on.format("%-d %b %Y"))];
    all.extend(part.map(plain));
    all.extend(cost.map(|cost| cost.to_string()));
    if !words.is_empty() {
        all.push(format!("“{words}”"));
    }
    all.join(", ")
}

/// A part's code as words.
fn plain(code: &str) -> String {
    code.replace('_', " ")
}
