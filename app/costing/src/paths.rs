//! The fork: expected cost so far of keeping and of each replacement, year by year, with the range
//! that holds 8 cases in 10.
//!
//! The range comes from the failures alone: their discounted cost so far is a compound Poisson sum
//! (negative binomial for the old unit), laid on a lattice and summed by Panjer's recursion (ASTIN
//! Bulletin 12 (1981) 22–26, from memory). Nothing is drawn, so the same case gives the same picture.
use serde::{Deserialize, Serialize};
use statrs::function::gamma::gamma_lr;

use crate::case::{CheckedCase, FaultCost};
use crate::chance::{CostLaw, FailureCosts, YearOfFailures};
use crate::rates::Discounts;
use crate::weigh::{
    Chain, Levers, Weighed, first_cost, in_warranty, old_failure, old_in_warranty, running_of,
};

/// Points of the lattice; fine enough for a drawing, one part in 130 of the spread.
const POINTS: usize = 400;

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
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CostPath {
    /// Code of the option; `None` = keep.
    pub code: Option<String>,
    /// Year 0 (today, after paying), 1, …, H.
    pub years: Vec<PathYear>,
}

/// Keeping beside every option that could be fitted now.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fork {
    /// Repair (when there is a fault in hand) and keep.
    pub keep: CostPath,
    /// Replace now, in the order of the case.
    pub replace: Vec<CostPath>,
}

/// The fork at the case's rate, and in plain money so far.
pub(crate) fn forks(checked: &CheckedCase, weighed: &Weighed) -> (Fork, Fork) {
    let tables = Tables::of(checked);
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

/// The laws of one failure's cost, each made once: most options share the old unit's.
struct Tables(Vec<(FaultCost, CostTable)>);

impl Tables {
    fn of(checked: &CheckedCase) -> Self {
        let case = checked.case();
        let options = case.options.iter().map(|o| &o.fault_cost);
        let mut tables: Vec<(FaultCost, CostTable)> = Vec::new();
        for cost in options.chain([&case.old.fault_cost]) {
            if tables.iter().all(|(known, _)| known != cost) {
                tables.push((*cost, CostTable::of(cost)));
            }
        }
        Self(tables)
    }

    fn range(&self, costs: &FailureCosts, cost: &FaultCost) -> (f64, f64) {
        match self.0.iter().find(|(known, _)| known == cost) {
            Some((_, table)) => range_of(costs, table),
            None => middle_eight_tenths(costs, cost),
        }
    }
}

/// Failure costs of the old unit over years 1..k.
pub(crate) fn old_failures(checked: &CheckedCase, table: &Discounts, k: usize) -> FailureCosts {
    standing_failures(checked, table, &vec![1.0; k])
}

/// The same where it still stands at the start of year 1, 2, … with these chances. A year that its warranty ends in counts
/// twice: the failures inside it, and those after.
fn standing_failures(checked: &CheckedCase, table: &Discounts, stands: &[f64]) -> FailureCosts {
    let old = &checked.case().old;
    let inside = CostLaw::Fixed(old_in_warranty(old, &Levers::default()));
    let years = stands
        .iter()
        .enumerate()
        .flat_map(|(i, stood)| {
            let covered = old.covered(i);
            let shares = [
                (covered, inside),
                (1.0 - covered, CostLaw::Drawn(old.fault_cost)),
            ];
            shares.map(|(share, law)| YearOfFailures {
                expected: checked.faults[i] * share * stood,
                discount: table.middle[i],
                law,
            })
        })
        .filter(|year| year.expected > 0.0)
        .collect();
    let frailty_var = old.frailty_var;
    FailureCosts { years, frailty_var }
}

/// Failure costs of option `o`, new today and renewed every `life` years, over years 1..k.
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
/// cost so far − still_in = W[k] + A* annuity(k) − (A_o − A*) D(k) e(k) (v^k/r at one rate), o being the option behind x(0).
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
            + checked.faults[i] * old_failure(old, i, &levers);
        let begun = weighed
            .start
            .get(k)
            .copied()
            .flatten()
            .map_or(0.0, |(x, _)| x);
        chances.push(stands);
        expected += stands * running * table.middle[i]
            + stands * lost * table.end[k] * (begun + old.write_off_premium)
            + (1.0 - stands) * least * (table.annuity[k] - table.annuity[i]);
        stands *= 1.0 - lost;
        let costs = standing_failures(checked, table, &chances);
        let range = tables.range(&costs, &old.fault_cost);
        let now = sure(k as u32, expected, left(k, stands));
        years.push(with_range(now, &costs, range));
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
    let once = wait + option.unplanned_premium - option.grant;
    let running = running_of(checked, o, &levers);
    let mut spent = fitted;
    let mut years = Vec::with_capacity(case.horizon as usize + 1);
    for k in 0..=case.horizon as usize {
        if k > 0 {
            spent += running[(k - 1) % life] * table.middle[k - 1];
            if k % life == 0 {
                spent += (option.disposal + fitted) * table.end[k];
            }
        }
        // What a chain at the option's own level cost would have paid by now is used up; the rest is
        // still in the unit.
        let still = discounted.then(|| spent - annual * table.annuity[k]);
        let expected = once + spent;
        let costs = new_failures(checked, o, table, k, life);
        let range = tables.range(&costs, &option.fault_cost);
        years.push(with_range(sure(k as u32, expected, still), &costs, range));
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

/// The 10 % and 90 % points of a sum of failure costs, pounds. `drawn` is the law of every failure
/// whose cost is not fixed.
pub fn middle_eight_tenths(costs: &FailureCosts, drawn: &FaultCost) -> (f64, f64) {
    range_of(costs, &CostTable::of(drawn))
}

fn range_of(costs: &FailureCosts, table: &CostTable) -> (f64, f64) {
    let (mean, deviation) = (costs.mean(), costs.variance().sqrt());
    let expected: f64 = costs.telling().map(|y| y.expected).sum();
    if deviation <= 0.0 {
        return (mean, mean);
    }
    if expected > 300.0 {
        // So many failures that the sum is normal, frailty apart; the lattice would underflow.
        return (
            (mean - 1.2816 * deviation).max(0.0),
            mean + 1.2816 * deviation,
        );
    }
    // By Cantelli's inequality the 90 % point lies below mean + 3 deviations.
    let step = (mean + 3.1 * deviation) / POINTS as f64;
    let masses = Lattice::of(costs, table, expected, step).sum(costs, expected);
    (point(&masses, step, 0.1), point(&masses, step, 0.9))
}

/// The point below which `share` of the mass lies; mass at j > 0 is spread over (j ± ½) steps.
fn point(masses: &[f64], step: f64, share: f64) -> f64 {
    let mut below = 0.0;
    for (j, mass) in masses.iter().enumerate() {
        if below + mass >= share {
            let inside = if *mass > 0.0 {
                (share - below) / mass
            } else {
                0.0
            };
            return if j == 0 {
                0.0
            } else {
                (j as f64 - 0.5 + inside) * step
            };
        }
        below += mass;
    }
    masses.len() as f64 * step
}

/// One failure's discounted cost, whichever year it falls in, on a lattice.
struct Lattice {
    masses: Vec<f64>,
}

impl Lattice {
    fn of(costs: &FailureCosts, table: &CostTable, expected: f64, step: f64) -> Self {
        let mut masses = vec![0.0; POINTS + 1];
        for year in costs.telling() {
            let weight = year.expected / expected;
            match year.law {
                CostLaw::Fixed(cost) => {
                    spread_fixed(&mut masses, weight, year.discount * cost / step);
                }
                CostLaw::Drawn(_) => {
                    spread_drawn(&mut masses, weight, step / year.discount, table);
                }
            }
        }
        Self { masses }
    }

    /// Panjer: p_n = Σ_{j=1..n} (a + b j/n) g_j p_(n−j)/(1 − a g_0), with a = 0, b = M for Poisson and
    /// a = sM/(1+sM), b = (1/s − 1) a for the gamma mixture.
    fn sum(&self, costs: &FailureCosts, expected: f64) -> Vec<f64> {
        let (g, s) = (&self.masses, costs.frailty_var);
        let left = expected * (1.0 - g[0]);
        let (a, b, first) = if s > 0.0 {
            let a = s * expected / (1.0 + s * expected);
            (a, (1.0 / s - 1.0) * a, (-(s * left).ln_1p() / s).exp())
        } else {
            (0.0, expected, (-left).exp())
        };
        let weighted: Vec<f64> = (0u32..).zip(g).map(|(j, g)| f64::from(j) * g).collect();
        let mut p = vec![first];
        for n in 1..g.len() {
            // The sum in two parts, so that nothing is divided inside it.
            let (mut plain, mut by_j) = (0.0, 0.0);
            for ((g, jg), p) in g[1..=n]
                .iter()
                .zip(&weighted[1..=n])
                .zip(p[..n].iter().rev())
            {
                plain += g * p;
                by_j += jg * p;
            }
            p.push((a * plain + b * by_j / n as f64) / (1.0 - a * g[0]));
        }
        p
    }
}

/// A sure amount, shared between its two neighbours so that the mean is kept.
fn spread_fixed(masses: &mut [f64], weight: f64, place: f64) {
    let (j, part) = (place.floor() as usize, place.fract());
    if let Some(mass) = masses.get_mut(j) {
        *mass += weight * (1.0 - part);
    }
    if let Some(mass) = masses.get_mut(j + 1) {
        *mass += weight * part;
    }
}

/// A drawn amount, each cell of ± half a step taking the chance that lies in it.
fn spread_drawn(masses: &mut [f64], weight: f64, step: f64, table: &CostTable) {
    let mut below = 0.0;
    for (j, mass) in masses.iter_mut().enumerate() {
        let up_to = table.below((j as f64 + 0.5) * step);
        *mass += weight * (up_to - below);
        below = up_to;
    }
}

/// P(cost of one failure ≤ x), tabulated once since every year of every lattice asks for it.
struct CostTable {
    step: f64,
    values: Vec<f64>,
}

impl CostTable {
    /// Points between nought and eight standard deviations above the mean.
    const POINTS: usize = 1500;

    fn of(cost: &FaultCost) -> Self {
        let deviation = (cost.mean_square() - cost.mean().powi(2)).max(0.0).sqrt();
        let step = (cost.mean() + 8.0 * deviation).max(f64::MIN_POSITIVE) / Self::POINTS as f64;
        let share = cost.emergency_share;
        let values = (0..=Self::POINTS + 1)
            .map(|j| {
                let edge = j as f64 * step - cost.disruption;
                (1.0 - share) * repair_below(edge, cost)
                    + share * repair_below(edge - cost.emergency_premium, cost)
            })
            .collect();
        Self { step, values }
    }

    fn below(&self, x: f64) -> f64 {
        let place = x / self.step;
        let (j, part) = (place.floor() as usize, place.fract());
        match (self.values.get(j), self.values.get(j + 1)) {
            (Some(a), Some(b)) => a + part * (b - a),
            _ => 1.0,
        }
    }
}

/// P(repair price ≤ x), gamma with the stated mean and coefficient of variation.
fn repair_below(x: f64, cost: &FaultCost) -> f64 {
    if x < 0.0 {
        return 0.0;
    }
    let squared = cost.repair_cv * cost.repair_cv;
    if squared * cost.repair_mean <= 0.0 {
        return if x >= cost.repair_mean { 1.0 } else { 0.0 };
    }
    if x <= 0.0 {
        return 0.0;
    }
    gamma_lr(1.0 / squared, x / (cost.repair_mean * squared))
}
