//! The fork: expected cost so far of keeping and of each replacement, year by year, with the range
//! that holds 8 cases in 10.
//!
//! The range comes from the failures alone: their discounted cost so far is a compound Poisson sum
//! (negative binomial for the old unit), see [`crate::lattice`]. Nothing is drawn, so the same case gives the same picture.
//!
//! Failures in parts that stay (S_i and σ_o of [`crate::weigh`]) are money all the same, so both paths have them, in the same
//! years: Σ_(i≤k) v^(i−½) S_i c. Between the paths they cancel.
use serde::{Deserialize, Serialize};

use crate::case::CheckedCase;
use crate::chain::{Chain, first_cost, in_warranty, running_of};
use crate::chance::{CostLaw, FailureCosts, YearOfFailures};
use crate::lattice::Tables;
use crate::rates::Discounts;
use crate::weigh::{Levers, Weighed, old_failure, old_in_warranty};

/// Cost so far at the end of one year.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PathYear {
    /// Years from today.
    pub year: u32,
    /// Expected pounds so far.
    pub expected: f64,
    /// 1 case in 10 costs less.
    pub low: f64,
    /// 1 case in 10 costs more.
    pub high: f64,
    /// Pounds' worth of years still left in a new unit: cost so far less A_o annuity(year). For keeping, what the course has
    /// still to come that the other has had: a grant, or a unit that is cheaper a year. Less it, the two paths stand apart
    /// by W[year] − W[0] exactly. `None` without discounting, and in keeping where nothing can be fitted that year.
    pub still_in: Option<f64>,
}

/// One course of the fork.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CostPath {
    /// Code of the option; `None` = keep.
    pub code: Option<String>,
    /// Year 0 (today, after paying), 1, …, H.
    pub years: Vec<PathYear>,
}

/// Keeping beside every option that could be fitted now.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Fork {
    /// Repair (when there is a fault in hand) and keep.
    pub keep: CostPath,
    /// Replace now, in the order of the case.
    pub replace: Vec<CostPath>,
}

/// The fork at the case's rate, and in plain money so far.
pub(crate) fn forks(checked: &CheckedCase, weighed: &Weighed) -> (Fork, Fork) {
    let case = checked.case();
    let options = case.options.iter().map(|o| &o.fault_cost);
    let tables = Tables::of(options.chain([&case.old.fault_cost]));
    let (priced, plain) = (Discounts::for_case(checked, 1.0), Discounts::none(checked));
    (
        fork(checked, weighed, &tables, (&priced, true)),
        fork(checked, weighed, &tables, (&plain, false)),
    )
}

fn fork(checked: &CheckedCase, weighed: &Weighed, tables: &Tables, by: (&Discounts, bool)) -> Fork {
    let case = checked.case();
    let replace = (0..case.options.len())
        .filter(|&o| case.options[o].from == 0)
        .map(|o| replace_path((checked, weighed), o, tables, by))
        .collect();
    Fork {
        keep: keep_path((checked, weighed), tables, by),
        replace,
    }
}

/// Costs over years 1..k of the failures of the old unit that fitting option `o` would stop: what stays beside it happens in
/// both courses alike.
pub(crate) fn stopped_failures(
    checked: &CheckedCase,
    o: usize,
    table: &Discounts,
    k: usize,
) -> FailureCosts {
    let stays = checked.options[o].stays;
    let stopped = (0..k).map(|i| (checked.going[i] - stays.min(checked.going[i]), 1.0));
    own_failures(checked, table, stopped)
}

/// Costs of the failures of year 1, 2, … in the old unit's own parts, so many expected if it still stands, and the chance that
/// it does. A year that its warranty ends in counts twice: the failures inside it, and those after.
fn own_failures(
    checked: &CheckedCase,
    table: &Discounts,
    expected: impl Iterator<Item = (f64, f64)>,
) -> FailureCosts {
    let old = &checked.case().old;
    let inside = CostLaw::Fixed(old_in_warranty(old, &Levers::default()));
    let years = expected
        .enumerate()
        .flat_map(|(i, (expected, stands))| {
            let covered = old.covered(i);
            let shares = [
                (covered, inside),
                (1.0 - covered, CostLaw::Drawn(old.fault_cost)),
            ];
            shares.map(|(share, law)| YearOfFailures {
                expected: expected * share * stands,
                discount: table.middle[i],
                law,
            })
        })
        .filter(|year| year.expected > 0.0)
        .collect();
    let frailty_var = old.frailty_var;
    FailureCosts { years, frailty_var }
}

/// Failures of years 1..k in parts that stay, so many in year i + 1: no warranty pays for them.
fn staying_years(
    checked: &CheckedCase,
    table: &Discounts,
    k: usize,
    expected: impl Fn(usize) -> f64,
) -> impl Iterator<Item = YearOfFailures> {
    let law = CostLaw::Drawn(checked.case().old.fault_cost);
    (0..k)
        .map(move |i| YearOfFailures {
            expected: expected(i),
            discount: table.middle[i],
            law,
        })
        .filter(|year| year.expected > 0.0)
}

/// Costs of option `o`'s own failures, new today and renewed every `life` years, over years 1..k.
pub(crate) fn new_failures(
    checked: &CheckedCase,
    o: usize,
    table: &Discounts,
    k: usize,
    life: usize,
) -> FailureCosts {
    let option = &checked.case().options[o];
    let years = (0..k)
        .map(|i| {
            let age = i % life.max(1);
            let covered = age < option.warranty_years as usize;
            YearOfFailures {
                expected: checked.options[o].faults[age],
                discount: table.middle[i],
                law: if covered {
                    CostLaw::Fixed(in_warranty(option, &Levers::default()))
                } else {
                    CostLaw::Drawn(option.fault_cost)
                },
            }
        })
        .collect();
    FailureCosts {
        years,
        frailty_var: 0.0,
    }
}

/// Cost so far of keeping, with the share φ of failures beyond repair as in [`crate::weigh`]: with S_i the chance that it
/// still stands after year i and p_i that a failure of year i ends it,
/// Σ_(i≤k) S_(i−1) (v^(i−½) R_i + p_i v^i (x(i) + e)) + A* Σ_(i≤k) (1 − S_(i−1)) (annuity(i) − annuity(i−1)): once it is
/// lost, its successor counts at the level cost of the cheapest chain. With that
/// cost so far − still_in = W[k] + A* annuity(k) − (A_o − A*) D(k) e(k) (v^k/r at one rate), o being the option behind x(0),
/// plus what failures in parts that stay came to by then, which the other path has, too.
fn keep_path(
    (checked, weighed): (&CheckedCase, &Weighed),
    tables: &Tables,
    (table, discounted): (&Discounts, bool),
) -> CostPath {
    let case = checked.case();
    let old = &case.old;
    let least = weighed.least_annual.unwrap_or(0.0);
    // (A_o − A*) e(k): what the chain begun now costs from year k on for ever beyond the cheapest one.
    let dearer = match weighed.start.first().copied().flatten() {
        Some((_, o)) => weighed.chains[o].annual - least,
        None => 0.0,
    };
    let beyond = |k: usize| table.for_ever(dearer, k).unwrap_or(0.0);
    let mut expected = case
        .fault_in_hand
        .map_or(0.0, |f| f.quote + f.wait_cost_repair);
    let levers = Levers::default();
    let (mut stands, mut chances) = (1.0, Vec::new());
    let left = |k: usize, stands: f64| {
        let (x, _) = weighed.start.get(k).copied().flatten()?;
        discounted.then(|| table.end[k] * (beyond(k) - stands * x))
    };
    let mut years = vec![sure(0, expected, left(0, stands))];
    for k in 1..=case.horizon as usize {
        let i = k - 1;
        let lost = -(-old.write_off_share * checked.faults[i]).exp_m1();
        let running = checked.service[i]
            + checked.energy[i]
            + checked.other[i]
            + checked.going[i] * old_failure(old, i, &levers);
        let begun = weighed
            .start
            .get(k)
            .copied()
            .flatten()
            .map_or(0.0, |(x, _)| x);
        chances.push(stands);
        expected += stands * running * table.middle[i]
            + checked.staying[i] * table.middle[i] * old.fault_cost.mean()
            + stands * lost * table.end[k] * (begun + old.write_off_premium)
            + (1.0 - stands) * least * (table.annuity[k] - table.annuity[i]);
        stands *= 1.0 - lost;
        let own = checked.going.iter().copied().zip(chances.iter().copied());
        let mut costs = own_failures(checked, table, own);
        let staying = |i: usize| checked.staying[i];
        costs
            .years
            .extend(staying_years(checked, table, k, staying));
        let now = sure(k as u32, expected, left(k, stands));
        years.push(with_range(now, &costs, tables.range(&costs)));
    }
    CostPath { code: None, years }
}

fn replace_path(
    (checked, weighed): (&CheckedCase, &Weighed),
    o: usize,
    tables: &Tables,
    (table, discounted): (&Discounts, bool),
) -> CostPath {
    let case = checked.case();
    let (option, levers) = (&case.options[o], Levers::default());
    let Chain { life, annual, .. } = weighed.chains[o];
    let life = life as usize;
    let fitted = first_cost(option, &levers);
    let wait = case.fault_in_hand.map_or(0.0, |f| f.wait_cost_replace);
    // The grant is in hand from year 0 whatever its last year.
    let anyway = case.fault_in_hand.filter(|_| option.leaves_fault);
    let once = wait + option.unplanned_premium - option.grant + anyway.map_or(0.0, |f| f.quote);
    let running: Vec<f64> = running_of(checked, o, &levers).collect();
    let (mut spent, mut stayed) = (fitted, 0.0);
    let mut years = Vec::with_capacity(case.horizon as usize + 1);
    for k in 0..=case.horizon as usize {
        if k > 0 {
            spent += running[(k - 1) % life] * table.middle[k - 1];
            stayed += checked.staying[k - 1] * table.middle[k - 1] * case.old.fault_cost.mean();
            if k % life == 0 {
                spent += (option.disposal + fitted) * table.end[k];
            }
        }
        // What a chain at the option's own level cost would have paid by now is used up; the rest is
        // still in the unit.
        let still = discounted.then(|| spent - annual * table.annuity[k]);
        let expected = once + spent + stayed;
        let mut costs = new_failures(checked, o, table, k, life);
        let staying = |i: usize| checked.staying[i] + checked.options[o].stays;
        costs
            .years
            .extend(staying_years(checked, table, k, staying));
        let now = sure(k as u32, expected, still);
        years.push(with_range(now, &costs, tables.range(&costs)));
    }
    let code = Some(option.code.clone());
    CostPath { code, years }
}

/// A year whose cost is certain.
fn sure(year: u32, expected: f64, still_in: Option<f64>) -> PathYear {
    PathYear {
        year,
        expected,
        low: expected,
        high: expected,
        still_in,
    }
}

fn with_range(now: PathYear, costs: &FailureCosts, (low, high): (f64, f64)) -> PathYear {
    let sure = now.expected - costs.mean();
    PathYear {
        low: sure + low,
        high: sure + high,
        ..now
    }
}
