//! Why one of the units that wait stands before another: the two of them swapped, by the arithmetic the plan is audited with.
use std::collections::{BTreeMap, BTreeSet};

use planning::Programme;
use planning::programme::{
    ProgrammeOption, ProgrammeUnit, Replacement, Swapped, YearLine, swapped,
};
use terms::UnitId;

use super::asking::Asked;

/// A unit that waits, and another it stands before or after.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The other.
    pub other: UnitId,
    /// It stands before the other; else after it.
    pub before: bool,
    /// The two of them swapped.
    pub swapped: Swapped,
}

/// Of each unit that waits in the programme. The other is the next that waits for that year too, of several that to which
/// waiting on would cost most; of the last to go it is, of those with an earlier year in which it would stand sooner than it
/// does, the one that year's wait would cost least. What people pinned or bound together stands where they say, and is neither.
pub(super) fn orders(asked: &Asked, programme: &Programme) -> BTreeMap<UnitId, Order> {
    let input = &asked.input;
    let units: BTreeMap<UnitId, &ProgrammeUnit> =
        input.units.iter().map(|unit| (unit.unit, unit)).collect();
    let pinned = asked.limits.pinned.iter().map(|(unit, _)| *unit);
    let bound = asked.limits.together.iter().flatten().copied();
    let tied: BTreeSet<UnitId> = pinned.chain(bound).collect();
    let mut found = BTreeMap::new();
    for (at, line) in programme.years.iter().enumerate() {
        let waiting = line.replacements.iter().filter(|r| r.years_late > 0);
        for waits in waiting.filter(|r| !tied.contains(&r.unit)) {
            let of = Of {
                units: &units,
                tied: &tied,
                years: &programme.years,
                at,
            };
            let other = of.one_after().map(|unit| (unit, true));
            let other = other.or_else(|| of.one_before(waits).map(|unit| (unit, false)));
            let Some((other, before)) = other else {
                continue;
            };
            let swap = swapped(input, &asked.limits, programme, (waits.unit, other));
            if let Some(swapped) = swap {
                let order = Order {
                    other,
                    before,
                    swapped,
                };
                found.insert(waits.unit, order);
            }
        }
    }
    found
}

/// A year in which units stand that waited for it.
struct Of<'a> {
    units: &'a BTreeMap<UnitId, &'a ProgrammeUnit>,
    tied: &'a BTreeSet<UnitId>,
    years: &'a [YearLine],
    at: usize,
}

impl Of<'_> {
    /// Of the units that would stand here and stand later, one of the next year that has any: that to which the wait costs most.
    fn one_after(&self) -> Option<UnitId> {
        let mut later = self.years.iter().enumerate().skip(self.at + 1);
        later.find_map(|(year, line)| {
            let wanted = |r: &&Replacement| {
                let best = self.units.get(&r.unit).and_then(|u| u.best_year);
                let wanted = best.is_some_and(|best| best as usize <= self.at);
                wanted && !self.tied.contains(&r.unit)
            };
            let those = line.replacements.iter().filter(wanted);
            let costs = those.filter_map(|r| Some((self.wait(r, (self.at, year))?, r.unit)));
            costs
                .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
                .map(|(_, unit)| unit)
        })
    }

    /// Of the units with an earlier year that `waits` would have stood in too, one of the last year that has any: that to which
    /// the wait would cost least.
    fn one_before(&self, waits: &Replacement) -> Option<UnitId> {
        let best = self.units.get(&waits.unit)?.best_year? as usize;
        let earlier = self.years.iter().enumerate().take(self.at).skip(best);
        earlier.rev().find_map(|(year, line)| {
            let free = |r: &&Replacement| !self.tied.contains(&r.unit);
            let those = line.replacements.iter().filter(free);
            let costs = those.filter_map(|r| Some((self.wait(r, (year, self.at))?, r.unit)));
            costs
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
                .map(|(_, unit)| unit)
        })
    }

    /// Expected pounds that a unit costs more with the same option in the second year than in the first; `None` where it cannot
    /// stand in one of them.
    fn wait(&self, replaced: &Replacement, (from, until): (usize, usize)) -> Option<f64> {
        let choices = self.units.get(&replaced.unit)?.choices();
        let same = |c: &&ProgrammeOption| c.option == replaced.option && c.cash == replaced.cash;
        let course = &choices.iter().find(same)?.by_year;
        let at = |year: usize| course.get(year).copied().flatten();
        Some(at(until)?.0 - at(from)?.0)
    }
}
