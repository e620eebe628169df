//! Family runner.
use std::path::Path;

use super::Report;

/// Judges the folder.
///
/// # Errors
/// A sentence naming the file that cannot be read.
pub fn run(folder: &Path, report: &mut Report) -> Result<(), String> {
    report.skip("economics", &folder.display().to_string(), "not built yet");
    Ok(())
}
