//! The record a row becomes.
use terms::unit::{FailureRecord, PartFitted, ServiceRecord};
use terms::{FailureId, Pence};
use uuid::Uuid;

use super::Read;
use crate::import::dates::Doubt;
use crate::import::on_record::Event;
use crate::import::row::middle;
use crate::import::values::What;

/// What a row would write: as many failures as it counts, each its share of the cost, else the one thing that happened.
pub(super) fn events(read: Read) -> Vec<Event> {
    let n = i64::from(read.count);
    match event(read) {
        Event::Failure(one) if n > 1 => (0..n)
            .map(|nth| {
                let cost = one.cost.map(|all| {
                    let rest = if nth == 0 { all.0 % n } else { 0 };
                    Pence(all.0 / n + rest)
                });
                Event::Failure(FailureRecord {
                    cost,
                    ..one.clone()
                })
            })
            .collect(),
        one => vec![one],
    }
}

fn event(read: Read) -> Event {
    match read.what {
        What::Failure | What::NothingFound => Event::Failure(FailureRecord {
            id: FailureId(Uuid::nil()),
            unit: read.unit,
            part: read.part,
            function_lost: read.function_lost,
            happened_on: read.when.from,
            happened_until: Some(read.when.until).filter(|d| *d != read.when.from),
            found_at_service: read.found_at_service,
            no_fault_found: read.what == What::NothingFound,
            cost: read.cost,
            job: None,
            same_as: read.same_as,
            words: read.words,
            recorded_at: chrono::DateTime::UNIX_EPOCH,
        }),
        What::Part => {
            let words = with_date(&read);
            let day = middle(read.when);
            let Some(part) = read.part else {
                return Event::Service(service(&read, "repair", words));
            };
            let paid = read.cost.map(|cost| ServiceRecord {
                unit: read.unit,
                what: "repair".to_owned(),
                happened_on: day,
                cost: Some(cost),
                words: words.clone(),
                job: None,
            });
            let fitted = PartFitted {
                unit: read.unit,
                part,
                fitted_on: day,
                planned: false,
                job: None,
            };
            Event::Part(fitted, words, paid)
        }
        What::Service | What::Check | What::Repair => {
            let words = with_date(&read);
            Event::Service(service(&read, read.what.code(), words))
        }
    }
}

fn service(read: &Read, what: &str, words: String) -> ServiceRecord {
    ServiceRecord {
        unit: read.unit,
        what: what.to_owned(),
        happened_on: middle(read.when),
        cost: read.cost,
        words,
        job: None,
    }
}

/// The words, with the part where no record of its own holds it, and the date as written where only a day is kept.
fn with_date(read: &Read) -> String {
    let mut all = Vec::new();
    if !read.words.is_empty() {
        all.push(read.words.clone());
    }
    if !read.said_part.is_empty() && read.part.is_none() {
        let part = format!("part: {}", read.said_part);
        if !read.words.contains(&read.said_part) {
            all.push(part);
        }
    }
    if read.when.doubt != Doubt::Known {
        all.push(format!("dated “{}”", read.said_when));
    }
    all.join("; ")
}
