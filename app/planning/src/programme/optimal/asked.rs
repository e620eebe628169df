//! From the programme as people state it to the optimiser's problem: one building, one purse.
use std::collections::BTreeMap;

use terms::UnitId;

use super::model::{Building, Choice, Fund, Group, Problem, Redundancy, Unit};
use crate::programme::{ProgrammeInput, ProgrammeLimits, ProgrammeOption, ProgrammeUnit};

/// More hours than any building bears: no limit on replacements.
const NO_LIMIT: i64 = 1_000_000_000;

/// Pence of expected pounds.
pub(super) fn pence(pounds: f64) -> i64 {
    (pounds * 100.0).round() as i64
}

/// A unit's expected cost if it is kept beyond the programme, pounds: the least its course knows from the
/// programme's end on, or the end of its course where that is shorter; `None` where it cannot be kept.
pub(super) fn kept_beyond(unit: &ProgrammeUnit, years: usize) -> Option<f64> {
    let from = years.min(unit.by_year.len().saturating_sub(1));
    let beyond = unit.by_year.get(from..).unwrap_or_default();
    beyond.iter().flatten().map(|w| w.0).min_by(f64::total_cmp)
}

/// Years in which the reserve ends under its floor though nothing is replaced: no plan can mend that.
pub(super) fn dry_years(input: &ProgrammeInput) -> Vec<u32> {
    let mut purse = input.opening.0;
    let mut dry = Vec::new();
    for (year, money) in (0u32..).zip(&input.years) {
        purse += money.comes_in.0 - money.set_aside.0;
        if purse < input.floor.0 {
            dry.push(year);
        }
    }
    dry
}

/// The problem; units in the order of the input.
pub fn problem_of(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Problem {
    let years = input.years.len();
    let place: BTreeMap<UnitId, usize> = input
        .units
        .iter()
        .enumerate()
        .map(|(i, u)| (u.unit, i))
        .collect();
    let mut stairs: Vec<&str> = input.units.iter().map(|u| u.stair.as_str()).collect();
    stairs.sort_unstable();
    stairs.dedup();
    let discounted = |amount: i64| -> Vec<i64> {
        (0..years)
            .map(|t| (amount as f64 / (1.0 + limits.rate).powi(t as i32)).round() as i64)
            .collect()
    };
    let groups = stairs.iter().map(|stair| {
        let mobilise = if stair.is_empty() {
            0
        } else {
            limits.stair_set_up.0
        };
        Group {
            building: 0,
            mobilise,
            mobilise_pv: discounted(mobilise),
        }
    });
    let groups: Vec<Group> = groups.collect();
    let units = input.units.iter().map(|unit| {
        let group = stairs.binary_search(&unit.stair.as_str()).unwrap_or(0);
        self::unit(unit, limits, group, years)
    });
    let index = |set: &[UnitId]| -> Vec<usize> {
        let mut found: Vec<usize> = set.iter().filter_map(|u| place.get(u).copied()).collect();
        found.sort_unstable();
        found.dedup();
        found
    };
    Problem {
        years,
        units: units.collect(),
        funds: vec![fund(input)],
        buildings: vec![building(input, limits, &groups, &discounted)],
        groups,
        together: limits
            .together
            .iter()
            .map(|set| index(set))
            .filter(|set| set.len() > 1)
            .collect(),
        redundancy: limits
            .apart
            .iter()
            .map(|set| Redundancy {
                units: index(&set.units),
                at_once: set.at_once as usize,
            })
            .chain(beside_hours(limits, input.units.len()))
            .filter(|set| set.units.len() > set.at_once)
            .collect(),
    }
}

/// The most replacements in a year beside a limit on hours: at most so many of all units at once.
fn beside_hours(limits: &ProgrammeLimits, units: usize) -> Option<Redundancy> {
    limits.hours_a_year?;
    Some(Redundancy {
        units: (0..units).collect(),
        at_once: limits.homes_a_year? as usize,
    })
}

/// Whether a set of the problem is the most replacements in a year.
pub(super) fn is_most_replacements(
    limits: &ProgrammeLimits,
    problem: &Problem,
    set: usize,
) -> bool {
    let last = set + 1 == problem.redundancy.len();
    let most = beside_hours(limits, problem.units.len());
    last && most.as_ref() == problem.redundancy.get(set)
}

fn fund(input: &ProgrammeInput) -> Fund {
    let capped = input.years.iter().any(|y| y.cap.is_some());
    Fund {
        opening: input.opening.0,
        add: input
            .years
            .iter()
            .map(|y| y.comes_in.0 - y.set_aside.0)
            .collect(),
        floor: input.floor.0,
        spend_cap: capped.then(|| input.years.iter().map(|y| y.cap.map(|p| p.0)).collect()),
    }
}

fn building(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    groups: &[Group],
    discounted: &dyn Fn(i64) -> Vec<i64>,
) -> Building {
    let dearest = |u: &ProgrammeUnit| u.choices().iter().map(|c| c.cash.0.max(0)).max();
    let everything = input.units.iter().filter_map(dearest).sum::<i64>()
        + groups.iter().map(|g| g.mobilise).sum::<i64>()
        + limits.set_up.0
        + 1;
    let (above, costs, from) = limits.consultation.map_or((everything, 0, 0), |c| {
        (c.above.0, c.costs.0, c.from as usize)
    });
    Building {
        funds: vec![0],
        mobilise: limits.set_up.0,
        mobilise_pv: discounted(limits.set_up.0),
        bulk_min: input.units.len() + 1,
        bulk_rebate: 0,
        bulk_rebate_pv: vec![0; input.years.len()],
        consultation_above: above,
        consultation: costs,
        consultation_pv: discounted(costs),
        consultation_from: from,
        hours_cap: limits
            .hours_a_year
            .or(limits.homes_a_year)
            .map_or(NO_LIMIT, i64::from),
    }
}

fn unit(unit: &ProgrammeUnit, limits: &ProgrammeLimits, group: usize, years: usize) -> Unit {
    let pinned = limits
        .pinned
        .iter()
        .find(|(id, _)| *id == unit.unit)
        .map(|(_, year)| *year as usize);
    let forbidden = |t: usize| limits.forbidden.contains(&(unit.unit, t as u32));
    let open = |t: usize| pinned.is_none_or(|year| year == t) && !forbidden(t);
    let choice = |option: &ProgrammeOption| Choice {
        pv: (0..years)
            .map(|t| {
                let cost = option.by_year.get(t).copied().flatten()?;
                (open(t) && option.cash.0 >= 0).then(|| pence(cost.0))
            })
            .collect(),
        cash: vec![option.cash.0; years],
        // Where no hours are limited every replacement counts one, so that the cap is a number of them.
        hours: limits
            .hours_a_year
            .map_or(1, |_| i64::from(option.home_hours)),
    };
    let latest = unit.latest.map(|year| year as usize);
    let kept = kept_beyond(unit, years).filter(|_| pinned.is_none() && latest.is_none());
    let never = if unit.cash.0 < 0 {
        Some(0)
    } else {
        kept.map(pence)
    };
    Unit {
        building: 0,
        group,
        age: i64::from(unit.age),
        never,
        // A pin lies within the last year allowed, or leaves the unit no year at all.
        latest: pinned.into_iter().chain(latest).min(),
        options: unit.choices().iter().map(choice).collect(),
    }
}
