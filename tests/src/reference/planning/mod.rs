//! Judges the planning cases with the room `planning`: programmes, clashes, rounds, re-plans, and the
//! audits with broken plans.
//!
//! A plan counts as `README.md` of the cases says: where the optimum is proven, the objective must equal
//! it (programme: within relative 1e-6, both being whole pence; rounds and re-plans: exactly); elsewhere it
//! must be at or below the best known, or its gap to the higher of our bound and the known one must be
//! within what issue 8 asks for its size. An objective below a proven bound, or a bound above a known
//! solution, is a failure.
mod broken;
mod clash_set;
mod files;
mod known;
mod programme;
mod recipe;
mod replan;
mod rounds;
pub mod scorer;

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use self::known::Known;
use super::Report;
use super::economics::judge::Judge;

/// Judges the folder.
///
/// # Errors
/// A sentence naming the file that cannot be read.
pub fn run(folder: &Path, report: &mut Report) -> Result<(), String> {
    let known: Known = files::json(&folder.join("known.json"))?;
    let baseline = |case: &known::Case| known.baselines.get(&case.name);
    let of = |programme: bool, optimal: Option<bool>| {
        let wanted = move |case: &&known::Case| {
            (case.kind == "programme") == programme && optimal.is_none_or(|o| case.optimal == o)
        };
        known.instances.iter().filter(wanted).collect::<Vec<_>>()
    };
    two_at_once(&of(true, Some(true)), report, |case, one| {
        programme::run(folder, case, baseline(case), one)
    })?;
    // These are judged by what both processors did together.
    for case in of(true, Some(false)) {
        programme::run(folder, case, baseline(case), report)?;
    }
    two_at_once(&of(false, None), report, |case, one| {
        rounds::run(folder, case, baseline(case), one)
    })?;
    let clashes: Vec<_> = known.infeasible.iter().collect();
    two_at_once(&clashes, report, |case, one| {
        programme::run_clash(folder, case, one)
    })?;
    for case in &known.replan {
        replan::run(folder, case, report)?;
    }
    for case in &known.from_recipe {
        if report.sizes {
            recipe::run(folder, case, report)?;
        } else {
            report.skip("recipe", &case.name, "made with --sizes only");
        }
    }
    broken::run(folder, report)
}

/// Cases that take one processor each, on two; told in their own order.
fn two_at_once<C: Sync>(
    cases: &[&C],
    report: &mut Report,
    judge: impl Fn(&C, &mut Report) -> Result<(), String> + Sync,
) -> Result<(), String> {
    let next = AtomicUsize::new(0);
    let blank = report.blank();
    let judged = || {
        let mut mine = Vec::new();
        while let Some((place, case)) = {
            let place = next.fetch_add(1, Ordering::Relaxed);
            cases.get(place).map(|case| (place, *case))
        } {
            let mut one = blank.blank();
            let found = judge(case, &mut one);
            mine.push((place, found.map(|()| one)));
        }
        mine
    };
    let mut all = std::thread::scope(|scope| {
        let other = scope.spawn(judged);
        let mut all = judged();
        all.extend(other.join().ok().ok_or("a case broke off")?);
        Ok::<_, String>(all)
    })?;
    all.sort_by_key(|(place, _)| *place);
    for (_, one) in all {
        report.take_over(one?);
    }
    Ok(())
}

/// An allowance of so many seconds from now.
fn seconds(seconds: f64) -> impl Fn() -> f64 {
    let begun = Instant::now();
    move || seconds - begun.elapsed().as_secs_f64()
}

/// An allowance of so many seconds of `threads` processors: a machine shared with others judges as an idle one does.
/// Where the system does not tell what the processor did, seconds of the wall.
fn processor_seconds(seconds: f64, threads: usize) -> impl Fn() -> f64 {
    // One thread's work is its own: another case may be at work beside it.
    let whose = if threads == 1 { "thread-self" } else { "self" };
    let (begun, used) = (Instant::now(), processor(whose));
    move || {
        let gone = match (used, processor(whose)) {
            (Some(before), Some(now)) => (now - before) / threads.max(1) as f64,
            _ => begun.elapsed().as_secs_f64(),
        };
        seconds - gone
    }
}

/// Seconds of the processor used by this process, all threads together (`self`), or by this thread (`thread-self`), in
/// hundredths.
fn processor(whose: &str) -> Option<f64> {
    let stat = std::fs::read_to_string(format!("/proc/{whose}/stat")).ok()?;
    let fields = stat.rsplit(')').next()?.split_whitespace();
    let ticks: Option<Vec<u64>> = fields.skip(11).take(2).map(|n| n.parse().ok()).collect();
    Some(ticks?.iter().sum::<u64>() as f64 / 100.0)
}

/// The most memory this process has held so far, bytes; `None` where the system does not tell.
fn most_memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib * 1024.0)
}

/// The gap, and the gap of what a plan can do something about: what nobody can avoid is left out of it.
fn gaps(cost: i64, bound: i64, unavoidable: Option<i64>) -> String {
    let share = |of: i64| (cost - bound) as f64 / of.max(1) as f64 * 100.0;
    let whole = share(cost);
    match unavoidable {
        Some(floor) if cost > floor => format!(
            "gap {whole:.3} %, of the avoidable part {:.2} %",
            share(cost - floor)
        ),
        _ => format!("gap {whole:.3} %"),
    }
}

/// Where the optimum is not proven: at or below the best known, or within a gap of the higher bound.
fn judge_open(judge: &mut Judge, got: i64, best: i64, bound: i64, gap: f64) {
    let mine = (got - bound) as f64 / got as f64;
    if got <= best {
        judge.same("objective at or below the best known", true, true);
    } else {
        judge.number("gap to the higher bound", Some(0.0), Some(mine), gap);
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use crate::reference::Report;

    #[test]
    fn every_copied_case_holds() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/planning");
        let mut report = Report::default();
        super::run(&folder, &mut report).unwrap();
        let (passed, failed, skipped) = report.counts();
        assert!(passed > 0 && failed == 0 && skipped == 0, "{report}");
    }
}
