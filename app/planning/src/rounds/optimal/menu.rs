//! What a round could do, nearest building first: the items of its knapsack.
use super::tables::Tables;
use super::visits::{Bundle, MOST_TOGETHER};

/// Visits of one space that a round could do, next to each other.
pub struct Offer {
    /// Their places among the items.
    pub bundles: std::ops::Range<usize>,
}

/// What each round could do, nearest building first.
pub struct Menu {
    /// Indices of bundles.
    pub items: Vec<u32>,
    /// Items of one space.
    pub offers: Vec<Offer>,
    /// (one past the last offer, 2D in minutes) for each distance.
    pub reaches: Vec<(usize, i32)>,
}

/// Items of a round by distance, then by space.
pub fn menu(tables: &Tables<'_>, bundles: &[Bundle], r: usize, mut items: Vec<u32>) -> Menu {
    let base = tables.problem.engineers[r / tables.days].base;
    let way = |i: &u32| {
        let building = bundles[*i as usize].building;
        2 * tables.way(base, tables.problem.buildings[building].place)
    };
    // Spaces of one job each where the subsets of a space were not enumerated.
    let space = |i: &u32| {
        let jobs = &bundles[*i as usize].jobs;
        let space = tables.space_of[jobs[0]];
        let crowded = tables.spaces[space].len() > MOST_TOGETHER;
        (space, if crowded { jobs[0] } else { 0 })
    };
    items.sort_by_key(|i| (way(i), space(i)));
    let mut offers: Vec<Offer> = Vec::new();
    let mut reaches: Vec<(usize, i32)> = Vec::new();
    let mut at = 0;
    for group in items.chunk_by(|a, b| space(a) == space(b)) {
        let end = at + group.len();
        if closed(bundles, group) {
            offers.push(Offer { bundles: at..end });
        } else {
            // Two visits to one space that cannot be one: each stands alone, which only loosens the bound.
            offers.extend((at..end).map(|i| Offer { bundles: i..i + 1 }));
        }
        at = end;
        let way = way(&group[0]);
        match reaches.last_mut().filter(|reach| reach.1 == way) {
            Some(reach) => reach.0 = offers.len(),
            None => reaches.push((offers.len(), way)),
        }
    }
    Menu {
        items,
        offers,
        reaches,
    }
}

/// Whether any two visits of a space that could stand side by side in a round could also be one.
fn closed(bundles: &[Bundle], group: &[u32]) -> bool {
    let jobs = |i: &u32| &bundles[*i as usize].jobs;
    group.iter().enumerate().all(|(k, a)| {
        group[k + 1..].iter().all(|b| {
            let apart = jobs(a).iter().all(|j| !jobs(b).contains(j));
            !apart
                || group.iter().any(|c| {
                    jobs(c).len() == jobs(a).len() + jobs(b).len()
                        && jobs(a).iter().chain(jobs(b)).all(|j| jobs(c).contains(j))
                })
        })
    })
}
