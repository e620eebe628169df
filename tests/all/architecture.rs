//! The house as DESIGN fixes it: who may name what, who may look at whom. Each rule is tried on a planted
//! offence too, so that a rule that catches nothing is noticed.
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Some of the rooms, by folder.
enum Rooms {
    Only(&'static [&'static str]),
    /// So a room that is built tomorrow is bound from its first day.
    AllBut(&'static [&'static str]),
}

impl Rooms {
    fn named(&self) -> &'static [&'static str] {
        match self {
            Self::Only(rooms) | Self::AllBut(rooms) => rooms,
        }
    }

    fn hold(&self, room: &str) -> bool {
        self.named().contains(&room) == matches!(self, Self::Only(_))
    }
}

/// What a room must not contain, and what it is called when it does.
struct Rule {
    /// Rooms the rule binds.
    rooms: Rooms,
    /// Words that break it when they stand in code.
    words: &'static [&'static str],
    why: &'static str,
}

const PURE: &[&str] = &[
    "app/terms",
    "app/numerics",
    "app/dependability",
    "app/costing",
    "app/inspection",
    "app/planning",
    "app/wording",
    "app/papers",
];

const RULES: &[Rule] = &[
    Rule {
        rooms: Rooms::AllBut(&["app/store"]),
        words: &["diesel::", "use diesel", "sql_query", "PgConnection"],
        why: "only store names Diesel",
    },
    Rule {
        rooms: Rooms::AllBut(&["app/store", "app/program"]),
        words: &[
            "SELECT * FROM",
            "SELECT id FROM",
            "INSERT INTO",
            "DELETE FROM",
            "UPDATE estate.",
        ],
        why: "only store speaks SQL",
    },
    Rule {
        rooms: Rooms::Only(PURE),
        words: &[
            "std::fs",
            "std::net",
            "std::env",
            "std::process",
            "Utc::now",
            "Local::now",
            "Instant::now",
            "SystemTime::now",
            "rand::rng",
            "thread_rng",
            "from_os_rng",
            "HashMap",
            "HashSet",
            "println!",
        ],
        why: "pure rooms do no I/O, read no clock, roll no dice, keep no unordered map",
    },
    Rule {
        rooms: Rooms::AllBut(&["app/web", "app/wording"]),
        words: &["askama"],
        why: "only web and wording name askama",
    },
    Rule {
        rooms: Rooms::AllBut(&["app/web", "app/program"]),
        words: &["actix_web"],
        why: "only web names actix (program starts it)",
    },
    Rule {
        rooms: Rooms::AllBut(&["jobs"]),
        words: &["reqwest::", "cron::", "lettre::"],
        why: "only jobs names reqwest, lettre and cron",
    },
    Rule {
        rooms: Rooms::AllBut(&["app/program"]),
        words: &["std::env::var", "Utc::now", "Local::now"],
        why: "only program reads the environment and the clock",
    },
    Rule {
        rooms: Rooms::AllBut(&["app/planning"]),
        words: &["highs::"],
        why: "only planning names the solver",
    },
    Rule {
        rooms: Rooms::AllBut(&["app/papers"]),
        words: &["typst", "comemo"],
        why: "only papers names the typesetter",
    },
];

/// Which rooms each room may name in its Cargo.toml.
const FLOORS: &[(&str, u8)] = &[
    ("terms", 0),
    ("numerics", 0),
    ("dependability", 1),
    ("costing", 1),
    ("inspection", 1),
    ("store", 1),
    ("planning", 2),
    ("wording", 2),
    ("usecases", 3),
    ("papers", 3),
    ("web", 4),
    ("jobs", 4),
    ("seed-demo", 4),
    ("program", 5),
];

/// "app/web", "jobs"
fn folder_of(room: &str) -> String {
    match room {
        "jobs" | "seed-demo" => room.to_owned(),
        _ => format!("app/{room}"),
    }
}

fn code_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for path in entries.filter_map(|e| e.ok().map(|e| e.path())) {
        if path.is_dir() {
            code_files(&path, found);
        } else if path.extension().is_some_and(|x| x == "rs") {
            found.push(path);
        }
    }
}

/// The code without comments and without what follows `#[cfg(test)]`.
fn code_of(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().unwrap_or(text);
    text.lines()
        .map(|l| l.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n")
}

fn offences(rule: &Rule, room: &str, text: &str) -> Vec<String> {
    if !rule.rooms.hold(room) {
        return Vec::new();
    }
    let code = code_of(text);
    rule.words
        .iter()
        .filter(|w| code.contains(**w))
        .map(|w| format!("{w}: {}", rule.why))
        .collect()
}

#[test]
fn every_room_keeps_to_its_own() {
    let rooms: Vec<String> = FLOORS.iter().map(|(room, _)| folder_of(room)).collect();
    for named in RULES.iter().flat_map(|rule| rule.rooms.named()) {
        assert!(rooms.iter().any(|room| room == named), "{named} is no room");
    }
    let mut broken = Vec::new();
    for room in &rooms {
        let mut files = Vec::new();
        code_files(&root().join(room).join("src"), &mut files);
        assert!(!files.is_empty(), "{room} has no code: is its name right?");
        for file in files {
            let text = std::fs::read_to_string(&file).unwrap();
            for rule in RULES {
                broken.extend(
                    offences(rule, room, &text)
                        .into_iter()
                        .map(|o| format!("{}: {o}", file.display())),
                );
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn planted_offences_are_caught() {
    for (room, planted) in [
        ("app/web", "use diesel::prelude::*;"),
        ("app/costing", "let now = chrono::Utc::now();"),
        (
            "app/usecases",
            "let sql = \"INSERT INTO estate.units VALUES (1)\";",
        ),
        ("app/planning", "use std::collections::HashMap;"),
        ("app/usecases", "use askama::Template;"),
        ("app/store", "use actix_web::web;"),
        ("app/web", "reqwest::blocking::get(url)"),
        ("jobs", "std::env::var(\"SECRET\")"),
        ("app/costing", "use highs::Problem;"),
        ("app/web", "typst::compile::<PagedDocument>(&world)"),
        ("app/papers", "std::fs::read(path)"),
        ("app/papers", "use diesel::prelude::*;"),
    ] {
        let caught: usize = RULES
            .iter()
            .map(|rule| offences(rule, room, planted).len())
            .sum();
        assert!(caught > 0, "{room}: {planted}");
        let as_comment: usize = RULES
            .iter()
            .map(|rule| offences(rule, room, &format!("// {planted}")).len())
            .sum();
        assert_eq!(as_comment, 0, "a comment is not code");
    }
}

#[test]
fn rooms_look_down_only() {
    let floors: BTreeMap<&str, u8> = FLOORS.iter().copied().collect();
    for (room, floor) in FLOORS {
        let manifest = root().join(folder_of(room)).join("Cargo.toml");
        let manifest = std::fs::read_to_string(manifest).unwrap();
        let mut section = "";
        for line in manifest.lines() {
            if line.starts_with('[') {
                section = line;
            }
            let named = line.split(['.', ' ', '=']).next().unwrap_or("");
            if section != "[dependencies]" {
                continue;
            }
            // It would bring the typesetter into the program, which is built before anything can be seen.
            assert!(named != "papers", "{room} links the typesetter");
            if let Some(below) = floors.get(named) {
                // wording stands on the same floor as planning but names only terms; program names all.
                assert!(
                    below < floor || (*room == "program"),
                    "{room} names {named}"
                );
                // costing feeds planning; otherwise the pure rooms of one floor do not know each other.
            }
        }
    }
}

#[test]
fn the_top_level_is_fixed_and_no_file_is_too_long() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "app",
        "migrations",
        "templates",
        "jobs",
        "tests",
        "seed-demo",
        "target",
    ];
    for entry in std::fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(
            name.starts_with('.') || allowed.contains(&name.as_str()),
            "top level holds {name}"
        );
    }
    let mut files = Vec::new();
    for folder in ["app", "jobs", "tests", "seed-demo"] {
        code_files(&root().join(folder), &mut files);
    }
    for file in files {
        let generated = file.to_string_lossy().ends_with("_schema.rs");
        let lines = std::fs::read_to_string(&file).unwrap().lines().count();
        assert!(
            generated || lines <= 500,
            "{}: {lines} lines, is a second noun hiding inside?",
            file.display()
        );
        let stem = file.file_stem().unwrap().to_string_lossy().into_owned();
        assert!(
            !["utils", "util", "helpers", "helper", "common", "misc"].contains(&stem.as_str()),
            "{}: say what it holds",
            file.display()
        );
    }
}

#[test]
fn no_template_carries_style_or_script() {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for path in std::fs::read_dir(folder)
            .unwrap()
            .filter_map(|e| e.ok().map(|e| e.path()))
        {
            if path.is_dir() {
                walk(&path, found);
            } else {
                found.push(path);
            }
        }
    }
    let mut files = Vec::new();
    walk(&root().join("templates"), &mut files);
    for file in files
        .iter()
        .filter(|f| f.extension().is_some_and(|x| x == "html"))
    {
        let text = std::fs::read_to_string(file).unwrap();
        assert!(
            !text.contains(" style=") && !text.contains("<style"),
            "{}",
            file.display()
        );
        assert!(
            !text.contains(" onclick") && !text.contains("javascript:"),
            "{}",
            file.display()
        );
        for script in text.split("<script").skip(1) {
            assert!(
                script.trim_start().starts_with("src=\"/assets/"),
                "{}: inline script",
                file.display()
            );
        }
    }
}
