//! The newest book of forecasts with its outcomes, as a file.
use serde_json::json;

use super::track::{TrackLine, track_record};
use crate::duties::harmless;
use crate::{Error, Seat, World};

const HEADINGS: [&str; 11] = [
    "building",
    "space",
    "unit",
    "kind",
    "chance of a failure in 12 months, as said",
    "failures expected, as said",
    "failures by the kind's average",
    "failures by age alone",
    "failures by published figures alone",
    "failures that happened",
    "share of the year in service",
];

/// Every line of the newest book whose year is over, in the reader's buildings.
///
/// # Errors
/// As [`track_record`].
pub fn track_file(world: &World, seat: &Seat) -> Result<String, Error> {
    let record = track_record(world, seat)?;
    let lines = record.last.map(|last| last.lines).unwrap_or_default();
    world.acting(seat, |tx| {
        let said = json!({ "lines": lines.len() });
        tx.note("forecasts exported", "track record", &said);
        Ok(())
    })?;
    let broken = |e: csv::Error| Error::Internal(format!("the file could not be written: {e}"));
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(HEADINGS).map_err(broken)?;
    for line in &lines {
        out.write_record(cells(line).iter().map(|cell| harmless(cell)))
            .map_err(broken)?;
    }
    let bytes = out
        .into_inner()
        .map_err(|e| Error::Internal(format!("the file could not be written: {e}")))?;
    String::from_utf8(bytes).map_err(|e| Error::Internal(e.to_string()))
}

fn cells(line: &TrackLine) -> [String; 11] {
    let card = line.card.as_ref();
    let place =
        |of: fn(&terms::unit::UnitCard) -> &String| card.map(of).cloned().unwrap_or_default();
    let number = |value: f64| format!("{value:.4}");
    let came = |of: fn((u32, f64)) -> String| line.came.map(of).unwrap_or_default();
    let [average, age, prior] = line.plainer.map(number);
    [
        place(|c| &c.building_name),
        place(|c| &c.space_name),
        place(|c| &c.number),
        line.kind.clone(),
        number(line.said.0),
        number(line.said.1),
        average,
        age,
        prior,
        came(|c| c.0.to_string()),
        came(|c| format!("{:.3}", c.1)),
    ]
}
