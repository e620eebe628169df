//! Two-person jobs: two rounds of one day, one start.
use super::diary::Diary;
use super::recreate::{BLINK, Place};
use super::tables::first_start;
use crate::dice::Dice;

/// The cheapest place for a pair: two rounds of one day, one start, one of the two able to lead.
pub fn pair_place(
    diary: &Diary<'_>,
    dice: &mut Dice,
    job: usize,
    from: u32,
    most: i64,
) -> Option<Place> {
    let tables = diary.tables;
    let problem = tables.problem;
    let costs = &problem.costs;
    let card = &problem.jobs[job];
    let (spot, length) = (tables.place(job), tables.length(&[job]));
    let serves = &tables.serves[card.building];
    let named = card.fixed.as_ref().and_then(|f| f.engineer);
    let mut best: Option<Place> = None;
    let mut most = most;
    for &day in tables.open[job].iter().filter(|day| **day >= from) {
        let day = day as usize;
        let late = diary.delay(&[job], day) + 2 * costs.visit;
        if late >= most {
            continue;
        }
        let Some(starts) = tables.starts(&[job], day) else {
            continue;
        };
        let late = late + diary.week_costs(day, 2 * length);
        let mut gaps = Vec::new();
        for &engineer in serves {
            let r = tables.round(engineer, day);
            let round = &diary.rounds[r];
            let room = round.slack() >= length && diary.has_week(r, length);
            if !room || dice.unit() < BLINK {
                continue;
            }
            let leads = tables.leads[job].contains(&engineer);
            for at in 0..=round.stops.len() {
                if let Some(gap) = round.gap(tables, at, spot, length, &starts) {
                    gaps.push((engineer, leads, r, gap));
                }
            }
        }
        // Shortest detours first: where two of them cost too much already, so do all that follow.
        gaps.sort_by_key(|gap| gap.3.detour);
        let cost = |a: i32, b: i32| late + costs.travel * i64::from(a + b);
        for (i, a) in gaps.iter().enumerate() {
            if cost(a.3.detour, a.3.detour) >= most {
                break;
            }
            for b in &gaps[i + 1..] {
                let delta = cost(a.3.detour, b.3.detour);
                if delta >= most {
                    break;
                }
                let together = a.0 != b.0 && (a.1 || b.1);
                // A named engineer binds every visit of the job: no pair can keep that.
                if !together || named.is_some() {
                    continue;
                }
                let from = a.3.from.max(b.3.from);
                let start = first_start(&starts, from).filter(|s| *s <= a.3.until.min(b.3.until));
                if let Some(start) = start {
                    most = delta;
                    best = Some(Place {
                        delta,
                        at: vec![(a.2, a.3.at), (b.2, b.3.at)],
                        joins: false,
                        starts: vec![[start, start]],
                    });
                }
            }
        }
    }
    best
}
