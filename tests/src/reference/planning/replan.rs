//! Re-plans: the fewest points.
use std::path::Path;

use planning::rounds::optimal::audit_moves::audit_moves;
use planning::rounds::optimal::model::{Disruption, Visit};
use planning::rounds::optimal::replan::replan;
use serde::Deserialize;

use super::files::json;
use super::known::ReplanCase;
use super::scorer::{Ours, Scorer, keep_and_score};
use super::seconds;
use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// Issue 8: a re-plan at 1,000 jobs takes at most two seconds.
const SECONDS: f64 = 2.0;

#[derive(Deserialize)]
struct Solution {
    visits: Vec<Visit>,
}

/// One case.
pub fn run(folder: &Path, case: &ReplanCase, report: &mut Report) -> Result<(), String> {
    let instance = folder.join(&case.instance);
    let disruption: Disruption = json(&instance)?;
    let known: Solution = json(&folder.join(&case.solution))?;
    let mut judge = Judge::default();
    let (moves, breaches) = audit_moves(&disruption, &known.visits);
    judge.same("known solution, audited", case.objective, moves.points);
    judge.same("breaches of the known solution", 0, breaches.len());
    let mended = replan(&disruption, 1, &seconds(SECONDS));
    let (moves, breaches) = audit_moves(&disruption, &mended.visits);
    judge.same("breaches", 0, breaches.len());
    judge.same("points as audited", moves.points, mended.points);
    if case.optimal {
        judge.same("points", case.objective, mended.points);
    } else {
        judge.same(
            "points at or below the best known",
            true,
            mended.points <= case.objective,
        );
    }
    judge.same(
        "bound not above a known solution",
        true,
        mended.at_least <= case.objective,
    );
    report.case("replan", &case.name, judge.judged, judge.misses);
    let ours = Ours {
        name: &case.name,
        instance: &instance,
        plan: super::rounds::solution(&mended.visits),
        objective: mended.points,
    };
    keep_and_score(Scorer::Rounds, folder, &ours, report)
}
