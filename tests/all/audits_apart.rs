//! The audits share no code with the planners: they name types of input and model alone, ask those types nothing but their
//! fields, and no planner calls an audit.
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// How far an audit stands apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Status {
    /// It names types of input, plan and model, and nothing that computes.
    Apart,
    /// The same, and it builds on the audit named, which is itself apart.
    BuildsOn(&'static str),
}

/// An audit, how far it stands apart, and what of the house it may name.
struct Audit {
    file: &'static str,
    status: Status,
    names: &'static [&'static str],
}

/// Every audit there is: a file named audit that is missing here is refused.
const AUDITS: &[Audit] = &[
    Audit {
        file: "rounds/audit.rs",
        status: Status::Apart,
        names: &[
            "Placed",
            "PlannedEngineer",
            "PlannedFirm",
            "PlannedJob",
            "RoundInput",
            "RoundPlan",
        ],
    },
    Audit {
        file: "rounds/optimal/audit.rs",
        status: Status::Apart,
        names: &[
            "model::Engineer",
            "model::Job",
            "model::Problem",
            "model::Span",
            "model::Visit",
        ],
    },
    Audit {
        file: "rounds/optimal/audit_moves.rs",
        status: Status::BuildsOn("audit"),
        names: &["model::Disruption", "model::Visit"],
    },
    Audit {
        file: "programme/audit.rs",
        status: Status::Apart,
        names: &[
            "Programme",
            "ProgrammeInput",
            "ProgrammeLimits",
            "ProgrammeUnit",
            "Replacement",
            "YearLine",
        ],
    },
    Audit {
        file: "programme/audit_swap.rs",
        status: Status::BuildsOn("audit"),
        names: &[
            "Programme",
            "ProgrammeInput",
            "ProgrammeLimits",
            "ProgrammeUnit",
            "Replacement",
        ],
    },
    Audit {
        file: "programme/optimal/audit.rs",
        status: Status::Apart,
        names: &["model::Plan", "model::Problem"],
    },
];

/// Files that hold types of input, plan and model, beside the audit.
const TYPES: [&str; 4] = ["mod.rs", "limits.rs", "report.rs", "model.rs"];

/// Words of the standard library and of dates that planners use as names too.
const COMMON: [&str; 7] = ["all", "days", "default", "insert", "new", "push", "round"];

fn planning() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../app/planning/src")
}

fn read(path: &Path) -> String {
    code_of(&std::fs::read_to_string(path).unwrap())
}

fn code_of(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().unwrap_or(text);
    let lines = text.lines().map(|l| l.split("//").next().unwrap_or(""));
    lines.collect::<Vec<_>>().join("\n")
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Every path of the own house the code names, without its start: "model::Job", "week_of", "model::*".
fn named(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    for start in ["super::", "crate::", "planning::"] {
        for (at, _) in code.match_indices(start) {
            let before = code[..at].chars().next_back();
            if before.is_some_and(|c| is_word(c) || c == ':') {
                continue;
            }
            let rest = code[at + start.len()..].trim_start_matches("super::");
            tree(rest, "", &mut found);
        }
    }
    found
}

/// The paths of one tree of names: "model::{Job, Span}", "audit::audit". What follows the tree is handed back.
fn tree<'a>(text: &'a str, before: &str, found: &mut Vec<String>) -> &'a str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start().trim_start_matches(',').trim_start();
            if let Some(after) = rest.strip_prefix('}') {
                return after;
            }
            if rest.is_empty() {
                return rest;
            }
            rest = tree(rest, before, found);
        }
    }
    if let Some(rest) = text.strip_prefix('*') {
        found.push(format!("{before}*"));
        return rest;
    }
    let end = text.find(|c| !is_word(c)).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    if let Some(rest) = rest.strip_prefix("::").filter(|_| !word.is_empty()) {
        return tree(rest, &format!("{before}{word}::"), found);
    }
    found.push(format!("{before}{word}"));
    // A name given anew is no type the list knows.
    if let Some(other) = rest.strip_prefix(" as ") {
        found.push(format!("{before}{word} as"));
        let end = other.find(|c| !is_word(c)).unwrap_or(other.len());
        return &other[end..];
    }
    // A word that is no part of a name ends here whatever it is.
    if word.is_empty() {
        let mut chars = rest.chars();
        chars.next();
        return chars.as_str();
    }
    rest
}

/// Names of functions defined in the code.
fn functions(code: &str) -> BTreeSet<String> {
    let defined = code.match_indices("fn ").map(|(at, _)| &code[at + 3..]);
    defined
        .map(|rest| rest.chars().take_while(|c| is_word(*c)).collect::<String>())
        .filter(|name| !name.is_empty())
        .collect()
}

/// Names that are asked of something: ".name(" and "::name(".
fn asked(code: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (at, _) in code.match_indices('(') {
        let mut before = &code[..at];
        // "::<T>(" names the same.
        if before.ends_with('>')
            && let Some(open) = before.rfind("::<")
        {
            before = &before[..open];
        }
        let name: String = before.chars().rev().take_while(|c| is_word(*c)).collect();
        let name: String = name.chars().rev().collect();
        let rest = before[..before.len() - name.len()].trim_end();
        if !name.is_empty() && (rest.ends_with('.') || rest.ends_with("::")) {
            found.insert(name);
        }
    }
    found
}

/// What of the planners' an audit uses: names beyond those allowed, and anything it asks that planners define.
fn offences(code: &str, audit: &Audit, planners: &BTreeSet<String>) -> Vec<String> {
    let mut found = Vec::new();
    for name in named(code) {
        let other = match audit.status {
            Status::Apart => false,
            Status::BuildsOn(module) => name.starts_with(&format!("{module}::")),
        };
        let whole = name.ends_with('*');
        if whole || !(other || audit.names.contains(&name.as_str())) {
            found.push(format!("names {name}"));
        }
    }
    let own = functions(code);
    let strange = asked(code).into_iter().filter(|name| {
        planners.contains(name) && !own.contains(name) && !COMMON.contains(&name.as_str())
    });
    found.extend(strange.map(|name| format!("asks {name}")));
    found
}

fn files() -> Vec<PathBuf> {
    let mut files = Vec::new();
    walk(&planning(), &mut files);
    assert!(files.len() > 50, "{} files", files.len());
    files
}

fn is_audit(file: &Path) -> bool {
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    name.starts_with("audit")
}

/// Names of every function of the planners and of their types.
fn planners() -> BTreeSet<String> {
    let files = files().into_iter().filter(|file| !is_audit(file));
    files.flat_map(|file| functions(&read(&file))).collect()
}

#[test]
fn audits_name_types_of_input_and_model_alone() {
    let planners = planners();
    assert!(planners.contains("choices") && planners.contains("week_of"));
    for audit in AUDITS {
        let found = offences(&read(&planning().join(audit.file)), audit, &planners);
        assert!(
            found.is_empty(),
            "{} ({:?}): {found:?}",
            audit.file,
            audit.status
        );
    }
}

#[test]
fn every_audit_is_in_the_list() {
    let root = planning();
    let there: BTreeSet<String> = files()
        .into_iter()
        .filter(|file| is_audit(file))
        .map(|file| file.strip_prefix(&root).unwrap().display().to_string())
        .collect();
    let listed = AUDITS.iter().map(|audit| audit.file.to_owned()).collect();
    assert_eq!(there, listed);
}

/// A name an audit may use is a type, defined where types are and not something of a planner's that is handed on under it.
#[test]
fn the_names_allowed_are_types_where_types_are() {
    for audit in AUDITS {
        let folder = planning().join(audit.file);
        let folder = folder.parent().unwrap();
        let texts: Vec<String> = TYPES
            .iter()
            .map(|file| folder.join(file))
            .filter(|path| path.exists())
            .map(|path| read(&path))
            .collect();
        for name in audit.names {
            let name = name.rsplit("::").next().unwrap();
            let defines = |text: &String, word: &str| {
                let at = text
                    .match_indices(word)
                    .map(|(at, _)| &text[at + word.len()..]);
                let mut after = at.map(|rest| rest.chars().next());
                after.any(|c| c.is_none_or(|c| !is_word(c)))
            };
            let sorts = ["struct", "enum", "type"].map(|sort| format!("pub {sort} {name}"));
            let known = texts.iter().any(|t| sorts.iter().any(|s| defines(t, s)));
            assert!(known, "{}: {name} is no type beside it", audit.file);
            let anew = texts.iter().any(|t| defines(t, &format!(" as {name}")));
            assert!(!anew, "{}: {name} is handed on from elsewhere", audit.file);
        }
    }
}

#[test]
fn a_planted_offence_is_caught() {
    let audit = Audit {
        file: "",
        status: Status::BuildsOn("audit"),
        names: &["RoundInput", "model::Job"],
    };
    let planners: BTreeSet<String> = ["choices", "is_working_day", "week_of", "new"]
        .map(str::to_owned)
        .into();
    for planted in [
        "use super::{RoundInput, week_of};",
        "use super::diary::Diary;",
        "use super::{model::{Job, Tables}, RoundInput};",
        "use crate::rounds::plain::Work;",
        "use super::model::Tables;",
        "use super::*;",
        "use super::model::*;",
        "use super::audit::*;",
        "use super::{RoundInput, *};",
        "use super::diary::Slot as Job;",
        "use super::RoundInput as Input;",
        "let all = super::super::diary::open(input);",
        "let open = self.input.is_working_day(day);",
        "let all = unit.choices().iter();",
        "let all = unit\n    .choices();",
        "let monday = RoundInput::week_of(day);",
    ] {
        let found = offences(planted, &audit, &planners);
        assert!(!found.is_empty(), "{planted}");
    }
    for fair in [
        "use super::RoundInput;",
        "use super::{RoundInput, model::Job};",
        "use super::audit::{Rule, audit};",
        "let sums = BTreeMap::new(); fn choices() {} self.choices();",
    ] {
        let found = offences(fair, &audit, &planners);
        assert!(found.is_empty(), "{fair}: {found:?}");
    }
}

/// What a file does beyond naming modules and handing names on.
fn beyond_names(code: &str) -> String {
    let statements = code.split_inclusive([';', '}']);
    let mut handing = false;
    let mut rest = String::new();
    for statement in statements {
        let begins = statement.trim_start();
        let names = ["mod ", "pub mod ", "pub use ", "use "];
        if handing || names.iter().any(|word| begins.starts_with(word)) {
            // A list in braces goes on to its semicolon.
            handing = !statement.ends_with(';');
            continue;
        }
        rest.push_str(statement);
    }
    rest
}

#[test]
fn no_planner_calls_an_audit() {
    for file in files().into_iter().filter(|file| !is_audit(file)) {
        let mut code = read(&file);
        // A module's root names its audit, and may do nothing else with it.
        if file.file_name().is_some_and(|name| name == "mod.rs") {
            code = beyond_names(&code);
        }
        for word in [
            "audit(",
            "audit::",
            "audit as",
            "audit_limits",
            "audit_proven",
            "cost_by_the_rules",
            "audit_moves(",
        ] {
            assert!(!code.contains(word), "{}: {word}", file.display());
        }
    }
    let root = "mod audit;\npub use audit::{Rule, audit};\nfn plan() { audit(input); }";
    assert!(beyond_names(root).contains("audit(input)"));
    assert!(!beyond_names(root).contains("audit::"));
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
