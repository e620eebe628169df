//! `reference FOLDER…`: reads folders of cases with known answers from outside code and judges the
//! product's own rooms. Prints case, expected, got, tolerance and verdict; closes with the counts.
//! With `--phone` before the folders the cases of `inspection` are put to the phone's scripts too, in Chromium; with
//! `--sizes` the plans of 20,000 jobs and 100,000 units are made too, which takes eight minutes of two processors; with
//! `--plans=KEEP` our plans are kept in that folder. Where the scorers lie beside the cases every plan is put to them.
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use tests::reference::{Report, run_folder};

fn main() -> ExitCode {
    let mut folders: Vec<String> = std::env::args().skip(1).collect();
    let mut given = |flag: &str| {
        let place = folders.iter().position(|word| word == flag);
        place.map(|at| folders.remove(at)).is_some()
    };
    let (on_the_phone, sizes) = (given("--phone"), given("--sizes"));
    let kept = folders.iter().position(|w| w.starts_with("--plans="));
    let plans = kept.map(|at| folders.remove(at));
    if folders.is_empty() {
        eprintln!("usage: reference [--phone] [--sizes] [--plans=KEEP] FOLDER [FOLDER …]");
        return ExitCode::from(2);
    }
    let mut report = Report::default();
    report.on_the_phone = on_the_phone;
    report.sizes = sizes;
    report.plans = plans
        .as_deref()
        .and_then(|word| word.strip_prefix("--plans="))
        .map(PathBuf::from);
    for folder in &folders {
        if let Err(sentence) = run_folder(Path::new(folder), &mut report) {
            eprintln!("{sentence}");
            return ExitCode::from(2);
        }
    }
    println!("{report}");
    if report.holds() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
