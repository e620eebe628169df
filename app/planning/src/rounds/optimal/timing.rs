//! The shortest way through a given set of visits in one round, if the clock allows any.
//!
//! Dynamic programming over subsets (Held and Karp, "A dynamic programming approach to sequencing
//! problems", 1962) with labels (minutes travelled, minute free) of which none beats another in both.
use super::model::Span;
use super::tables::{Tables, first_start};

/// A visit to be ordered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Call {
    /// Place in the travel table.
    pub place: usize,
    /// Minutes.
    pub length: i32,
    /// Possible starts; empty = any.
    pub starts: Vec<Span>,
}

/// A round in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Route {
    /// Minutes travelled.
    pub travel: i32,
    /// Indices of the calls in order.
    pub order: Vec<usize>,
}

/// Most calls that are put in order exactly.
pub const MOST_CALLS: usize = 13;

#[derive(Clone, Copy)]
struct Label {
    travel: i32,
    free: i32,
    /// (last call, label) before.
    from: (usize, usize),
}

/// The shortest feasible order of `calls` in a shift from a base; `None` where there is none.
pub fn shortest(tables: &Tables<'_>, base: usize, shift: Span, calls: &[Call]) -> Option<Route> {
    let n = calls.len();
    if n == 0 {
        return Some(Route {
            travel: 0,
            order: Vec::new(),
        });
    }
    let mut table: Vec<Vec<Label>> = vec![Vec::new(); n << n];
    let step = |from: usize, travel: i32, free: i32, to: usize, back: (usize, usize)| {
        let way = tables.way(from, calls[to].place);
        let start = first_start(&calls[to].starts, free + way)?;
        let free = start + calls[to].length;
        (free + tables.way(calls[to].place, base) <= shift[1]).then_some(Label {
            travel: travel + way,
            free,
            from: back,
        })
    };
    for to in 0..n {
        if let Some(label) = step(base, 0, shift[0], to, (usize::MAX, 0)) {
            table[(1 << to) * n + to].push(label);
        }
    }
    for mask in 1..1usize << n {
        for last in (0..n).filter(|i| mask >> i & 1 == 1) {
            for k in 0..table[mask * n + last].len() {
                let here = table[mask * n + last][k];
                for to in (0..n).filter(|i| mask >> i & 1 == 0) {
                    let place = calls[last].place;
                    if let Some(label) = step(place, here.travel, here.free, to, (last, k)) {
                        keep(&mut table[(mask | 1 << to) * n + to], label);
                    }
                }
            }
        }
    }
    best_route(tables, base, calls, &table)
}

/// Keeps a label unless another is as short and as early. Those it beats stay: they may be named already.
fn keep(labels: &mut Vec<Label>, label: Label) {
    let beaten = labels
        .iter()
        .any(|l| l.travel <= label.travel && l.free <= label.free);
    if !beaten {
        labels.push(label);
    }
}

fn best_route(
    tables: &Tables<'_>,
    base: usize,
    calls: &[Call],
    table: &[Vec<Label>],
) -> Option<Route> {
    let n = calls.len();
    let full = (1usize << n) - 1;
    let mut best: Option<(i32, usize, usize)> = None;
    for last in 0..n {
        for (k, label) in table[full * n + last].iter().enumerate() {
            let travel = label.travel + tables.way(calls[last].place, base);
            if best.is_none_or(|b| travel < b.0) {
                best = Some((travel, last, k));
            }
        }
    }
    let (travel, mut last, mut k) = best?;
    let (mut order, mut mask) = (Vec::new(), full);
    while last != usize::MAX {
        order.push(last);
        let from = table[mask * n + last][k].from;
        mask ^= 1 << last;
        (last, k) = from;
    }
    order.reverse();
    Some(Route { travel, order })
}

/// The shortest tour of places from a base, the clock aside.
pub fn tour(tables: &Tables<'_>, base: usize, places: &[usize]) -> i32 {
    let calls: Vec<Call> = places
        .iter()
        .map(|place| Call {
            place: *place,
            length: 0,
            starts: Vec::new(),
        })
        .collect();
    let shift = [0, i32::MAX / 4];
    shortest(tables, base, shift, &calls).map_or(0, |route| route.travel)
}
