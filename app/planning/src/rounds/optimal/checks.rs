//! Whether the clock allows what the master chose for a day; cuts where it does not.
use super::exact::Master;
use super::model::Span;
use super::tables::{Tables, first_start};
use super::timing::{Call, MOST_CALLS, Route, shortest};
use crate::solver::{Solved, Var};

/// A round put in order: bundle and possible starts of each visit.
pub struct Ordered {
    /// The round.
    pub round: usize,
    /// Visits in order.
    pub calls: Vec<(usize, Vec<Span>)>,
}

/// What came of a day.
pub enum Check {
    /// The clock allows it, with the travel the master reckoned.
    Holds(Vec<Ordered>),
    /// Cuts were added.
    Cut,
    /// A round has more visits than can be put in order exactly.
    TooLarge,
}

/// What the master chose for one round.
struct Chosen {
    round: usize,
    shift: Span,
    base: usize,
    bundles: Vec<usize>,
    /// Minutes of travel the master reckons with.
    reckoned: f64,
}

/// Checks all rounds of a day together: pairs tie them.
pub fn check_day(tables: &Tables<'_>, master: &mut Master, solved: &Solved, day: usize) -> Check {
    let chosen = chosen(tables, master, solved, day);
    if chosen.iter().any(|c| c.bundles.len() > MOST_CALLS) {
        return Check::TooLarge;
    }
    let mut cut = false;
    let mut routes = Vec::new();
    for c in &chosen {
        // Each round for itself, pairs free to choose their minute.
        match shortest(tables, c.base, c.shift, &calls(tables, master, c, &[])) {
            None => {
                forbid(tables, master, c);
                cut = true;
            }
            Some(route) if f64::from(route.travel) > c.reckoned + 1e-6 => {
                lengthen(tables, master, c, route.travel);
                cut = true;
            }
            Some(route) => routes.push(route),
        }
    }
    if cut {
        return Check::Cut;
    }
    let mut pairs: Vec<usize> = chosen
        .iter()
        .flat_map(|c| c.bundles.iter().copied())
        .filter(|i| master.bundles[*i].pair)
        .collect();
    pairs.sort_unstable();
    pairs.dedup();
    if pairs.is_empty() {
        return Check::Holds(ordered(tables, master, &chosen, &routes, &[]));
    }
    if let Some((routes, pins)) = together(tables, master, &chosen, &pairs) {
        Check::Holds(ordered(tables, master, &chosen, &routes, &pins))
    } else {
        part(master, &chosen);
        Check::Cut
    }
}

fn chosen(tables: &Tables<'_>, master: &Master, solved: &Solved, day: usize) -> Vec<Chosen> {
    let mut out = Vec::new();
    for engineer in 0..tables.problem.engineers.len() {
        let round = tables.round(engineer, day);
        let Some(shift) = tables.shifts[round] else {
            continue;
        };
        let visits = master.visits_in(round);
        let on = visits.into_iter().filter(|(_, var)| solved.is_on(*var));
        let bundles: Vec<usize> = on.map(|(i, _)| i).collect();
        if bundles.is_empty() {
            continue;
        }
        let tours = master.tours[round].iter();
        let tour = tours
            .filter(|(_, var)| solved.is_on(*var))
            .map(|(m, _)| f64::from(*m));
        let extra = master.extra[round].map_or(0.0, |var| solved.value(var));
        out.push(Chosen {
            round,
            shift,
            base: tables.problem.engineers[engineer].base,
            bundles,
            reckoned: tour.sum::<f64>() + extra,
        });
    }
    out
}

fn call(
    tables: &Tables<'_>,
    master: &Master,
    round: usize,
    i: usize,
    pins: &[(usize, i32)],
) -> Call {
    let bundle = &master.bundles[i];
    let pin = pins.iter().find(|(k, _)| *k == i);
    let starts = match pin {
        Some((_, start)) => vec![[*start, *start]],
        None => tables
            .starts(&bundle.jobs, round % tables.days)
            .unwrap_or_default(),
    };
    Call {
        place: tables.problem.buildings[bundle.building].place,
        length: bundle.length,
        starts,
    }
}

fn calls(tables: &Tables<'_>, master: &Master, c: &Chosen, pins: &[(usize, i32)]) -> Vec<Call> {
    c.bundles
        .iter()
        .map(|i| call(tables, master, c.round, *i, pins))
        .collect()
}

fn ordered(
    tables: &Tables<'_>,
    master: &Master,
    chosen: &[Chosen],
    routes: &[Route],
    pins: &[(usize, i32)],
) -> Vec<Ordered> {
    let order = |(c, route): (&Chosen, &Route)| Ordered {
        round: c.round,
        calls: route
            .order
            .iter()
            .map(|k| {
                let i = c.bundles[*k];
                (i, call(tables, master, c.round, i, pins).starts)
            })
            .collect(),
    };
    chosen.iter().zip(routes).map(order).collect()
}

/// Minutes for the pairs of a day at which all its rounds hold with the reckoned travel: every minute is
/// tried, each pair in turn.
fn together(
    tables: &Tables<'_>,
    master: &Master,
    chosen: &[Chosen],
    pairs: &[usize],
) -> Option<(Vec<Route>, Vec<(usize, i32)>)> {
    let mut pins: Vec<(usize, i32)> = Vec::new();
    fn deeper(
        tables: &Tables<'_>,
        master: &Master,
        chosen: &[Chosen],
        pairs: &[usize],
        pins: &mut Vec<(usize, i32)>,
    ) -> Option<Vec<Route>> {
        let routes: Option<Vec<Route>> = chosen
            .iter()
            .map(|c| {
                let route = shortest(tables, c.base, c.shift, &calls(tables, master, c, pins))?;
                (f64::from(route.travel) <= c.reckoned + 1e-6).then_some(route)
            })
            .collect();
        let routes = routes?;
        let Some((first, rest)) = pairs.split_first() else {
            return Some(routes);
        };
        let day = chosen.first().map_or(0, |c| c.round % tables.days);
        let starts = tables.starts(&master.bundles[*first].jobs, day)?;
        let from = chosen.iter().map(|c| c.shift[0]).min()?;
        let until = chosen.iter().map(|c| c.shift[1]).max()?;
        for minute in (from..until).filter(|m| first_start(&starts, *m) == Some(*m)) {
            pins.push((*first, minute));
            let found = deeper(tables, master, chosen, rest, pins);
            if found.is_some() {
                return found;
            }
            pins.pop();
        }
        None
    }
    deeper(tables, master, chosen, pairs, &mut pins).map(|routes| (routes, pins))
}

/// No round of this kind can do all of these visits: the fewest of them that already clash.
fn forbid(tables: &Tables<'_>, master: &mut Master, c: &Chosen) {
    let mut clash = c.bundles.clone();
    let mut k = 0;
    while k < clash.len() {
        let mut fewer = clash.clone();
        fewer.remove(k);
        let rest: Vec<Call> = fewer
            .iter()
            .map(|i| call(tables, master, c.round, *i, &[]))
            .collect();
        if shortest(tables, c.base, c.shift, &rest).is_none() {
            clash = fewer;
        } else {
            k += 1;
        }
    }
    for r in alike(tables, master, c, &clash) {
        let terms = columns(master, r, &clash);
        if terms.len() == clash.len() {
            master.model.at_most(clash.len() as f64 - 1.0, terms);
        }
    }
}

/// With these visits a round travels at least so many minutes.
fn lengthen(tables: &Tables<'_>, master: &mut Master, c: &Chosen, travel: i32) {
    for r in alike(tables, master, c, &c.bundles) {
        let visits = columns(master, r, &c.bundles);
        let Some(extra) = master.extra[r].filter(|_| visits.len() == c.bundles.len()) else {
            continue;
        };
        let mut terms: Vec<(Var, f64)> = vec![(extra, -1.0)];
        terms.extend(
            master.tours[r]
                .iter()
                .map(|(m, var)| (*var, -f64::from(*m))),
        );
        terms.extend(visits.into_iter().map(|(var, _)| (var, f64::from(travel))));
        let most = f64::from(travel) * (c.bundles.len() as f64 - 1.0);
        master.model.at_most(most, terms);
    }
}

/// These rounds of one day cannot be together.
fn part(master: &mut Master, chosen: &[Chosen]) {
    let mut terms = Vec::new();
    for c in chosen {
        terms.extend(columns(master, c.round, &c.bundles));
    }
    let most = terms.len() as f64 - 1.0;
    master.model.at_most(most, terms);
}

fn columns(master: &Master, r: usize, bundles: &[usize]) -> Vec<(Var, f64)> {
    let here = bundles.iter().filter_map(|i| {
        let mut list = master.visits[*i].iter();
        list.find(|(round, _)| *round == r)
            .map(|(_, var)| (*var, 1.0))
    });
    here.collect()
}

/// Rounds in which the clock says the same of these visits: same base, same shift, same starts.
fn alike(tables: &Tables<'_>, master: &Master, c: &Chosen, bundles: &[usize]) -> Vec<usize> {
    let jobs = |i: &usize| &master.bundles[*i].jobs;
    let starts = |r: usize| -> Vec<Option<Vec<Span>>> {
        let day = r % tables.days;
        bundles
            .iter()
            .map(|i| tables.starts(jobs(i), day))
            .collect()
    };
    let mine = starts(c.round);
    (0..tables.shifts.len())
        .filter(|r| {
            tables.shifts[*r] == Some(c.shift)
                && tables.problem.engineers[r / tables.days].base == c.base
                && starts(*r) == mine
        })
        .collect()
}
