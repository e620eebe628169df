//! The audits share no code with the planners: they name types of input and model alone, ask those types nothing but their
//! fields, and no planner calls an audit.
use std::path::{Path, PathBuf};

/// Audits, with what of the house they may name.
const AUDITS: &[(&str, &[&str])] = &[
    (
        "rounds/audit.rs",
        &[
            "Placed",
            "PlannedEngineer",
            "PlannedFirm",
            "PlannedJob",
            "RoundInput",
            "RoundPlan",
        ],
    ),
    (
        "rounds/optimal/audit.rs",
        &["Engineer", "Job", "Problem", "Span", "Visit"],
    ),
    (
        "programme/audit.rs",
        &[
            "Programme",
            "ProgrammeInput",
            "ProgrammeLimits",
            "ProgrammeOption",
        ],
    ),
    ("programme/optimal/audit.rs", &["Plan", "Problem"]),
];

/// What planners ask of the input's types: an audit that did would agree with them by construction.
const PLANNERS_OWN: &[&str] = &[
    ".first_day(",
    ".shift(",
    ".firm_hours(",
    ".open_times(",
    ".is_working_day(",
    ".is_heating_day(",
    ".anybody_works(",
    ".longest_day(",
    "week_of(",
    "firm_of_pair(",
];

fn planning() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../app/planning/src")
}

fn code_of(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().unwrap_or(text);
    let lines = text.lines().map(|l| l.split("//").next().unwrap_or(""));
    lines.collect::<Vec<_>>().join("\n")
}

/// Names of the own house an audit uses beyond those allowed, and questions it asks of them.
fn offences(code: &str, allowed: &[&str]) -> Vec<String> {
    let mut found = Vec::new();
    for start in ["super::", "crate::"] {
        for (at, _) in code.match_indices(start) {
            let rest = code[at + start.len()..].trim_start_matches("super::");
            let rest = rest.trim_start_matches("model::");
            let names = match rest.strip_prefix('{') {
                Some(list) => list.split('}').next().unwrap_or("").to_owned(),
                None => rest
                    .split(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'))
                    .next()
                    .unwrap_or("")
                    .to_owned(),
            };
            let names = names.split(',').map(str::trim).filter(|n| !n.is_empty());
            let strange = names.filter(|n| !allowed.contains(n));
            found.extend(strange.map(|n| format!("names {n}")));
        }
    }
    let asked = PLANNERS_OWN.iter().filter(|word| code.contains(**word));
    found.extend(asked.map(|word| format!("asks {word}")));
    found
}

#[test]
fn audits_name_types_of_input_and_model_alone() {
    for (file, allowed) in AUDITS {
        let text = std::fs::read_to_string(planning().join(file)).unwrap();
        let found = offences(&code_of(&text), allowed);
        assert!(found.is_empty(), "{file}: {found:?}");
    }
}

#[test]
fn a_planted_offence_is_caught() {
    let allowed = &["RoundInput"];
    for planted in [
        "use super::{RoundInput, week_of};",
        "use super::diary::Diary;",
        "use crate::rounds::plain::Work;",
        "use super::model::Tables;",
        "let open = self.input.is_working_day(day);",
        "let monday = week_of(day);",
    ] {
        assert!(!offences(planted, allowed).is_empty(), "{planted}");
    }
    assert!(offences("use super::RoundInput;", allowed).is_empty());
}

#[test]
fn no_planner_calls_an_audit() {
    let mut files = Vec::new();
    walk(&planning(), &mut files);
    assert!(files.len() > 50, "{} files", files.len());
    for file in files {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        if name.starts_with("audit") || name == "mod.rs" {
            continue;
        }
        let code = code_of(&std::fs::read_to_string(&file).unwrap());
        for word in ["audit(", "audit::", "audit_limits(", "audit_moves("] {
            assert!(!code.contains(word), "{}: {word}", file.display());
        }
    }
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for path in std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
    {
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|x| x == "rs") {
            found.push(path);
        }
    }
}
