//! Scores a re-plan against the plan before, from the rules alone; shares nothing with the planner. Written from
//! `reference/planning/README.md` §3.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::audit::{Breach, Rule, audit};
use super::model::{Disruption, Visit};

/// What a re-plan moved.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moves {
    /// Points: drop·left out + move·moved + swap·swapped.
    pub points: i64,
    /// Jobs left out, those left out before with them.
    pub left_out: usize,
    /// Jobs at another day or start.
    pub moved: Vec<usize>,
    /// Jobs at the same time with another engineer.
    pub swapped: Vec<usize>,
}

/// Scores a whole new plan against the one before.
pub fn audit_moves(case: &Disruption, visits: &[Visit]) -> (Moves, Vec<Breach>) {
    let (parts, mut breaches) = audit(&case.instance, visits);
    let known = case.instance.jobs.len();
    let (old, new) = (times(&case.before), times(visits));
    let mut moves = Moves {
        left_out: parts.left_out,
        ..Moves::default()
    };
    let mut note = |rule: Rule, job: usize| {
        breaches.push(Breach {
            rule,
            job: Some(job),
            round: None,
        });
    };
    for (job, was) in old.iter().filter(|(job, _)| **job < known) {
        let is = new.get(job);
        if was[0].0 < case.now {
            if is != Some(was) {
                note(Rule::Past, *job);
            }
        } else if let Some(is) = is {
            let hours = |t: &Vec<(i32, i32, usize)>| -> BTreeSet<(i32, i32)> {
                t.iter().map(|x| (x.0, x.1)).collect()
            };
            if hours(was) != hours(is) {
                moves.moved.push(*job);
            } else if was != is {
                moves.swapped.push(*job);
            }
        }
    }
    for (job, is) in &new {
        if is[0].0 < case.now && old.get(job) != Some(is) {
            note(Rule::BeforeNow, *job);
        }
    }
    moves.points = case.costs.drop * moves.left_out as i64
        + case.costs.shift * moves.moved.len() as i64
        + case.costs.swap * moves.swapped.len() as i64;
    (moves, breaches)
}

/// (day, start, engineer) of each job, sorted.
fn times(visits: &[Visit]) -> BTreeMap<usize, Vec<(i32, i32, usize)>> {
    let mut out: BTreeMap<usize, Vec<(i32, i32, usize)>> = BTreeMap::new();
    for visit in visits {
        for job in &visit.jobs {
            let here = (visit.day, visit.start, visit.engineer);
            out.entry(*job).or_default().push(here);
        }
    }
    for list in out.values_mut() {
        list.sort_unstable();
    }
    out
}
