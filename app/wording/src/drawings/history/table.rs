//! The history line as a table, in order of days.
use chrono::NaiveDate;

use super::{Failure, HistoryLine};
use crate::drawings::Table;
use crate::sentences::{chances, dates};

type Dated = (NaiveDate, [String; 3]);

pub(super) fn of(history: &HistoryLine) -> Table {
    let mut rows: Vec<Dated> = history.failures.iter().map(failure).collect();
    rows.extend(history.visits.iter().map(|visit| {
        let what = if visit.readings {
            "service, with readings"
        } else {
            "service"
        };
        (visit.on, [what.into(), String::new(), String::new()])
    }));
    rows.extend(history.parts.iter().filter_map(|part| {
        let on = part.replaced_on?;
        let what = format!("{} replaced", part.name);
        let age = match history.part_age(part) {
            new if new == "new" => new,
            age => format!("now {age}"),
        };
        Some((on, [what, age, String::new()]))
    }));
    rows.extend(
        history
            .forecast
            .iter()
            .filter(|ahead| ahead.named)
            .map(|ahead| {
                let chance = chances::with_range(ahead.chance, ahead.low, ahead.high);
                (ahead.by, ["fails by then".into(), chance, String::new()])
            }),
    );
    rows.sort_by_key(|(on, _)| *on);
    let cells = rows
        .into_iter()
        .map(|(on, [what, more, cost])| vec![dates::day_short(on), what, more, cost])
        .collect();
    let fitted = dates::fitted_when(history.fitted.0, history.fitted.1);
    Table {
        caption: format!("Fitted {fitted}."),
        ..Table::new(&["When", "What", "More", "Cost"], cells).numbers(&[3])
    }
}

fn failure(failure: &Failure) -> Dated {
    let ended = failure.repaired_on.map_or_else(
        || "not put right yet".into(),
        |on| format!("put right {}", dates::day(on)),
    );
    let more = if failure.detail.is_empty() {
        ended
    } else {
        format!("{}; {ended}", failure.detail)
    };
    let cost = failure
        .cost
        .map_or_else(String::new, |cost| cost.to_string());
    (
        failure.on,
        [format!("failed: {}", failure.words), more, cost],
    )
}
