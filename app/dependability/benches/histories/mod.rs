//! Published repair histories from their files; how they are judged stands in `dependability::published`.
use std::path::Path;

use dependability::UnitHistory;
use dependability::published::histories;

/// Reads NAME_windows.csv and NAME_events.csv; `None` where they are not there.
pub fn read(folder: &Path, name: &str) -> Option<Vec<UnitHistory>> {
    let text = |file: &str| std::fs::read_to_string(folder.join(format!("{name}_{file}.csv"))).ok();
    histories(&text("windows")?, &text("events")?).ok()
}
