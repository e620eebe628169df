//! `DEVELOPERS.md` leads whoever carries on by the names of files: each must be there. Paths are written without `src`.
use std::path::{Path, PathBuf};

/// Ends of names that are files of the repository. What the program writes while it runs (`.log`, `.eml`) is none.
const ENDS: &[&str] = &[
    ".rs", ".py", ".R", ".md", ".csv", ".json", ".js", ".sql", ".typ", ".html",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every file and folder of the repository from its root, as parts of a path without `src`.
fn all(folder: &Path, above: &[String], found: &mut Vec<Vec<String>>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.filter_map(Result::ok) {
        let name = entry.file_name().to_string_lossy().into_owned();
        if above.is_empty() && (name == "target" || name == ".git") {
            continue;
        }
        let mut path = above.to_vec();
        if name != "src" {
            path.push(name);
            found.push(path.clone());
        }
        if entry.path().is_dir() {
            all(&entry.path(), &path, found);
        }
    }
}

/// What stands between backticks outside the blocks of code.
fn quoted(text: &str) -> Vec<&str> {
    let prose = text.split("```").step_by(2);
    prose
        .flat_map(|part| part.split('`').skip(1).step_by(2))
        .collect()
}

/// `a/{b,c}.rs` is two names.
fn each(name: &str) -> Vec<String> {
    let braces = name
        .split_once('{')
        .and_then(|(before, rest)| Some((before, rest.split_once('}')?)));
    match braces {
        None => vec![name.to_owned()],
        Some((before, (inside, after))) => inside
            .split(',')
            .flat_map(|one| each(&format!("{before}{}{after}", one.trim())))
            .collect(),
    }
}

/// Whether a name is that of a file or folder here: a room's folder or what ends like a file, no pattern with a hole in it.
fn means_a_file(name: &str) -> bool {
    let room = |first: &str| {
        matches!(
            first,
            "app" | "migrations" | "templates" | "jobs" | "tests" | "seed-demo"
        ) || root().join("app").join(first).is_dir()
    };
    let plain = !name.contains([' ', '<', ':', '"', '(']) && !name.starts_with(['/', '.']);
    let folder = name.split_once('/').is_some_and(|(first, _)| room(first));
    plain && (folder || ENDS.iter().any(|end| name.ends_with(end)))
}

fn there(name: &str, all: &[Vec<String>]) -> bool {
    let wanted: Vec<&str> = name
        .split('/')
        .filter(|part| !part.is_empty() && *part != "src")
        .collect();
    let alike = |part: &str, wanted: &str| match wanted.split_once('*') {
        None => part == wanted || (!wanted.contains('.') && part == format!("{wanted}.rs")),
        Some((begins, ends)) => part.starts_with(begins) && part.ends_with(ends),
    };
    all.iter().any(|path| {
        let from = path.len().checked_sub(wanted.len());
        let tail = from.map(|from| &path[from..]);
        tail.is_some_and(|tail| tail.iter().zip(&wanted).all(|(a, b)| alike(a, b)))
    })
}

fn missing(text: &str, all: &[Vec<String>]) -> Vec<String> {
    let names = quoted(text).into_iter().flat_map(each);
    names
        .filter(|name| means_a_file(name) && !there(name, all))
        .collect()
}

#[test]
fn every_file_that_developers_md_names_is_there() {
    let mut files = Vec::new();
    all(&root(), &[], &mut files);
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let named = quoted(&text).into_iter().flat_map(each);
    let named = named.filter(|name| means_a_file(name)).count();
    assert!(named > 60, "only {named} names were found");
    assert_eq!(missing(&text, &files), Vec::<String>::new());
    // Planted: a file that is not there, one behind braces, a folder of a room.
    let planted = "see `usecases/plan/{asking,wishing}.rs`, `recordings.rs` and `web/pages`";
    assert_eq!(
        missing(planted, &files),
        ["usecases/plan/wishing.rs", "recordings.rs", "web/pages"]
    );
}
