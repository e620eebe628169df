//! The plain way of making rounds, to show what planning saves: due order.
//!
//! Promised first, then pairs, then by latest day; each job on the first day of its window with the
//! nearest qualified engineer who has room at the end of the day; no bundling. Source:
//! `reference/planning/README.md` §7.
use super::diary::Diary;
use super::model::{Problem, Visit};
use super::round::Gap;
use super::tables::{Tables, first_start};

/// The visits of the plain way.
pub fn due_order(problem: &Problem) -> Vec<Visit> {
    let tables = Tables::of(problem);
    let mut diary = Diary::empty(&tables);
    let mut order: Vec<usize> = (0..problem.jobs.len()).collect();
    order.sort_by_key(|j| {
        let job = &problem.jobs[*j];
        (job.fixed.is_none(), job.crew == 1, job.latest, *j)
    });
    for job in order {
        for &day in &tables.open[job] {
            if place(&mut diary, job, day as usize) {
                break;
            }
        }
    }
    diary.visits()
}

/// Room at the end of a round (a promised visit: anywhere its minute allows).
fn room(diary: &Diary<'_>, job: usize, r: usize) -> Option<Gap> {
    let tables = diary.tables;
    let starts = tables.starts(&[job], diary.day(r))?;
    let round = &diary.rounds[r];
    round.shift?;
    let length = tables.length(&[job]);
    let last = round.stops.len();
    let promised = tables.problem.jobs[job].fixed.is_some();
    if !promised && !diary.has_week(r, length) {
        return None;
    }
    let from = if promised { 0 } else { last };
    (from..=last)
        .rev()
        .find_map(|at| round.gap(tables, at, tables.place(job), length, &starts))
}

fn place(diary: &mut Diary<'_>, job: usize, day: usize) -> bool {
    let tables = diary.tables;
    let card = &tables.problem.jobs[job];
    let named = card.fixed.as_ref().and_then(|f| f.engineer);
    let far = |e: &usize| {
        let base = tables.problem.engineers[*e].base;
        (tables.way(base, tables.place(job)), *e)
    };
    let mut able: Vec<usize> = tables.serves[card.building].clone();
    able.retain(|e| named.is_none_or(|n| n == *e));
    able.sort_by_key(far);
    let gaps: Vec<(usize, usize, Gap)> = able
        .iter()
        .filter_map(|e| {
            let r = tables.round(*e, day);
            room(diary, job, r).map(|gap| (*e, r, gap))
        })
        .collect();
    let leads = |e: usize| tables.leads[job].contains(&e);
    let starts = tables.starts(&[job], day).unwrap_or_default();
    if card.crew == 1 {
        let Some((_, r, gap)) = gaps.into_iter().find(|(e, ..)| leads(*e)) else {
            return false;
        };
        // The minute is fixed at once: what comes later goes behind it.
        diary.insert(r, gap.at, vec![job], vec![[gap.from, gap.from]]);
        return true;
    }
    for (i, a) in gaps.iter().enumerate() {
        for b in &gaps[i + 1..] {
            let start = first_start(&starts, a.2.from.max(b.2.from));
            let start = start.filter(|s| *s <= a.2.until.min(b.2.until));
            if let Some(start) = start.filter(|_| leads(a.0) || leads(b.0)) {
                for (r, at) in [(a.1, a.2.at), (b.1, b.2.at)] {
                    diary.insert(r, at, vec![job], vec![[start, start]]);
                }
                return true;
            }
        }
    }
    false
}
