//! `export`: everything one estate holds, one JSON object a line, so that nobody is locked in.
use std::io::Write;

use serde_json::json;

use crate::trouble::Trouble;
use crate::wiring::{self, World};

/// Writes a first line that says what follows, then each row as `{"table": …, "row": …}`. The export is itself noted
/// in the record of who did what.
pub fn run(world: &World, estate: Option<&str>, to: &mut dyn Write) -> Result<(), Trouble> {
    let seat = wiring::seat(world, estate)?;
    let about = json!({
        "riserward": env!("CARGO_PKG_VERSION"),
        "estate": seat.estate_name(),
        "exported_at": world.now(),
    });
    let mut rows = 0_u64;
    let written = world.acting(&seat, |tx| {
        line(to, &about.to_string())?;
        store::keeping::every_row(tx, |table, row| {
            rows += 1;
            // The row is JSON already, made by the server.
            line(to, &format!("{{\"table\":{},\"row\":{row}}}", json!(table)))
        })?;
        tx.note("estate exported", "estate", &json!({ "rows": rows }));
        Ok(())
    });
    written.map_err(|error| wiring::sentence(&error, false))?;
    to.flush()
        .map_err(|error| Trouble::new(format!("The export could not be written: {error}.")))?;
    eprintln!("{rows} rows of {} written.", seat.estate_name());
    Ok(())
}

fn line(to: &mut dyn Write, text: &str) -> Result<(), usecases::Error> {
    writeln!(to, "{text}").map_err(|error| {
        usecases::Error::Internal(format!("The export could not be written: {error}."))
    })
}
