//! The plain method: year by year, the units whose year has come, dearest to put off first, as long as
//! the purse holds; the rest wait for the next year.
//!
//! "Dearest to put off" is the expected cost of one more year of waiting per pound it takes; units with
//! a last year come first in that year. A unit that does not fit lets smaller ones pass.
use terms::{ExpectedPounds, Pence, UnitId};

use super::{
    LeftOut, Programme, ProgrammeInput, ProgrammePlanner, ProgrammeUnit, ProgrammeVerdict,
    Replacement, YearLine,
};

/// See the module.
#[derive(Clone, Copy, Debug, Default)]
pub struct PlainProgramme;

impl ProgrammePlanner for PlainProgramme {
    fn plan(&self, input: &ProgrammeInput) -> Programme {
        let mut out = Programme {
            years: Vec::with_capacity(input.years.len()),
            left_out: Vec::new(),
            spent: Pence(0),
            delays_cost: ExpectedPounds(0.0),
            delays_cost_at_least: ExpectedPounds(0.0),
            under_floor: Vec::new(),
            verdict: ProgrammeVerdict::NothingToReplace,
        };
        let mut waiting = wanting(input, &mut out.left_out);
        let any = !waiting.is_empty();
        let mut opening = input.opening;
        for year in 0..input.years.len() as u32 {
            let line = plan_year(input, year, opening, &mut waiting);
            opening = line.reserve;
            if line.reserve < input.floor {
                out.under_floor.push(year);
            }
            out.spent.0 = out.spent.0.saturating_add(line.spent.0);
            out.delays_cost.0 += line
                .replacements
                .iter()
                .filter_map(|r| r.delay_costs.map(|p| p.0))
                .sum::<f64>();
            out.years.push(line);
        }
        let short = !waiting.is_empty();
        out.left_out
            .extend(waiting.into_iter().map(|w| (w.unit.unit, w.no_money())));
        let late = out
            .years
            .iter()
            .any(|line| line.replacements.iter().any(|r| r.years_late > 0));
        out.verdict = match (any, short, late) {
            (false, ..) => ProgrammeVerdict::NothingToReplace,
            (_, true, _) => ProgrammeVerdict::MoneyShort,
            (_, _, true) => ProgrammeVerdict::SomeWait,
            _ => ProgrammeVerdict::EveryBestYear,
        };
        out
    }
}

/// A unit that wants a year and has none yet.
struct Waiting<'a> {
    unit: &'a ProgrammeUnit,
    best: u32,
    most: Pence,
    past_latest: bool,
}

impl Waiting<'_> {
    fn no_money(&self) -> LeftOut {
        LeftOut::NoMoney {
            cash: self.unit.cash,
            most: self.most,
            past_latest: self.past_latest,
        }
    }

    /// Expected pounds lost by one more year, per pound it takes.
    fn urgency(&self, year: u32) -> f64 {
        let (now, later) = (self.unit.extra(year), self.unit.extra(year + 1));
        let lost = later.unwrap_or(0.0) - now.unwrap_or(0.0);
        lost / self.unit.cash.to_pounds().max(1.0)
    }
}

/// Units whose best year lies inside the programme; the others are left out with their reason.
fn wanting<'a>(
    input: &'a ProgrammeInput,
    left_out: &mut Vec<(UnitId, LeftOut)>,
) -> Vec<Waiting<'a>> {
    let last = input.years.len() as u32;
    let mut waiting = Vec::new();
    for unit in &input.units {
        // A last year before the best one brings the unit forward.
        let wanted = match (unit.best_year, unit.latest) {
            (Some(best), Some(latest)) => Some(best.min(latest)),
            (best, latest) => best.or(latest),
        };
        match wanted {
            _ if unit.cash.0 < 0 => left_out.push((unit.unit, LeftOut::Unusable)),
            Some(best) if best < last => waiting.push(Waiting {
                unit,
                best,
                most: Pence(0),
                past_latest: false,
            }),
            _ => {
                let best_year = unit.best_year;
                left_out.push((unit.unit, LeftOut::KeptBeyond { best_year }));
            }
        }
    }
    waiting
}

fn plan_year<'a>(
    input: &ProgrammeInput,
    year: u32,
    opening: Pence,
    waiting: &mut Vec<Waiting<'a>>,
) -> YearLine {
    let money = input.years[year as usize];
    let before = opening
        .0
        .saturating_add(money.comes_in.0)
        .saturating_sub(money.set_aside.0);
    let there = before.saturating_sub(input.floor.0);
    let mut free = money.cap.map_or(there, |cap| there.min(cap.0)).max(0);
    let (mut due, rest): (Vec<Waiting<'a>>, Vec<Waiting<'a>>) = std::mem::take(waiting)
        .into_iter()
        .partition(|w| w.best <= year);
    *waiting = rest;
    due.sort_by(|a, b| {
        let last_chance = |w: &Waiting<'_>| w.unit.latest == Some(year);
        last_chance(b)
            .cmp(&last_chance(a))
            .then(b.urgency(year).total_cmp(&a.urgency(year)))
            .then(a.best.cmp(&b.best))
            .then(a.unit.unit.cmp(&b.unit.unit))
    });
    let mut line = YearLine {
        year: input.first_year.saturating_add_unsigned(year),
        opening,
        comes_in: money.comes_in,
        set_aside: money.set_aside,
        replacements: Vec::new(),
        spent: Pence(0),
        set_up: Pence(0),
        carried: Vec::new(),
        reserve: Pence(before),
    };
    for mut unit in due {
        let passed = unit.unit.latest.is_some_and(|latest| year > latest);
        if !passed {
            unit.most.0 = unit.most.0.max(free);
        }
        if !passed && unit.unit.cash.0 <= free {
            free -= unit.unit.cash.0;
            line.spent.0 += unit.unit.cash.0;
            line.replacements.push(replacement(&unit, year));
        } else {
            // Past its last year it waits for nothing more, but its place in the report is kept.
            unit.past_latest |= unit.unit.latest.is_some_and(|latest| year >= latest);
            if !unit.past_latest {
                line.carried.push(unit.unit.unit);
            }
            waiting.push(unit);
        }
    }
    line.reserve = Pence(before - line.spent.0);
    line
}

fn replacement(waiting: &Waiting<'_>, year: u32) -> Replacement {
    Replacement {
        unit: waiting.unit.unit,
        option: waiting.unit.option.clone(),
        cash: waiting.unit.cash,
        years_late: waiting
            .unit
            .best_year
            .map_or(0, |best| year.saturating_sub(best)),
        delay_costs: waiting.unit.extra(year).map(ExpectedPounds),
    }
}
