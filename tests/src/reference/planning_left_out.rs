//! The family of the optimisers, where the runner was built without them.
use std::path::Path;

use super::Report;

/// Names the folder as left out.
///
/// # Errors
/// None; the signature is that of a family.
pub fn run(folder: &Path, report: &mut Report) -> Result<(), String> {
    let why = "the runner was built without --features solver";
    report.skip("planning", &folder.display().to_string(), why);
    Ok(())
}
