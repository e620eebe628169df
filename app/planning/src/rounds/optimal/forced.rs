//! A lower bound on the points of a re-plan: what cannot stay, round by round.
//!
//! A job's best way out is a swap if anybody else could come at its minute, else a move if any round from
//! now on could do it alone, else it is left out. In each round the visits that could stay are pinned to
//! their minutes, so whether two of them can stand next to each other is settled pair by pair (travel
//! obeys the triangle inequality) and the dearest set that can stay is a longest path; the others take
//! their way out.
use super::mend::{may_come, may_start};
use super::model::MoveCosts;
use super::replan::Was;
use super::tables::Tables;

/// A visit that could stay.
struct Pinned {
    start: i32,
    end: i32,
    place: usize,
    jobs: Vec<usize>,
}

/// No plan has fewer points than this.
pub(super) fn forced_points(
    tables: &Tables<'_>,
    was: &[Option<Was>],
    costs: &MoveCosts,
    now: usize,
) -> i64 {
    let mut sum = 0;
    let mut rounds: Vec<Vec<Pinned>> = (0..tables.shifts.len()).map(|_| Vec::new()).collect();
    let mut way_out = vec![0; was.len()];
    for (job, was) in was.iter().enumerate() {
        let placeable = anywhere(tables, job, now);
        let Some(was) = was.as_ref() else {
            sum += if placeable { 0 } else { costs.drop };
            continue;
        };
        if was.day < now {
            continue;
        }
        way_out[job] = if elsewhere(tables, job, was) {
            costs.swap
        } else if placeable {
            costs.shift
        } else {
            costs.drop
        };
        let holds = was.engineers.len() == usize::from(tables.problem.jobs[job].crew)
            && was.engineers.iter().all(|e| alone(tables, job, was, *e));
        if holds && was.engineers.len() == 1 {
            let r = tables.round(was.engineers[0], was.day);
            rounds[r].push(Pinned {
                start: was.start,
                end: was.start + tables.length(&[job]),
                place: tables.place(job),
                jobs: vec![job],
            });
        } else if !holds {
            sum += way_out[job];
        }
    }
    let stuck = rounds
        .into_iter()
        .map(|pinned| round_points(tables, pinned, &way_out));
    sum + stuck.sum::<i64>()
}

/// Whether one engineer could do the job alone at its old minute on that day.
fn alone(tables: &Tables<'_>, job: usize, was: &Was, engineer: usize) -> bool {
    let r = tables.round(engineer, was.day);
    let Some(shift) = tables.shifts[r] else {
        return false;
    };
    let base = tables.problem.engineers[engineer].base;
    let out = tables.way(base, tables.place(job));
    may_come(tables, &[job], was.day, engineer)
        && may_start(tables, &[job], was.day, was.start)
        && was.start >= shift[0] + out
        && was.start + tables.length(&[job]) + out <= shift[1]
}

/// Whether anybody else could come at the old minute.
fn elsewhere(tables: &Tables<'_>, job: usize, was: &Was) -> bool {
    let serves = &tables.serves[tables.problem.jobs[job].building];
    let able = |e: &&usize| alone(tables, job, was, **e);
    if tables.problem.jobs[job].crew == 1 {
        return serves.iter().filter(able).any(|e| was.engineers != [*e]);
    }
    let able: Vec<&usize> = serves.iter().filter(able).collect();
    able.len() > 2 || able.iter().any(|e| !was.engineers.contains(e))
}

/// Whether any round from now on could do the job and nothing else.
fn anywhere(tables: &Tables<'_>, job: usize, now: usize) -> bool {
    super::visits::bundle(tables, vec![job])
        .is_some_and(|b| b.rounds.iter().any(|r| *r as usize % tables.days >= now))
}

/// Points of those that cannot stay beside each other in a round.
fn round_points(tables: &Tables<'_>, pinned: Vec<Pinned>, way_out: &[i64]) -> i64 {
    // Flatmates at one minute were one visit and stay one visit, if it can last so long.
    let mut visits: Vec<Pinned> = Vec::new();
    for visit in pinned {
        let space = tables.space_of[visit.jobs[0]];
        let mate = visits
            .iter_mut()
            .find(|v| v.start == visit.start && tables.space_of[v.jobs[0]] == space);
        match mate {
            // Kept as short as its shortest job, which only loosens the bound.
            Some(mate) => {
                mate.end = mate.end.min(visit.end);
                mate.jobs.extend(visit.jobs);
            }
            None => visits.push(visit),
        }
    }
    visits.sort_by_key(|v| (v.start, v.end));
    let weight = |v: &Pinned| v.jobs.iter().map(|j| way_out[*j]).sum::<i64>();
    let total: i64 = visits.iter().map(&weight).sum();
    let mut stays: Vec<i64> = Vec::with_capacity(visits.len());
    for (i, visit) in visits.iter().enumerate() {
        let before = (0..i).filter(|k| {
            let other = &visits[*k];
            other.end + tables.way(other.place, visit.place) <= visit.start
        });
        let best = before.map(|k| stays[k]).max().unwrap_or(0);
        stays.push(best + weight(visit));
    }
    total - stays.into_iter().max().unwrap_or(0)
}
