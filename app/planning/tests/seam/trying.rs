//! Every plan there is, from the rules as people state them.
use planning::programme::{ProgrammeInput, ProgrammeLimits, ProgrammeUnit};

/// The least cost of all plans, by trying every one; written from the rules, not from the planner.
pub fn by_trying(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Option<i64> {
    every(input, limits).into_iter().map(|plan| plan.0).min()
}

/// Every plan that keeps its limits: its cost, and what it pays in each year, pence.
pub fn every(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Vec<(i64, Vec<i64>)> {
    let years = input.years.len();
    let mut found = Vec::new();
    let mut at = vec![0usize; input.units.len()];
    loop {
        found.extend(plan_of(input, limits, &at));
        let Some(next) = at.iter().position(|t| *t < years) else {
            return found;
        };
        at[..next].fill(0);
        at[next] += 1;
    }
}

/// Pence of one plan (year = number of years: kept beyond), and what it pays a year; `None` where it breaks a limit.
pub fn plan_of(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    at: &[usize],
) -> Option<(i64, Vec<i64>)> {
    let years = input.years.len();
    let mut cost = 0;
    for (unit, t) in input.units.iter().zip(at) {
        let pinned = limits.pinned.iter().find(|p| p.0 == unit.unit).map(|p| p.1);
        if pinned.is_some_and(|year| year as usize != *t)
            || limits.forbidden.contains(&(unit.unit, *t as u32))
        {
            return None;
        }
        if unit.latest.is_some_and(|latest| *t > latest as usize) {
            return None;
        }
        // Kept beyond: what its course says from the programme's end on, or its end.
        let from = if *t == years {
            years.min(unit.by_year.len() - 1)
        } else {
            *t
        };
        let until = if *t == years {
            unit.by_year.len()
        } else {
            t + 1
        };
        let least = unit.by_year[from..until].iter().flatten();
        let least = least.map(|w| (w.0 * 100.0).round() as i64).min()?;
        cost += least;
    }
    let mut purse = input.opening.0;
    let mut pays = Vec::with_capacity(years);
    for (t, money) in input.years.iter().enumerate() {
        let here: Vec<&ProgrammeUnit> = input
            .units
            .iter()
            .zip(at)
            .filter(|(_, year)| **year == t)
            .map(|(unit, _)| unit)
            .collect();
        let (paid, more) = paid_in(limits, &here, t)?;
        cost += more;
        pays.push(paid);
        if money.cap.is_some_and(|cap| paid > cap.0) {
            return None;
        }
        purse += money.comes_in.0 - money.set_aside.0 - paid;
        if purse < input.floor.0 {
            return None;
        }
        for set in &limits.apart {
            let out = here.iter().filter(|u| set.units.contains(&u.unit)).count();
            if out > set.at_once as usize {
                return None;
            }
        }
    }
    for set in &limits.together {
        let years: Vec<usize> = input
            .units
            .iter()
            .zip(at)
            .filter(|(u, _)| set.contains(&u.unit))
            .map(|(_, t)| *t)
            .collect();
        if years.windows(2).any(|pair| pair[0] != pair[1]) {
            return None;
        }
    }
    Some((cost, pays))
}

/// Pence paid in a year, and what of it is cost beside the units' own; `None` where a limit of the year breaks.
fn paid_in(limits: &ProgrammeLimits, here: &[&ProgrammeUnit], t: usize) -> Option<(i64, i64)> {
    let mut stairs: Vec<&str> = here.iter().map(|u| u.stair.as_str()).collect();
    stairs.retain(|s| !s.is_empty());
    stairs.sort_unstable();
    stairs.dedup();
    let mut paid = limits.stair_set_up.0 * stairs.len() as i64;
    paid += if here.is_empty() { 0 } else { limits.set_up.0 };
    let mut cost = paid;
    paid += here.iter().map(|u| u.cash.0).sum::<i64>();
    if let Some(c) = limits.consultation.filter(|c| paid > c.above.0) {
        paid += c.costs.0;
        cost += c.costs.0;
        if t < c.from as usize {
            return None;
        }
    }
    if limits
        .homes_a_year
        .is_some_and(|most| here.len() > most as usize)
    {
        return None;
    }
    let hours: u32 = here.iter().map(|u| u.home_hours).sum();
    if limits.hours_a_year.is_some_and(|most| hours > most) {
        return None;
    }
    Some((paid, cost))
}
