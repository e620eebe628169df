//! What a round could do, nearest building first: the items of its knapsack.
use super::tables::Tables;
use super::visits::{Bundle, MOST_TOGETHER};

/// Visits of one space that a round could do, next to each other.
pub struct Offer {
    /// Their places among the items.
    pub bundles: std::ops::Range<usize>,
}

/// A building a round could come to.
pub struct Reach {
    /// One past its last offer.
    pub until: usize,
    /// 2D: minutes there and back, if it is the furthest.
    pub way: i32,
    /// Minutes it adds to any tour that goes further.
    pub detour: i32,
}

/// What each round could do, nearest building first.
pub struct Menu {
    /// Indices of bundles.
    pub items: Vec<u32>,
    /// Items of one space.
    pub offers: Vec<Offer>,
    /// Buildings.
    pub reaches: Vec<Reach>,
}

/// Buildings up to which the detours of a round are looked for among its own buildings.
const OWN_DETOURS: usize = 17;

/// Least minutes that each of these buildings adds to a tour from a base over others of them: the least of
/// way(p,b) + way(b,q) − way(p,q). Taking buildings out of a tour one by one until the furthest, f, is left, it is
/// at least 2D(f) + Σ over the others long.
pub fn detours(tables: &Tables<'_>, base: usize, buildings: &[usize]) -> Vec<i32> {
    let place = |b: usize| tables.problem.buildings[b].place;
    let least = |b: &usize| {
        let others = buildings.iter().filter(|o| *o != b).map(|o| place(*o));
        let others: Vec<usize> = others.chain([base]).collect();
        let pairs = others
            .iter()
            .enumerate()
            .flat_map(|(i, p)| others[i + 1..].iter().map(move |q| (*p, *q)));
        let extra = pairs
            .map(|(p, q)| tables.way(p, place(*b)) + tables.way(place(*b), q) - tables.way(p, q));
        extra.min().unwrap_or(0).max(0)
    };
    buildings.iter().map(least).collect()
}

/// Items of a round by distance, building and space. `served` are the detours of all buildings its engineer serves.
pub fn menu(
    tables: &Tables<'_>,
    bundles: &[Bundle],
    r: usize,
    mut items: Vec<u32>,
    served: &[i32],
) -> Menu {
    let base = tables.problem.engineers[r / tables.days].base;
    let way = |building: usize| 2 * tables.way(base, tables.problem.buildings[building].place);
    let building = |i: &u32| bundles[*i as usize].building;
    // Spaces of one job each where the subsets of a space were not enumerated.
    let space = |i: &u32| {
        let jobs = &bundles[*i as usize].jobs;
        let space = tables.space_of[jobs[0]];
        let crowded = tables.spaces[space].len() > MOST_TOGETHER;
        (space, if crowded { jobs[0] } else { 0 })
    };
    items.sort_by_key(|i| (way(building(i)), building(i), space(i)));
    let mut own: Vec<usize> = items.iter().map(building).collect();
    own.dedup();
    let near = (own.len() <= OWN_DETOURS).then(|| detours(tables, base, &own));
    let mut menu = Menu {
        offers: Vec::new(),
        reaches: Vec::with_capacity(own.len()),
        items,
    };
    let mut at = 0;
    for (k, &b) in own.iter().enumerate() {
        let here: Vec<u32> = menu.items[at..]
            .iter()
            .copied()
            .take_while(|i| building(i) == b)
            .collect();
        for group in here.chunk_by(|a, b| space(a) == space(b)) {
            let end = at + group.len();
            if closed(bundles, group) {
                menu.offers.push(Offer { bundles: at..end });
            } else {
                // Two visits to one space that cannot be one: each stands alone, which only loosens the bound.
                let each = (at..end).map(|i| Offer { bundles: i..i + 1 });
                menu.offers.extend(each);
            }
            at = end;
        }
        menu.reaches.push(Reach {
            until: menu.offers.len(),
            way: way(b),
            detour: near.as_ref().map_or(served[b], |near| near[k]),
        });
    }
    menu
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
