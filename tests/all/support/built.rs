//! Programs of ours that a test starts beside itself.
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::SystemTime;

/// A program as built beside this test; built here, as this test was, where it is missing or older than what it is made
/// of (files and folders of the project).
pub fn built(package: &str, name: &str, made_of: &[&str]) -> PathBuf {
    let here = std::env::current_exe().unwrap();
    let profile = here.ancestors().nth(2).unwrap();
    let program = profile.join(name);
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let newest = made_of.iter().map(|place| newest(&root.join(place))).max();
    let stands = modified(&program);
    if stands.is_none() || stands < newest.flatten() {
        let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
        let mut build = Command::new(cargo);
        build.args(["build", "--locked", "--offline", "--package", package]);
        build.args(["--bin", name, "--target-dir"]);
        build.arg(profile.parent().unwrap());
        if profile.ends_with("release") {
            build.arg("--release");
        }
        let status = build.current_dir(&root).status().unwrap();
        assert!(status.success(), "{name} is built");
    }
    program
}

fn modified(file: &Path) -> Option<SystemTime> {
    std::fs::metadata(file)
        .and_then(|about| about.modified())
        .ok()
}

fn newest(place: &Path) -> Option<SystemTime> {
    let files = std::fs::read_dir(place)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    files
        .filter_map(|path| {
            if path.is_dir() {
                newest(&path)
            } else {
                modified(&path)
            }
        })
        .max()
}
