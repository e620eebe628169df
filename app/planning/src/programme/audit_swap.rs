//! Two units of a programme, each in the other's year: what the plan would then cost and which rule it would break, by the
//! arithmetic of the audit. Nothing is sought, so it says why one stands before the other without the planner's word for it.
use terms::{ExpectedPounds, Pence, UnitId};

use super::audit::{ProgrammeBreach, audit_proven, beside, by_id, cost_by_the_rules};
use super::{Programme, ProgrammeInput, ProgrammeLimits, ProgrammeUnit, Replacement};

/// What it would be to have each of two units in the other's year, all others where they are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Swapped {
    /// Years that lie between the two.
    pub years: u32,
    /// What waiting until the other's year costs the one that stands first; less than nothing where that saves.
    pub first_waits: Pence,
    /// What the wait between the two years costs the one that stands second, and swapping saves.
    pub second_waits: Pence,
    /// What would be paid more, in today's worth, for coming to the building, setting up and consulting.
    pub beside: Pence,
    /// What the plan would cost more: the first's wait, less the second's, and what is paid beside. To the penny.
    pub costs: Pence,
    /// Rules it would break that the plan keeps; empty = it could be done.
    pub breaches: Vec<ProgrammeBreach>,
}

/// Swaps two units. Each keeps what it is replaced with where that is on offer in the other's year, else it has what costs
/// least then. `None` where one has no year, both have the same, or nothing is on offer.
pub fn swapped(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    programme: &Programme,
    (a, b): (UnitId, UnitId),
) -> Option<Swapped> {
    let place = |unit: UnitId| {
        let mut lines = programme.years.iter();
        lines.position(|line| line.replacements.iter().any(|r| r.unit == unit))
    };
    let (at_a, at_b) = (place(a)?, place(b)?);
    if at_a == at_b {
        return None;
    }
    let ((first, early), (second, late)) = if at_a < at_b {
        ((a, at_a), (b, at_b))
    } else {
        ((b, at_b), (a, at_a))
    };
    let mut then = programme.clone();
    let first_waits = moved(input, &mut then, first, (early, late))?;
    let second_waits = -moved(input, &mut then, second, (late, early))?;
    reckon(input, limits, &mut then);
    let stands = cost_by_the_rules(input, limits, programme)?;
    let cost = cost_by_the_rules(input, limits, &then)?;
    let costs = cost.0 - stands.0;
    let known = audit_proven(input, limits, (programme, stands));
    let mut breaches = audit_proven(input, limits, (&then, cost));
    breaches.retain(|breach| !known.contains(breach));
    Some(Swapped {
        years: (late - early) as u32,
        first_waits: Pence(first_waits),
        second_waits: Pence(second_waits),
        beside: Pence(costs - first_waits + second_waits),
        costs: Pence(costs),
        breaches,
    })
}

/// What a unit can be replaced with.
struct Offered<'a> {
    option: &'a str,
    cash: Pence,
    by_year: &'a [Option<ExpectedPounds>],
}

/// Where no options are listed there is the unit's own.
fn offered(unit: &ProgrammeUnit) -> Vec<Offered<'_>> {
    if unit.options.is_empty() {
        return vec![Offered {
            option: &unit.option,
            cash: unit.cash,
            by_year: &unit.by_year,
        }];
    }
    let all = unit.options.iter();
    all.map(|o| Offered {
        option: &o.option,
        cash: o.cash,
        by_year: &o.by_year,
    })
    .collect()
}

/// Takes a unit from one year to another; answers what that costs it, whole pence.
fn moved(
    input: &ProgrammeInput,
    programme: &mut Programme,
    id: UnitId,
    (from, to): (usize, usize),
) -> Option<i64> {
    let unit = input.units.iter().find(|u| u.unit == id)?;
    let line = programme.years.get_mut(from)?;
    let at = line.replacements.iter().position(|r| r.unit == id)?;
    let was = line.replacements.swap_remove(at);
    let all = offered(unit);
    let same = |o: &&Offered<'_>| o.option == was.option && o.cash == was.cash;
    let stands = all.iter().find(same)?;
    let before = pence_in(stands, from)?;
    let chosen = match pence_in(stands, to) {
        Some(_) => stands,
        None => cheapest(&all, to)?,
    };
    let after = pence_in(chosen, to)?;
    let line = programme.years.get_mut(to)?;
    line.replacements.push(Replacement {
        option: chosen.option.to_owned(),
        cash: chosen.cash,
        years_late: unit
            .best_year
            .map_or(0, |best| (to as u32).saturating_sub(best)),
        delay_costs: None,
        ..was
    });
    Some(after - before)
}

fn pence_in(option: &Offered<'_>, year: usize) -> Option<i64> {
    let cost = option.by_year.get(year).copied().flatten()?;
    Some((cost.0 * 100.0).round() as i64)
}

/// What costs least of what is on offer in a year.
fn cheapest<'a, 'b>(all: &'b [Offered<'a>], year: usize) -> Option<&'b Offered<'a>> {
    let open = all.iter().filter(|o| pence_in(o, year).is_some());
    open.min_by_key(|o| pence_in(o, year))
}

/// The sums of every year anew.
fn reckon(input: &ProgrammeInput, limits: &ProgrammeLimits, programme: &mut Programme) {
    let (units, mut opening) = (by_id(input), input.opening.0);
    for line in &mut programme.years {
        line.spent = Pence(line.replacements.iter().map(|r| r.cash.0).sum());
        let (come, stairs, consulted) = beside(&units, limits, line);
        line.set_up = Pence(come + limits.stair_set_up.0 * stairs + consulted);
        line.opening = Pence(opening);
        let paid = line.spent.0 + line.set_up.0;
        line.reserve = Pence(opening + line.comes_in.0 - line.set_aside.0 - paid);
        opening = line.reserve.0;
    }
    let years = programme.years.iter();
    programme.spent = Pence(years.map(|line| line.spent.0).sum());
}
