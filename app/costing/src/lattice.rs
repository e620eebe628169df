//! The range of a sum of failure costs that holds 8 cases in 10.
//!
//! Their discounted sum is compound Poisson (negative binomial under a common multiplier), laid on a lattice and summed by
//! Panjer's recursion (ASTIN Bulletin 12 (1981) 22–26, from memory).
use statrs::function::gamma::gamma_lr;

use crate::amounts::FaultCost;
use crate::chance::{CostLaw, FailureCosts};

/// Points of the lattice; fine enough for a drawing, one part in 130 of the spread.
const POINTS: usize = 400;

/// The laws of one failure's cost, each made once: most options share the old unit's.
pub struct Tables(Vec<(FaultCost, CostTable)>);

impl Tables {
    /// Of so many costs; the same twice is made once.
    pub fn of<'a>(costs: impl Iterator<Item = &'a FaultCost>) -> Self {
        let mut tables: Vec<(FaultCost, CostTable)> = Vec::new();
        for cost in costs {
            if tables.iter().all(|(known, _)| known != cost) {
                tables.push((*cost, CostTable::of(cost)));
            }
        }
        Self(tables)
    }

    fn of_cost(&self, cost: &FaultCost) -> Option<&CostTable> {
        let found = self.0.iter().find(|(known, _)| known == cost);
        found.map(|(_, table)| table)
    }

    /// The 10 % and 90 % points of a sum of failure costs, pounds; every law in it must be among the tables.
    pub fn range(&self, costs: &FailureCosts) -> (f64, f64) {
        range_of(costs, self)
    }
}

fn range_of(costs: &FailureCosts, tables: &Tables) -> (f64, f64) {
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
    let masses = Lattice::of(costs, tables, expected, step).sum(costs, expected);
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
    fn of(costs: &FailureCosts, tables: &Tables, expected: f64, step: f64) -> Self {
        let mut masses = vec![0.0; POINTS + 1];
        for year in costs.telling() {
            let weight = year.expected / expected;
            match year.law {
                CostLaw::Fixed(cost) => {
                    spread_fixed(&mut masses, weight, year.discount * cost / step);
                }
                CostLaw::Drawn(cost) => {
                    if let Some(table) = tables.of_cost(&cost) {
                        spread_drawn(&mut masses, weight, step / year.discount, table);
                    }
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
        let last = g.len() - 1;
        // From the end of the list back, so that p_(n−1), p_(n−2), … lie one after another.
        let mut back = vec![0.0; g.len()];
        back[last] = first;
        for n in 1..g.len() {
            // The sum in two parts, so that nothing is divided inside it.
            let met = &back[last + 1 - n..];
            let (plain, by_j) = (product(&g[1..=n], met), product(&weighted[1..=n], met));
            back[last - n] = (a * plain + b * by_j / n as f64) / (1.0 - a * g[0]);
        }
        back.reverse();
        back
    }
}

/// Σ a_i b_i, eight at a time: one long sum would wait for itself at every step.
fn product(a: &[f64], b: &[f64]) -> f64 {
    const ABREAST: usize = 8;
    let (a, rest_a) = a.as_chunks::<ABREAST>();
    let (b, rest_b) = b.as_chunks::<ABREAST>();
    let mut sums = [0.0; ABREAST];
    for (a, b) in a.iter().zip(b) {
        for (sum, (a, b)) in sums.iter_mut().zip(a.iter().zip(b)) {
            *sum += a * b;
        }
    }
    let rest: f64 = rest_a.iter().zip(rest_b).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
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
