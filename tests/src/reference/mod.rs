//! Reads a folder of cases, dispatches each family to its room, keeps one verdict a case.
//!
//! A family not built yet is skipped *by name*; nothing is skipped silently.
pub mod economics;
pub mod inspection;
pub mod planning;
pub mod reliability;
pub mod report;

use std::path::Path;

pub use report::{Report, Verdict};

/// Judges every known kind of case file in `folder` and, one level down, in its subfolders.
///
/// # Errors
/// A sentence naming the file that cannot be read.
pub fn run_folder(folder: &Path, report: &mut Report) -> Result<(), String> {
    if !folder.is_dir() {
        return Err(format!("{} is not a folder", folder.display()));
    }
    let mut found = run_one(folder, report)?;
    let mut below: Vec<_> = std::fs::read_dir(folder)
        .map_err(|e| format!("{}: {e}", folder.display()))?
        .filter_map(|entry| entry.ok().map(|e| e.path()))
        .filter(|path| path.is_dir())
        .collect();
    below.sort();
    for path in below {
        found |= run_one(&path, report)?;
    }
    if found {
        Ok(())
    } else {
        Err(format!(
            "{}: no case file of a known format",
            folder.display()
        ))
    }
}

fn run_one(folder: &Path, report: &mut Report) -> Result<bool, String> {
    let mut found = false;
    if folder.join("economics_published.json").exists()
        || folder.join("decision_cases.json").exists()
    {
        economics::run(folder, report)?;
        found = true;
    }
    if folder.join("known.json").exists() {
        planning::run(folder, report)?;
        found = true;
    }
    if folder.join("cases.json").exists() {
        let text = read(&folder.join("cases.json"))?;
        let head: serde_json::Value = serde_json::from_str(&text)
            .map_err(|e| format!("{}/cases.json: {e}", folder.display()))?;
        match head.get("schema").and_then(|s| s.as_str()) {
            Some("reliability-cases-2") => reliability::run(folder, &head, report)?,
            Some("inspection-cases-1") => inspection::run(folder, &head, report)?,
            other => return Err(format!("{}: unknown schema {other:?}", folder.display())),
        }
        found = true;
    }
    Ok(found)
}

/// Reads a text file whole.
///
/// # Errors
/// A sentence naming the file.
pub fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))
}
