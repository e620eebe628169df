//! M(b,t): the most a building can spend in a year before consultation, inside its hours cap.
//!
//! A fractional multiple-choice knapsack by cash per hour (each unit at most one option), plus all
//! mobilisation; capped by what its funds can hold by then. The tighter M is, the better the relaxation.
use super::estate::Estate;
use super::formulation::{Room, pounds};

/// M(b,t) inside the hours cap, in pounds.
pub fn most_spent(estate: &Estate<'_>, b: usize, t: usize) -> f64 {
    let card = &estate.problem.buildings[b];
    let mut pieces: Vec<(f64, f64)> = Vec::new();
    for &u in &estate.units[b] {
        let open = estate.choices[u].iter().filter(|(_, year)| *year == t);
        let options = open.map(|(o, _)| {
            let option = &estate.problem.units[u].options[*o];
            (option.hours, option.cash[t])
        });
        frontier(options.collect(), &mut pieces);
    }
    pieces.sort_by(|a, b| (b.1 * a.0).total_cmp(&(a.1 * b.0)));
    let mut left = card.hours_cap as f64;
    let mut cash = 0.0;
    for (hours, gain) in pieces {
        let part = if hours <= left { 1.0 } else { left / hours };
        cash += gain * part;
        left -= hours * part;
        if left <= 0.0 {
            break;
        }
    }
    let groups = estate.groups[b].iter();
    let set_up: i64 = groups.map(|g| estate.problem.groups[*g].mobilise).sum();
    cash + pounds(set_up + card.mobilise)
}

/// Most that building b can pay in year t, consultation with it, out of the rooms it is charged to: where
/// nobody's outflow can be negative, no year can pay more than may have been spent by then. Pounds.
pub fn most_paid(estate: &Estate<'_>, b: usize, t: usize, rooms: &[Room]) -> f64 {
    rooms
        .iter()
        .filter(|room| estate.members[room.fund].contains(&b))
        .filter(|room| {
            estate.members[room.fund]
                .iter()
                .all(|m| estate.always_pays[*m])
        })
        .map(|room| room.headroom[t].min(room.caps[t].unwrap_or(f64::INFINITY)))
        .fold(f64::INFINITY, f64::min)
}

/// Steps of the upper convex frontier of a unit's options as (more hours, more cash), steepest first.
fn frontier(mut options: Vec<(i64, i64)>, pieces: &mut Vec<(f64, f64)>) {
    options.push((0, 0));
    options.sort_unstable();
    let mut hull: Vec<(f64, f64)> = Vec::new();
    for (hours, cash) in options {
        let point = (hours as f64, cash as f64 / 100.0);
        if hull.last().is_some_and(|last| last.1 >= point.1) {
            continue;
        }
        if hull.last().is_some_and(|last| last.0 == point.0) {
            hull.pop();
        }
        while hull.len() >= 2 {
            let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
            let flat = (b.1 - a.1) * (point.0 - a.0) <= (point.1 - a.1) * (b.0 - a.0);
            if !flat {
                break;
            }
            hull.pop();
        }
        hull.push(point);
    }
    pieces.extend(
        hull.windows(2)
            .map(|pair| (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1)),
    );
}
