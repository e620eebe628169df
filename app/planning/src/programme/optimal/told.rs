//! From the optimiser's plan back to a programme people read, year by year, with what is left out and why.
use terms::{ExpectedPounds, Pence, UnitId};

use super::asked::kept_beyond;
use super::estate::Estate;
use super::model::Plan;
use super::outcome::{outcome, years_of};
use crate::programme::{
    LeftOut, Programme, ProgrammeInput, ProgrammeLimits, ProgrammeOption, ProgrammeUnit,
    ProgrammeVerdict, Replacement, YearLine,
};

/// The year of least cost and that cost, pounds; `None` for the year = kept beyond the programme.
fn best(unit: &ProgrammeUnit, years: usize) -> Option<(Option<u32>, f64)> {
    let inside = unit.by_year.iter().take(years).enumerate();
    let inside = inside.filter_map(|(t, w)| Some((Some(t as u32), w.as_ref()?.0)));
    let beyond = kept_beyond(unit, years).map(|w| (None, w));
    // Of equal costs the later: nothing is brought forward for nothing.
    inside
        .chain(beyond)
        .reduce(|a, b| if b.1 <= a.1 { b } else { a })
}

/// The plan as a programme. `bound` is what no plan can cost less than, pence; `None` = not known.
pub(super) fn programme_of(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    estate: &Estate<'_>,
    plan: &Plan,
    bound: Option<i64>,
) -> Programme {
    let years = input.years.len();
    let cost = outcome(estate, &[0], plan).cost;
    let free = estate.problem.unavoidable();
    let mut programme = Programme {
        years: Vec::with_capacity(years),
        left_out: Vec::new(),
        spent: Pence(0),
        delays_cost: ExpectedPounds((cost - free) as f64 / 100.0),
        delays_cost_at_least: ExpectedPounds((bound.unwrap_or(free) - free).max(0) as f64 / 100.0),
        under_floor: Vec::new(),
        verdict: ProgrammeVerdict::NothingToReplace,
    };
    let mut opening = input.opening;
    let paid = years_of(estate, 0, plan);
    for (t, money) in input.years.iter().enumerate() {
        let replacements = replaced_in(input, plan, t);
        let spent: i64 = replacements.iter().map(|r| r.cash.0).sum();
        let set_up = paid.get(t).map_or(0, |year| year.paid - spent);
        let before = opening.0 + money.comes_in.0 - money.set_aside.0;
        let line = YearLine {
            year: input.first_year.saturating_add(t as i32),
            opening,
            comes_in: money.comes_in,
            set_aside: money.set_aside,
            replacements,
            spent: Pence(spent),
            set_up: Pence(set_up),
            carried: waiting(input, plan, t),
            reserve: Pence(before - spent - set_up),
        };
        if line.reserve < input.floor {
            programme.under_floor.push(t as u32);
        }
        opening = line.reserve;
        programme.spent.0 += spent;
        programme.years.push(line);
    }
    leave_out(input, limits, plan, &mut programme);
    programme.verdict = verdict(input, plan, &programme);
    programme
}

fn replaced_in(input: &ProgrammeInput, plan: &Plan, t: usize) -> Vec<Replacement> {
    let here = input.units.iter().zip(plan);
    let here = here.filter_map(|(unit, entry)| {
        let (option, year) = (*entry)?;
        let chosen = unit.choices().into_iter().nth(option)?;
        (year == t).then_some((unit, chosen))
    });
    let mut all: Vec<Replacement> = here
        .map(|(unit, chosen)| Replacement {
            unit: unit.unit,
            delay_costs: beyond_best(unit, &chosen, t).map(ExpectedPounds),
            option: chosen.option,
            cash: chosen.cash,
            years_late: unit
                .best_year
                .map_or(0, |best| (t as u32).saturating_sub(best)),
        })
        .collect();
    let urgency = |r: &Replacement| r.delay_costs.map_or(0.0, |p| p.0);
    all.sort_by(|a, b| urgency(b).total_cmp(&urgency(a)).then(a.unit.cmp(&b.unit)));
    all
}

/// Expected pounds that this option in this year costs beyond the unit's best year.
fn beyond_best(unit: &ProgrammeUnit, chosen: &ProgrammeOption, t: usize) -> Option<f64> {
    let best = unit
        .by_year
        .get(unit.best_year? as usize)
        .copied()
        .flatten()?;
    Some(chosen.by_year.get(t).copied().flatten()?.0 - best.0)
}

/// Units whose best year has come and who stand in a later one, or in none.
fn waiting(input: &ProgrammeInput, plan: &Plan, t: usize) -> Vec<UnitId> {
    let years = input.years.len();
    let waits = |unit: &ProgrammeUnit, entry: &Option<(usize, usize)>| {
        let wanted = best(unit, years).and_then(|(year, _)| year);
        let come = wanted.is_some_and(|year| year as usize <= t);
        come && entry.is_some_and(|(_, year)| year > t)
    };
    let all = input.units.iter().zip(plan);
    all.filter(|(unit, entry)| waits(unit, entry))
        .map(|(unit, _)| unit.unit)
        .collect()
}

fn leave_out(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    plan: &Plan,
    programme: &mut Programme,
) {
    let years = input.years.len();
    for (unit, _) in input.units.iter().zip(plan).filter(|(_, e)| e.is_none()) {
        let kept = kept_beyond(unit, years);
        let why = match best(unit, years) {
            _ if unit.cash.0 < 0 => LeftOut::Unusable,
            Some((Some(_), least)) => {
                let open = |t: u32| !limits.forbidden.contains(&(unit.unit, t));
                if (0..years as u32).any(open) {
                    LeftOut::WorthLess {
                        cash: unit.cash,
                        loses: (kept.unwrap_or(least) - least).round() as i64,
                    }
                } else {
                    LeftOut::KeptByHand
                }
            }
            _ => LeftOut::KeptBeyond {
                best_year: unit.best_year,
            },
        };
        programme.left_out.push((unit.unit, why));
    }
}

fn verdict(input: &ProgrammeInput, plan: &Plan, programme: &Programme) -> ProgrammeVerdict {
    let years = input.years.len();
    let short = programme
        .left_out
        .iter()
        .any(|(_, why)| matches!(why, LeftOut::WorthLess { .. } | LeftOut::NoMoney { .. }));
    let moved = input.units.iter().zip(plan).any(|(unit, entry)| {
        let wanted = best(unit, years).map(|(_, cost)| cost);
        let has = match entry {
            Some((o, t)) => {
                let chosen = unit.choices().into_iter().nth(*o);
                chosen.and_then(|c| c.by_year.get(*t).copied().flatten().map(|w| w.0))
            }
            None => kept_beyond(unit, years),
        };
        matches!((wanted, has), (Some(a), Some(b)) if b > a + 0.005)
    });
    match (plan.iter().any(Option::is_some), short, moved) {
        (false, false, _) => ProgrammeVerdict::NothingToReplace,
        (_, true, _) => ProgrammeVerdict::MoneyShort,
        (_, _, true) => ProgrammeVerdict::SomeWait,
        _ => ProgrammeVerdict::EveryBestYear,
    }
}
