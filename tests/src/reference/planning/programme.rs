//! Programmes: the plan against the known optimum, the audit against the known solution, clash sets.
use std::path::Path;

use planning::programme::optimal::audit::audit;
use planning::programme::optimal::clash::clash;
use planning::programme::optimal::limits::Limit;
use planning::programme::optimal::model::{Plan, Problem};
use planning::programme::optimal::solve::{Answer, Verdict, solve};
use planning::programme::optimal::{Settings, plain};
use serde::Deserialize;

use super::clash_set;
use super::files::json;
use super::known::{Baseline, Case, ClashCase};
use super::scorer::{Ours, Scorer, keep_and_score};
use super::{gaps, judge_open, processor_seconds, seconds};
use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// Relative difference at which two objectives are the same (README of the cases).
const SAME: f64 = 1e-6;

#[derive(Deserialize)]
struct Solution {
    plan: Plan,
}

/// Seconds of the processors and the gap asked for by size, where the optimum is not known (issue 8).
fn asked(case: &Case) -> (f64, f64) {
    match case.units.unwrap_or(0) {
        0..=1000 => (60.0, 0.002),
        _ => (120.0, 0.005),
    }
}

/// Seconds after which a known optimum counts as missed: for these no time is asked for.
const OPTIMUM: f64 = 1_500.0;

/// One instance.
pub fn run(
    folder: &Path,
    case: &Case,
    baseline: Option<&Baseline>,
    report: &mut Report,
) -> Result<(), String> {
    let instance = folder.join(&case.instance);
    let problem: Problem = json(&instance)?;
    let known: Solution = json(&folder.join(&case.solution))?;
    let mut judge = Judge::default();
    let (cost, breaches) = audit(&problem, &known.plan);
    judge.same("known solution, audited", case.objective, cost);
    judge.same("breaches of the known solution", 0, breaches.len());
    judge.same("unavoidable", case.floor, Some(problem.unavoidable()));
    let (time, gap) = asked(case);
    let answer = if case.optimal {
        solve(&problem, alone(), &seconds(OPTIMUM))
    } else {
        let allowance = processor_seconds(time, settings().threads);
        solve(&problem, settings(), &allowance)
    };
    judge_plan(&mut judge, &problem, &answer);
    let objective = answer.cost as f64;
    let tolerance = SAME * case.objective as f64;
    if case.optimal {
        let known = case.objective as f64;
        judge.number("objective", Some(known), Some(objective), tolerance);
    } else {
        let bound = answer.bound.max(case.bound);
        judge_open(&mut judge, answer.cost, case.objective, bound, gap);
    }
    let possible = objective >= case.bound as f64 - tolerance;
    judge.same("not below a proven bound", true, possible);
    let honest = answer.bound as f64 <= case.objective as f64 + tolerance;
    judge.same("bound not above a known solution", true, honest);
    if let Some(baseline) = baseline {
        plain_ways(&mut judge, &problem, baseline);
    }
    report.case("programme", &case.name, judge.judged, judge.misses);
    let bound = answer.bound.max(case.bound);
    report.remark(gaps(answer.cost, bound, case.floor));
    let ours = Ours {
        name: &case.name,
        instance: &instance,
        plan: solution(&answer),
        objective: answer.cost,
    };
    keep_and_score(Scorer::Programme, folder, &ours, report)
}

/// A plan in the scorers' form.
pub fn solution(answer: &Answer) -> serde_json::Value {
    serde_json::json!({"schema": "programme-solution-1", "plan": answer.plan})
}

/// Two threads, as on the machine the figures were asked for.
pub fn settings() -> Settings {
    Settings {
        threads: 2,
        ..Settings::default()
    }
}

/// One thread: another case is at work beside it.
fn alone() -> Settings {
    Settings {
        threads: 1,
        ..Settings::default()
    }
}

/// What must hold of every plan of ours.
pub fn judge_plan(judge: &mut Judge, problem: &Problem, answer: &Answer) {
    let found = matches!(answer.verdict, Verdict::Optimal | Verdict::WithinGap);
    judge.same("a plan was found", true, found);
    let Some(plan) = &answer.plan else { return };
    let (cost, breaches) = audit(problem, plan);
    judge.same("breaches", 0, breaches.len());
    judge.same("cost as audited", cost, answer.cost);
    judge.same("bound at or below cost", true, answer.bound <= answer.cost);
}

fn plain_ways(judge: &mut Judge, problem: &Problem, baseline: &Baseline) {
    let ways = [
        (
            "oldest first",
            baseline.oldest,
            baseline.oldest_bad,
            plain::oldest_first(problem),
        ),
        (
            "on failure",
            baseline.failure,
            baseline.failure_bad,
            plain::on_failure(problem),
        ),
    ];
    for (name, cost, bad, plan) in ways {
        let (Some(cost), Some(bad)) = (cost, bad) else {
            continue;
        };
        let (mine, breaches) = audit(problem, &plan);
        judge.same(&format!("{name}: breaches"), bad, breaches.len());
        judge.same(name, cost, mine);
    }
}

/// A programme without a plan: said so, and the smallest clash, solved again: no plan keeps all of it, and without any one
/// of its limits a plan keeps the rest.
pub fn run_clash(folder: &Path, case: &ClashCase, report: &mut Report) -> Result<(), String> {
    let problem: Problem = json(&folder.join(&case.instance))?;
    let mut judge = Judge::default();
    let answer = solve(&problem, alone(), &seconds(60.0));
    judge.same("verdict", Verdict::Infeasible, answer.verdict);
    let settled = clash_set::more_never_helps(&problem);
    judge.same("a unit more never helps", true, settled);
    for (name, coarse, fewest, known) in [
        ("fewest limits", false, case.fewest, &case.clash),
        (
            "fewest limits, years together",
            true,
            case.coarse_fewest,
            &case.coarse_clash,
        ),
    ] {
        let found = clash(&problem, coarse, &seconds(120.0));
        let size = found.as_ref().map(|c| c.limits.len());
        judge.same(name, Some(fewest), size);
        judge.same("proven", Some(true), found.as_ref().map(|c| c.fewest));
        let ours: Vec<Limit> = found.map(|c| c.limits).unwrap_or_default();
        clashes(&mut judge, &problem, &ours, "ours");
        let known: Vec<Option<Limit>> = known.iter().map(|text| clash_set::read(text)).collect();
        judge.same(
            "known limits that cannot be read",
            false,
            known.contains(&None),
        );
        let known: Vec<Limit> = known.into_iter().flatten().collect();
        clashes(&mut judge, &problem, &known, "the known set");
    }
    report.case("clash", &case.name, judge.judged, judge.misses);
    Ok(())
}

/// A set clashes: all of it cannot be kept, and all but any one can.
fn clashes(judge: &mut Judge, problem: &Problem, set: &[Limit], whose: &str) {
    let exists = clash_set::plan_exists(problem, set);
    judge.same(&format!("{whose}: a plan keeps all of it"), false, exists);
    for gone in set {
        let rest: Vec<Limit> = set.iter().copied().filter(|l| l != gone).collect();
        let exists = clash_set::plan_exists(problem, &rest);
        let name = format!("{whose}: a plan keeps it without {gone:?}");
        judge.same(&name, true, exists);
    }
}
