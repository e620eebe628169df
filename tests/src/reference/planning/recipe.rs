//! Sizes made from a recipe: the generator beside the cases is run, its output checked by its hash.
use std::fmt::Write;
use std::path::Path;
use std::process::Command;

use planning::programme::optimal::solve as programme;
use planning::rounds::optimal::solve as rounds;
use sha2::{Digest, Sha256};

use super::known::RecipeCase;
use super::{judge_open, processor_seconds};
use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// One size.
pub fn run(folder: &Path, case: &RecipeCase, report: &mut Report) -> Result<(), String> {
    let mut words = case.command.split_whitespace();
    let script = folder.join(words.next().unwrap_or_default());
    let made = Command::new("python3").arg(&script).args(words).output();
    let made = made.map_err(|e| format!("python3 {}: {e}", script.display()))?;
    let mut judge = Judge::default();
    let mut hash = String::new();
    for byte in Sha256::digest(&made.stdout) {
        // Writing to a string cannot fail.
        write!(hash, "{byte:02x}").unwrap_or_default();
    }
    judge.same("hash of the recipe's output", &case.sha256, &hash);
    if hash == case.sha256 {
        if case.kind == "programme" {
            judge_programme(case, &made.stdout, &mut judge)?;
        } else {
            judge_rounds(case, &made.stdout, &mut judge)?;
        }
    }
    report.case("recipe", &case.name, judge.judged, judge.misses);
    Ok(())
}

/// 0.5 % of our own certified bound or the known one in five minutes (issue 8).
fn judge_programme(case: &RecipeCase, text: &[u8], judge: &mut Judge) -> Result<(), String> {
    let problem = serde_json::from_slice(text).map_err(|e| format!("{}: {e}", case.name))?;
    let settings = super::programme::settings();
    let answer = programme::solve(
        &problem,
        settings,
        &processor_seconds(300.0, settings.threads),
    );
    super::programme::judge_plan(judge, &problem, &answer);
    let bound = answer.bound.max(case.bound);
    judge_open(
        judge,
        answer.cost,
        case.objective.unwrap_or(0),
        bound,
        0.005,
    );
    judge.same("not below a proven bound", true, answer.cost >= case.bound);
    Ok(())
}

/// 8 % in 120 s (issue 8).
fn judge_rounds(case: &RecipeCase, text: &[u8], judge: &mut Judge) -> Result<(), String> {
    let problem = serde_json::from_slice(text).map_err(|e| format!("{}: {e}", case.name))?;
    let settings = rounds::Settings::default();
    let answer = rounds::solve(
        &problem,
        settings,
        &processor_seconds(120.0, 1),
        &mut |_, _| (),
    );
    super::rounds::judge_plan(judge, &problem, &answer);
    let bound = answer.bound.max(case.bound);
    judge_open(judge, answer.cost, case.objective.unwrap_or(0), bound, 0.08);
    judge.same("not below a proven bound", true, answer.cost >= case.bound);
    Ok(())
}
