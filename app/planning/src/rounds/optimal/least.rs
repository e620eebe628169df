//! LB0: the plain lower bound, space by space.
//!
//! For engineer e with hours H on day d and D = travel(base, building): κ(e,d,b) = 2D / (H − 2D). On any
//! round, minutes travelled ≥ Σ_visits length·κ of its building, because a tour is at least as long as the
//! way to each building and back, and work and tour share H. So
//! LB0 = Σ_spaces min over ways to split the space's jobs into visits and left-out jobs of
//! Σ_visits min_{e,d} [visit + travel·length·κ + Σ delay·(d − earliest)] + Σ unplaced.
//! Source: `reference/planning/README.md` §4.
use super::tables::Tables;
use super::visits::{Bundle, MOST_TOGETHER, bundles};

/// LB0 with its split.
#[derive(Clone, Debug)]
pub struct Least {
    /// The bound, pence.
    pub value: f64,
    /// A price for each job: its share of what its space costs in the bound.
    pub prices: Vec<f64>,
    /// Jobs that no round can do.
    pub impossible: Vec<usize>,
    /// Every bundle there is.
    pub bundles: Vec<Bundle>,
    /// Part of `value` paid for visits and for jobs left out for certain, pence.
    pub visits_part: f64,
}

/// κ(e,d,b) of a round and a place; infinite where the place cannot be reached and left again.
pub fn kappa(tables: &Tables<'_>, round: usize, place: usize) -> f64 {
    let Some(shift) = tables.shifts[round] else {
        return f64::INFINITY;
    };
    let base = tables.problem.engineers[round / tables.days].base;
    let there = 2.0 * f64::from(tables.way(base, place));
    let hours = f64::from(shift[1] - shift[0]);
    if hours > there {
        there / (hours - there)
    } else {
        f64::INFINITY
    }
}

/// Least cost of a bundle by LB0, pence.
fn cheapest(tables: &Tables<'_>, bundle: &Bundle) -> f64 {
    let costs = &tables.problem.costs;
    let place = tables.problem.buildings[bundle.building].place;
    let mut by_day: Vec<(usize, f64, usize)> = bundle
        .rounds
        .iter()
        .map(|r| {
            let r = *r as usize;
            let way = kappa(tables, r, place) * f64::from(bundle.length);
            let cost = costs.visit as f64 + costs.travel as f64 * way;
            (r % tables.days, cost, r / tables.days)
        })
        .collect();
    by_day.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut best = f64::INFINITY;
    for group in by_day.chunk_by(|a, b| a.0 == b.0) {
        let day = group[0].0;
        let late: i64 = bundle
            .jobs
            .iter()
            .map(|j| {
                let job = &tables.problem.jobs[*j];
                job.delay * i64::from(day as i32 - job.earliest)
            })
            .sum();
        let cost = if bundle.pair {
            let leads = &tables.leads[bundle.jobs[0]];
            let two = group
                .iter()
                .filter(|a| leads.contains(&a.2))
                .filter_map(|a| {
                    let mate = group.iter().find(|b| b.2 != a.2)?;
                    Some(a.1 + mate.1)
                });
            two.fold(f64::INFINITY, f64::min)
        } else {
            group[0].1
        };
        best = best.min(cost + late as f64);
    }
    best
}

/// LB0 of the whole problem.
pub fn least(tables: &Tables<'_>) -> Least {
    let mut out = Least {
        value: 0.0,
        prices: vec![0.0; tables.problem.jobs.len()],
        impossible: Vec::new(),
        bundles: Vec::new(),
        visits_part: 0.0,
    };
    for space in 0..tables.spaces.len() {
        if tables.spaces[space].len() > MOST_TOGETHER {
            crowded(tables, space, &mut out);
        } else {
            small(tables, space, &mut out);
        }
    }
    out
}

/// Split of a space by dynamic programming over subsets of its jobs.
fn small(tables: &Tables<'_>, space: usize, out: &mut Least) {
    let jobs = &tables.spaces[space];
    let all = bundles(tables, space);
    let cost: Vec<f64> = all
        .iter()
        .map(|b| b.as_ref().map_or(f64::INFINITY, |b| cheapest(tables, b)))
        .collect();
    let unplaced = |i: usize| tables.problem.jobs[jobs[i]].unplaced as f64;
    let full = 1usize << jobs.len();
    // Least cost of a subset, and the last visit of that split (0 = the lowest job left out).
    let mut table = vec![(0.0, 0usize); full];
    for mask in 1..full {
        let low = mask.trailing_zeros() as usize;
        table[mask] = (table[mask & (mask - 1)].0 + unplaced(low), 0);
        let mut part = mask;
        while part > 0 {
            if part >> low & 1 == 1 {
                let sum = table[mask ^ part].0 + cost[part];
                if sum < table[mask].0 {
                    table[mask] = (sum, part);
                }
            }
            part = (part - 1) & mask;
        }
    }
    out.value += table[full - 1].0;
    let mut mask = full - 1;
    while mask > 0 {
        let part = table[mask].1;
        if part == 0 {
            let low = mask.trailing_zeros() as usize;
            out.prices[jobs[low]] = unplaced(low);
            if all[1 << low].is_none() {
                out.visits_part += unplaced(low);
            }
            mask &= mask - 1;
            continue;
        }
        if let Some(bundle) = &all[part] {
            out.visits_part += bundle.visit * if bundle.pair { 2.0 } else { 1.0 };
            let work: i32 = bundle
                .jobs
                .iter()
                .map(|j| tables.problem.jobs[*j].minutes)
                .sum();
            for job in &bundle.jobs {
                let share = f64::from(tables.problem.jobs[*job].minutes) / f64::from(work.max(1));
                out.prices[*job] = cost[part] * share;
            }
        }
        mask ^= part;
    }
    for (i, job) in jobs.iter().enumerate() {
        if all[1 << i].is_none() {
            out.impossible.push(*job);
        }
    }
    out.bundles.extend(all.into_iter().flatten());
}

/// A space with so many jobs that its subsets are not enumerated: each job bears its share of one visit
/// and of no set-up time, which no visit can undercut.
fn crowded(tables: &Tables<'_>, space: usize, out: &mut Least) {
    let jobs = &tables.spaces[space];
    let costs = &tables.problem.costs;
    for &job in jobs {
        let Some(mut bundle) = super::visits::bundle(tables, vec![job]) else {
            out.impossible.push(job);
            out.value += tables.problem.jobs[job].unplaced as f64;
            out.visits_part += tables.problem.jobs[job].unplaced as f64;
            continue;
        };
        let place = tables.problem.buildings[bundle.building].place;
        let card = &tables.problem.jobs[job];
        let least = bundle.rounds.iter().map(|r| {
            let r = *r as usize;
            let late = card.delay * i64::from((r % tables.days) as i32 - card.earliest);
            costs.travel as f64 * kappa(tables, r, place) * f64::from(card.minutes) + late as f64
        });
        let visit = costs.visit as f64 / jobs.len() as f64;
        let least = least.fold(f64::INFINITY, f64::min) + visit;
        out.prices[job] = least.min(card.unplaced as f64);
        out.value += out.prices[job];
        out.visits_part += visit;
        (bundle.visit, bundle.length) = (visit, card.minutes);
        out.bundles.push(bundle);
    }
}
