//! Which entries a record still lacks, as paths in the order of the form. Blank text is missing.
use serde_json::{Map, Value as Json};

use crate::InspectionError;
use crate::coded::coded;
use crate::expr::round6;
use crate::outlets::judge_outlet;
use crate::rulebook::{Level, RuleBook};

coded! {
    /// The records known.
    RecordKind {
        /// Items set by regulation 36(3)(c) (published page).
        GasSafetyRecord = "gas_safety_record",
        /// Common practice, no source.
        WaterTemperatureLog = "water_temperature_log",
        /// Common practice, no source.
        ServiceSheet = "service_sheet",
    }
}

type Object = Map<String, Json>;

fn blank(value: Option<&Json>) -> bool {
    match value {
        None | Some(Json::Null) => true,
        Some(Json::String(text)) => text.trim().is_empty(),
        Some(_) => false,
    }
}

fn lacking(record: &Object, prefix: &str, names: &[&str]) -> Vec<String> {
    names
        .iter()
        .filter(|name| blank(record.get(**name)))
        .map(|name| format!("{prefix}{name}"))
        .collect()
}

fn list<'a>(record: &'a Object, name: &str) -> Option<&'a [Json]> {
    record.get(name).and_then(Json::as_array).map(Vec::as_slice)
}

/// The members of list `name` that lack some of `names`; an entry that is no object lacks all.
fn lacking_in(entries: &[Json], name: &str, names: &[&str]) -> Vec<String> {
    let empty = Object::new();
    let all = entries.iter().enumerate();
    all.flat_map(|(i, entry)| {
        lacking(
            entry.as_object().unwrap_or(&empty),
            &format!("{name}[{i}]."),
            names,
        )
    })
    .collect()
}

/// What `record` lacks.
///
/// # Errors
/// A service sheet of a unit kind without a readings set.
pub fn missing(
    book: &RuleBook,
    kind: RecordKind,
    record: &Object,
) -> Result<Vec<String>, InspectionError> {
    match kind {
        RecordKind::GasSafetyRecord => Ok(gas_safety_record(record)),
        RecordKind::WaterTemperatureLog => water_log(book, record),
        RecordKind::ServiceSheet => service_sheet(book, record),
    }
}

fn gas_safety_record(record: &Object) -> Vec<String> {
    let mut gaps = lacking(
        record,
        "",
        &[
            "check_date",
            "property_address",
            "landlord_or_agent_name",
            "landlord_or_agent_address",
        ],
    );
    match list(record, "items") {
        Some(items) if !items.is_empty() => {
            gaps.extend(lacking_in(
                items,
                "items",
                &["description", "location", "result"],
            ));
        }
        _ => gaps.push("items".to_owned()),
    }
    // "None found" must be said: an empty list says it, a missing list does not.
    match list(record, "defects") {
        Some(defects) => gaps.extend(lacking_in(defects, "defects", &["text", "action"])),
        None => gaps.push("defects".to_owned()),
    }
    if record.get("examination_26_9_confirmed") != Some(&Json::Bool(true)) {
        gaps.push("examination_26_9_confirmed".to_owned());
    }
    gaps.extend(lacking(
        record,
        "",
        &["engineer_name", "registration_number", "signature"],
    ));
    gaps
}

/// Whether a temperature at that place asks for an action: by the rule book's own limits, as at the round itself.
fn out_of_limit(book: &RuleBook, place: &str, temp_c: f64) -> Result<bool, InspectionError> {
    Ok(judge_outlet(book, place, round6(temp_c), None)?.level >= Level::Act)
}

fn water_log(book: &RuleBook, record: &Object) -> Result<Vec<String>, InspectionError> {
    let Some(rows) = list(record, "rows").filter(|rows| !rows.is_empty()) else {
        return Ok(vec!["rows".to_owned()]);
    };
    let names = [
        "on",
        "outlet",
        "place",
        "temp_c",
        "seconds_run",
        "instrument",
        "taken_by",
    ];
    let empty = Object::new();
    let mut gaps = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        let row = row.as_object().unwrap_or(&empty);
        gaps.extend(lacking(row, &format!("rows[{i}]."), &names));
        let place = row.get("place").and_then(Json::as_str).unwrap_or_default();
        let temp = row.get("temp_c").and_then(Json::as_f64);
        let out = match temp {
            Some(temp) => out_of_limit(book, place, temp)?,
            None => false,
        };
        if out && blank(row.get("action")) {
            gaps.push(format!("rows[{i}].action"));
        }
    }
    Ok(gaps)
}

fn service_sheet(book: &RuleBook, record: &Object) -> Result<Vec<String>, InspectionError> {
    let kind = record
        .get("unit_kind")
        .and_then(Json::as_str)
        .unwrap_or_default();
    let set = book
        .set(kind)
        .ok_or_else(|| InspectionError::unknown("the readings sets", kind))?;
    let first = record.get("first_service") == Some(&Json::Bool(true));
    let empty = Object::new();
    let readings = record
        .get("readings")
        .and_then(Json::as_object)
        .unwrap_or(&empty);
    let owed: Vec<&str> = set
        .readings
        .iter()
        .filter(|spec| first || !spec.first_service)
        .map(|spec| spec.code.as_str())
        .collect();
    let mut gaps = lacking(record, "", &["on", "unit_number", "engineer_name"]);
    gaps.extend(lacking(readings, "readings.", &owed));
    gaps.extend(lacking(
        record,
        "",
        &["work_done", "state_after", "resident_told"],
    ));
    Ok(gaps)
}
