//! What has changed since a plan was made, as far as it matters to the plan.
use std::collections::BTreeMap;

use planning::programme::ProgrammeUnit;
use terms::UnitId;

use super::asking::Asked;

/// Pounds by which a unit's course must differ before it counts as another: below that it is the day that
/// has moved, not the unit. Our choice.
const MATTERS: f64 = 50.0;

/// One thing that changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// The plan begins with another year.
    FirstYear,
    /// What comes in, opens or must stay.
    Money,
    /// Setting-up, replacements a year, consultation.
    Limits,
    /// What people tied.
    Ties,
    /// Units that came.
    Came(u64),
    /// Units that went.
    Went(u64),
    /// Units whose course of cost is another one.
    Courses(Vec<UnitId>),
}

/// What differs between what a plan was made from and what stands now.
pub(super) fn changes(then: &Asked, now: &Asked) -> Vec<Change> {
    let mut found = Vec::new();
    let (a, b) = (&then.input, &now.input);
    if a.first_year != b.first_year {
        found.push(Change::FirstYear);
    }
    let comes_in = |asked: &Asked| -> Vec<i64> {
        let years = asked.input.years.iter();
        years.map(|y| y.comes_in.0).collect()
    };
    // Without any money stated the figures are made up to suffice.
    let same_money = then.unlimited == now.unlimited
        && (then.unlimited || comes_in(then) == comes_in(now))
        && (a.opening, a.floor) == (b.opening, b.floor);
    if !same_money {
        found.push(Change::Money);
    }
    let (l, m) = (&then.limits, &now.limits);
    let same_limits = (
        l.set_up,
        l.stair_set_up,
        (l.homes_a_year, l.hours_a_year),
        l.consultation,
        &l.apart,
    ) == (
        m.set_up,
        m.stair_set_up,
        (m.homes_a_year, m.hours_a_year),
        m.consultation,
        &m.apart,
    ) && l.rate == m.rate
        && a.years.len() == b.years.len()
        && a.years.first().map(|y| y.cap) == b.years.first().map(|y| y.cap);
    if !same_limits {
        found.push(Change::Limits);
    }
    let latest = |asked: &Asked| -> BTreeMap<UnitId, u32> {
        let units = asked.input.units.iter();
        units.filter_map(|u| Some((u.unit, u.latest?))).collect()
    };
    let same_ties =
        (&l.pinned, &l.forbidden, &l.together) == (&m.pinned, &m.forbidden, &m.together);
    if !same_ties || latest(then) != latest(now) {
        found.push(Change::Ties);
    }
    let units = |asked: &Asked| -> BTreeMap<UnitId, ProgrammeUnit> {
        let units = asked.input.units.iter();
        units.map(|u| (u.unit, u.clone())).collect()
    };
    let (before, after) = (units(then), units(now));
    let came = after.keys().filter(|id| !before.contains_key(*id)).count();
    let went = before.keys().filter(|id| !after.contains_key(*id)).count();
    if came > 0 {
        found.push(Change::Came(came as u64));
    }
    if went > 0 {
        found.push(Change::Went(went as u64));
    }
    let other: Vec<UnitId> = after
        .iter()
        .filter(|(id, unit)| before.get(*id).is_some_and(|was| differs(was, unit)))
        .map(|(id, _)| *id)
        .collect();
    if !other.is_empty() {
        found.push(Change::Courses(other));
    }
    found
}

/// Whether the cost of any year, seen from the first, is another.
fn differs(was: &ProgrammeUnit, now: &ProgrammeUnit) -> bool {
    let seen = |unit: &ProgrammeUnit| -> Vec<Option<f64>> {
        let first = unit.by_year.iter().flatten().next().map_or(0.0, |w| w.0);
        unit.by_year
            .iter()
            .map(|w| w.map(|w| w.0 - first))
            .collect()
    };
    let (a, b) = (seen(was), seen(now));
    was.cash != now.cash
        || was.option != now.option
        || a.len() != b.len()
        || a.iter().zip(&b).any(|pair| match pair {
            (Some(a), Some(b)) => (a - b).abs() > MATTERS,
            (a, b) => a.is_some() != b.is_some(),
        })
}
