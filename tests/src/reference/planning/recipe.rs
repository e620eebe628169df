//! Sizes made from a recipe: the generator beside the cases is run, its output checked by its hash.
use std::fmt::Write;
use std::path::Path;
use std::process::Command;

use planning::programme::optimal::model::Problem;
use planning::programme::optimal::solve as programme;
use planning::rounds::optimal::solve as rounds;
use sha2::{Digest, Sha256};

use super::known::RecipeCase;
use super::scorer::{Ours, Scorer, keep_and_score};
use super::{gaps, judge_open, most_memory, processor_seconds};
use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// What issue 8 gives the largest programme.
const EIGHT_GIB: f64 = 8.0 * 1024.0 * MIB;
const MIB: f64 = 1024.0 * 1024.0;

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
    if hash != case.sha256 {
        report.case("recipe", &case.name, judge.judged, judge.misses);
        return Ok(());
    }
    let programme = case.kind == "programme";
    let (plan, objective, gap) = if programme {
        judge_programme(case, &made.stdout, &mut judge)?
    } else {
        judge_rounds(case, &made.stdout, &mut judge)?
    };
    report.case("recipe", &case.name, judge.judged, judge.misses);
    report.remark(gap);
    let place = format!("{}-{}.json", case.name, std::process::id());
    let instance = std::env::temp_dir().join(place);
    std::fs::write(&instance, &made.stdout).map_err(|e| format!("{}: {e}", instance.display()))?;
    let scorer = if programme {
        Scorer::Programme
    } else {
        Scorer::Rounds
    };
    let ours = Ours {
        name: &case.name,
        instance: &instance,
        plan,
        objective,
    };
    let scored = keep_and_score(scorer, folder, &ours, report);
    // It was written for the scorer alone; the recipe makes it again.
    std::fs::remove_file(&instance).unwrap_or_default();
    scored
}

/// Our plan in the scorer's form, its objective, the gaps in words.
type Judged = (serde_json::Value, i64, String);

/// 0.5 % of our own certified bound or the known one in five minutes and 8 GiB (issue 8).
fn judge_programme(case: &RecipeCase, text: &[u8], judge: &mut Judge) -> Result<Judged, String> {
    let problem: Problem =
        serde_json::from_slice(text).map_err(|e| format!("{}: {e}", case.name))?;
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
    // Of the whole process, so of all that was judged before it too: no less than what this plan took.
    let held = most_memory();
    let within = held.is_none_or(|bytes| bytes <= EIGHT_GIB);
    judge.same("within 8 GiB", true, within);
    let mut gap = gaps(answer.cost, bound, Some(answer.unavoidable));
    if let Some(bytes) = held {
        write!(gap, ", at most {:.0} MiB held", bytes / MIB).unwrap_or_default();
    }
    Ok((super::programme::solution(&answer), answer.cost, gap))
}

/// 8 % in 120 s (issue 8).
fn judge_rounds(case: &RecipeCase, text: &[u8], judge: &mut Judge) -> Result<Judged, String> {
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
    let gap = gaps(answer.cost, bound, None);
    Ok((super::rounds::solution(&answer.visits), answer.cost, gap))
}
