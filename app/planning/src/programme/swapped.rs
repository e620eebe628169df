//! Two units of a programme, each in the other's year: what the plan would then cost and which rule it would break, by the
//! arithmetic of the audit. Nothing is sought, so it says why one stands before the other without the planner's word for it.
use terms::{ExpectedPounds, Pence, UnitId};

use super::audit::{ProgrammeBreach, audit_proven, beside, by_id, cost_by_the_rules};
use super::{
    Programme, ProgrammeInput, ProgrammeLimits, ProgrammeOption, ProgrammeUnit, Replacement,
};

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
    let ((first, early), (second, late)) = match at_a.cmp(&at_b) {
        std::cmp::Ordering::Less => ((a, at_a), (b, at_b)),
        std::cmp::Ordering::Greater => ((b, at_b), (a, at_a)),
        std::cmp::Ordering::Equal => return None,
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
    let was = line.replacements.remove(at);
    let choices = unit.choices();
    let same = |c: &&ProgrammeOption| c.option == was.option && c.cash == was.cash;
    let before = pence(cost_at(choices.iter().find(same)?, from)?);
    let open = |c: &&ProgrammeOption| cost_at(c, to).is_some();
    let chosen = match choices.iter().find(same).filter(open) {
        Some(same) => same,
        None => least(&choices, to)?,
    };
    let after = pence(cost_at(chosen, to)?);
    let line = programme.years.get_mut(to)?;
    line.replacements.push(Replacement {
        option: chosen.option.clone(),
        cash: chosen.cash,
        years_late: late(unit, to),
        delay_costs: None,
        ..was
    });
    Some(after - before)
}

fn late(unit: &ProgrammeUnit, year: usize) -> u32 {
    let best = unit.best_year;
    best.map_or(0, |best| (year as u32).saturating_sub(best))
}

fn cost_at(option: &ProgrammeOption, year: usize) -> Option<ExpectedPounds> {
    option.by_year.get(year).copied().flatten()
}

/// What costs least of what is on offer in a year.
fn least(choices: &[ProgrammeOption], year: usize) -> Option<&ProgrammeOption> {
    let open = choices
        .iter()
        .filter_map(|c| Some((c, cost_at(c, year)?.0)));
    open.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(c, _)| c)
}

fn pence(cost: ExpectedPounds) -> i64 {
    (cost.0 * 100.0).round() as i64
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
