//! A stronger lower bound by pricing jobs: Lagrangean relaxation of "every job once", round by round.
//!
//! For prices π_j ≥ 0 of jobs and 0 ≤ μ_w ≤ over_week of minutes in a week,
//! L(π, μ) = Σ_j min(π_j, unplaced_j) + Σ_rounds min(0, cheapest round − its prices) − Σ_w μ_w·level_w
//! is at most the cost of any plan: doing a job more than once never helps, because leaving a visit out of
//! a round keeps it possible (travel obeys the triangle inequality). The cheapest round is itself bounded
//! from below: a tour whose furthest building is b travels at least twice the way from base to b, D, and what
//! every other building of it adds to any tour ([`super::menu::detours`]), so a knapsack over the visits of
//! buildings no further than b ([`super::knapsack`]) is a relaxation of every such round. Access hours inside the day are left aside. Prices are improved by
//! damped subgradient steps (Held, Wolfe, Crowder, "Validation of subgradient optimization",
//! Mathematical Programming 1974); any prices give a valid bound.
use super::knapsack::Sack;
use super::least::Least;
use super::menu::{Menu, detours, menu};
use super::tables::Tables;
use super::visits::Bundle;
use crate::Allowance;

/// Weight of the newest direction in the damped one.
const FRESH: f64 = 0.25;
/// Steps without a better bound after which steps are halved.
const PATIENCE: u32 = 12;
/// Below this share of a full step more steps bring nothing.
const SMALLEST_STEP: f64 = 0.002;

/// What the prices are tried on.
pub struct Pricing<'a> {
    /// Look-ups.
    pub tables: &'a Tables<'a>,
    /// Every visit there can be.
    pub bundles: &'a [Bundle],
    menus: Vec<(usize, Menu)>,
    /// Minutes of one unit of the knapsack.
    pub unit: i32,
}

/// The prices and what they prove.
#[derive(Clone, Debug)]
pub struct Priced {
    /// The bound, pence.
    pub value: f64,
    /// π.
    pub jobs: Vec<f64>,
    /// Steps made.
    pub steps: u32,
}

/// Improves LB0 by pricing until the allowance or `most` steps are spent. `target` is the cost of a plan.
pub fn priced(
    tables: &Tables<'_>,
    least: &Least,
    target: i64,
    most: u32,
    allowance: &dyn Allowance,
) -> Priced {
    let problem = tables.problem;
    let pricing = Pricing::of(tables, &least.bundles);
    let mut best = Priced {
        value: least.value,
        jobs: least.prices.clone(),
        steps: 0,
    };
    let weeks = problem.week_level.len();
    let caps: Vec<f64> = problem.jobs.iter().map(|j| j.unplaced as f64).collect();
    let mut at = (best.jobs.clone(), vec![0.0; weeks]);
    let mut centre = at.clone();
    let mut centre_value = f64::NEG_INFINITY;
    let mut way = (vec![0.0; at.0.len()], vec![0.0; weeks]);
    let (mut step, mut stale) = (1.0, 0);
    let mut sack = Sack::default();
    while best.steps < most && !allowance.spent() && step > SMALLEST_STEP {
        best.steps += 1;
        let (value, slope) = pricing.evaluate(&at, &mut sack);
        if value > centre_value {
            (centre, centre_value, stale) = (at.clone(), value, 0);
            if value > best.value {
                best.value = value;
                best.jobs.clone_from(&at.0);
            }
        } else {
            stale += 1;
            if stale >= PATIENCE {
                (step, stale) = (step / 2.0, 0);
                at.clone_from(&centre);
            }
        }
        let blend = |old: &mut Vec<f64>, new: &[f64]| {
            for (o, n) in old.iter_mut().zip(new) {
                *o += FRESH * (n - *o);
            }
        };
        blend(&mut way.0, &slope.0);
        blend(&mut way.1, &slope.1);
        // Minutes of a week weigh far more than jobs: they move on a scale of their own.
        let norm: f64 = way.0.iter().map(|d| d * d).sum::<f64>()
            + way.1.iter().map(|d| (d / 60.0).powi(2)).sum::<f64>();
        if norm < 1e-9 {
            break;
        }
        let length = step * (target as f64 - value).max(1.0) / norm;
        for (j, (price, d)) in at.0.iter_mut().zip(&way.0).enumerate() {
            *price = (*price + length * d).clamp(0.0, caps[j]);
        }
        for (price, d) in at.1.iter_mut().zip(&way.1) {
            *price = (*price + length * d / 3600.0).clamp(0.0, problem.costs.over_week as f64);
        }
    }
    best
}

impl<'a> Pricing<'a> {
    fn of(tables: &'a Tables<'a>, bundles: &'a [Bundle]) -> Self {
        let mut rounds: Vec<Vec<u32>> = vec![Vec::new(); tables.shifts.len()];
        for (i, bundle) in bundles.iter().enumerate() {
            for r in &bundle.rounds {
                rounds[*r as usize].push(i as u32);
            }
        }
        let unit = bundles.iter().fold(0, |g, b| gcd(g, b.length)).max(1);
        let problem = tables.problem;
        let served: Vec<Vec<i32>> = problem
            .engineers
            .iter()
            .map(|who| {
                let serves = |b: &usize| who.areas.contains(&problem.buildings[*b].area);
                let own: Vec<usize> = (0..problem.buildings.len()).filter(serves).collect();
                let mut all = vec![0; problem.buildings.len()];
                for (b, minutes) in own.iter().zip(detours(tables, who.base, &own)) {
                    all[*b] = minutes;
                }
                all
            })
            .collect();
        let menus = rounds
            .into_iter()
            .enumerate()
            .filter(|(_, items)| !items.is_empty())
            .map(|(r, items)| (r, menu(tables, bundles, r, items, &served[r / tables.days])))
            .collect();
        Self {
            tables,
            bundles,
            menus,
            unit,
        }
    }

    /// L(π, μ) and its slope.
    fn evaluate(&self, at: &(Vec<f64>, Vec<f64>), sack: &mut Sack) -> (f64, (Vec<f64>, Vec<f64>)) {
        let problem = self.tables.problem;
        let (prices, weeks) = at;
        let mut value: f64 = prices.iter().sum();
        let mut slope = (vec![1.0; prices.len()], vec![0.0; weeks.len()]);
        for (w, price) in weeks.iter().enumerate() {
            value -= price * problem.week_level[w] as f64;
            slope.1[w] -= problem.week_level[w] as f64;
        }
        for (r, menu) in &self.menus {
            let gain = sack.fill(self, *r, menu, at);
            if gain > 0.0 {
                value -= gain;
                sack.unpack(self, *r, menu, &mut slope);
            }
        }
        (value, slope)
    }
}

fn gcd(a: i32, b: i32) -> i32 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}
