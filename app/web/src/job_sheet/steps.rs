//! The order of the screens.
use usecases::visit::SheetView;

use super::questions::{readings_of, tests_of};

/// The steps of a sheet after arriving, in order. A repair goes through the list of readings instead of each.
pub(super) fn steps(view: &SheetView) -> Vec<String> {
    let mut steps = Vec::new();
    if view.facts.owes_the_set() {
        steps.extend(
            readings_of(view)
                .iter()
                .map(|r| format!("reading/{}", r.code)),
        );
    } else if !readings_of(view).is_empty() {
        steps.push("readings".to_owned());
    }
    steps.push("finding".to_owned());
    steps.push("work".to_owned());
    if !readings_of(view).is_empty() || view.facts.job.function_lost.is_some() {
        steps.push("after".to_owned());
    }
    if view.facts.duties.iter().any(|d| !d.done) {
        steps.push("check".to_owned());
    }
    steps.push("close".to_owned());
    steps
}

/// Every page of the sheet that can be kept on the phone: the steps, and those beside their order.
pub(super) fn all(view: &SheetView) -> Vec<String> {
    let mut all = steps(view);
    let tests = tests_of(view);
    let readings = readings_of(view).into_iter().chain(tests);
    let beside = readings
        .map(|r| format!("reading/{}", r.code))
        .chain(["look", "unsafe", "in-the-way"].map(str::to_owned));
    for page in beside {
        if !all.contains(&page) {
            all.push(page);
        }
    }
    all
}

/// Where a step leads on to. Readings outside the order go back to their list.
pub(super) fn next(view: &SheetView, step: &str) -> String {
    let steps = steps(view);
    match step {
        "arrive" => return steps.first().cloned().unwrap_or_else(|| "close".to_owned()),
        "look" => return "finding".to_owned(),
        "unsafe" => return "close".to_owned(),
        _ => {}
    }
    match steps.iter().position(|s| s == step) {
        Some(at) => steps
            .get(at + 1)
            .cloned()
            .unwrap_or_else(|| "close".to_owned()),
        None if step.starts_with("reading/") => "readings".to_owned(),
        None => "close".to_owned(),
    }
}

/// Where a step came from.
pub(super) fn before(view: &SheetView, step: &str) -> String {
    let steps = steps(view);
    match steps.iter().position(|s| s == step) {
        Some(0) => "arrive".to_owned(),
        Some(at) => steps
            .get(at - 1)
            .cloned()
            .unwrap_or_else(|| "arrive".to_owned()),
        None if step.starts_with("reading/") => "readings".to_owned(),
        None if step == "look" => "finding".to_owned(),
        None => "close".to_owned(),
    }
}

/// "reading 3 of 8", "step 10 of 12"
pub(super) fn progress(view: &SheetView, step: &str) -> String {
    let steps = steps(view);
    let Some(at) = steps.iter().position(|s| s == step) else {
        return view.facts.job.number.clone();
    };
    let readings = steps.iter().filter(|s| s.starts_with("reading/")).count();
    if step.starts_with("reading/") {
        format!("reading {} of {readings}", at + 1)
    } else {
        format!("step {} of {}", at + 1, steps.len())
    }
}
