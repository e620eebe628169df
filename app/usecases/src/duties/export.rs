//! The list of duties as a file for a spreadsheet.
use chrono::NaiveDate;
use serde_json::json;
use terms::Role;

use super::due::{DutyLine, Standing, lines};
use crate::work::wall;
use crate::{Error, Seat, World};

const HEADINGS: [&str; 15] = [
    "building",
    "place",
    "unit",
    "duty",
    "basis",
    "how_the_rule_is_known",
    "window_opens",
    "due_by",
    "last_day",
    "stands",
    "days_late",
    "last_done",
    "evidence",
    "tries_without_access",
    "booked_for",
];

/// Every duty in the seat's reach as comma-separated text in UTF-8. The export itself is noted.
pub fn export(world: &World, seat: &Seat) -> Result<String, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let today = wall::day(world.now());
    let found = world.acting(seat, |tx| {
        let found = lines(tx, seat, today)?;
        tx.note(
            "duties exported",
            "duties",
            &json!({ "lines": found.len() }),
        );
        Ok(found)
    })?;
    let mut out = csv::Writer::from_writer(Vec::new());
    let broken = |e: csv::Error| Error::Internal(format!("the file could not be written: {e}"));
    out.write_record(HEADINGS).map_err(broken)?;
    for line in &found {
        out.write_record(cells(line).iter().map(|cell| harmless(cell)))
            .map_err(broken)?;
    }
    let bytes = out
        .into_inner()
        .map_err(|e| Error::Internal(format!("the file could not be written: {e}")))?;
    String::from_utf8(bytes).map_err(|e| Error::Internal(e.to_string()))
}

fn cells(line: &DutyLine) -> [String; 15] {
    let day = |day: Option<NaiveDate>| day.map(|d| d.to_string()).unwrap_or_default();
    let (stands, late) = match line.standing {
        Standing::Late { days } => ("late", days),
        Standing::Unknown => ("no evidence: due now", 0),
        Standing::Open => ("may be done now", 0),
        Standing::Ahead => ("opens later", 0),
    };
    [
        line.building_name.clone(),
        line.space_name.clone(),
        line.number().to_owned(),
        line.rule.name.clone(),
        line.rule.basis.clone(),
        line.rule.status.clone(),
        day(line.window.and_then(|w| w.first)),
        day(line.window.map(|w| w.deadline)),
        day(line.window.map(|w| w.last)),
        stands.to_owned(),
        late.to_string(),
        day(line.last_done.as_ref().and_then(|c| c.done_on)),
        line.last_done
            .as_ref()
            .map(|c| c.evidence.clone())
            .unwrap_or_default(),
        line.attempts.len().to_string(),
        line.booked()
            .map(|at| wall::local(at).format("%Y-%m-%d %H:%M").to_string())
            .unwrap_or_default(),
    ]
}

/// A cell no spreadsheet takes for a formula: what begins like one gets an apostrophe before it.
pub fn harmless(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}
