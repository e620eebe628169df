//! Judges the economics cases with the room `costing`.
mod decisions;
pub mod judge;
mod published;

use std::path::Path;

use super::Report;

/// Judges whichever of the published examples and the decision cases the folder holds.
///
/// # Errors
/// A sentence naming the file that cannot be read.
pub fn run(folder: &Path, report: &mut Report) -> Result<(), String> {
    let examples = folder.join("economics_published.json");
    if examples.exists() {
        published::run(&examples, report)?;
    }
    let cases = folder.join("decision_cases.json");
    if cases.exists() {
        decisions::run(&cases, &folder.join("decision_expected.json"), report)?;
    }
    Ok(())
}

fn read_json<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T, String> {
    let text = super::read(path)?;
    serde_json::from_str(&text).map_err(|e| format!("{}: {e}", path.display()))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use crate::reference::Report;

    #[test]
    fn every_copied_case_holds() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/economics");
        let mut report = Report::default();
        super::run(&folder, &mut report).unwrap();
        let (passed, failed, skipped) = report.counts();
        // So many were copied; a file that shrinks or a family that is passed over must not go unseen.
        assert!(passed >= 91 && failed == 0 && skipped == 0, "{report}");
    }
}
