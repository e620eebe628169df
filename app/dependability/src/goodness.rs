//! Whether a kind's fit holds for the very record it was made from (FORECAST §8): by band of age, by calendar year, and from
//! unit to unit.
//!
//! **How far off.** In cells c (bands of age, or calendar years) O_c failures were met and E_c expected; with the level taken
//! anew, s = Σ O/Σ E, the distance is Σ_c (O_c − s E_c)² / (s E_c (1 + θ s E_c/u_c)), u_c the units watched there. From unit to
//! unit it is how unevenly the probability transforms of the units' counts fall: Σ_j J (f_j − 1/J)² over J = 10 bins of the
//! non-randomised histogram (C. Czado, T. Gneiting, L. Held, "Predictive model assessment for count data", Biometrics 65,
//! 2009, from memory). Both are put beside [`DRAWS`] records drawn from the fit: z of each unit from its gamma law, counts
//! from Poisson laws, the level of each draw taken anew; the chance is (1 + draws as far off) / (1 + draws). Ageing, factors
//! and θ are not fitted again to a draw, so that with one clock a chance here is rather too large than too small. With part clocks what
//! is expected of a unit hangs on its own renewals, which a draw holds as they were: there it is a rougher guide.
//!
//! **Units unlike one another.** The score of θ at 0 is Σ ((n − μ)² − n) / √(2 Σ μ²) (FORECAST §2; C. Dean and J. Lawless, "Tests
//! for detecting overdispersion in Poisson regression models", JASA 84, 1989, from memory), μ on the level of the record;
//! its chance is that of units all alike, from as many draws.
use numerics::CountLaw;
use serde::{Deserialize, Serialize};

use crate::age_bands::{EDGES, dated, effect_of, ratio90};
use crate::dice::Dice;
use crate::kind_fit::{Housed, KindFit};
use crate::prior::{InputError, KindPrior};
use crate::within::within;

/// Records drawn from the fit (FORECAST §8).
pub const DRAWS: u32 = 199;
/// Failures below which nothing is said: of fewer the specification says neither ageing nor spread (FORECAST §11).
pub const LEAST_FAILURES: u32 = 15;
/// Units looked at, at most; of more every so manieth is taken, so that a page need not wait.
pub const MOST_UNITS: usize = 4_000;
/// Bins of the transform's histogram.
const BINS: usize = 10;
/// The same record gives the same answer.
const SEED: u64 = 199;

/// A calendar year on the axis of the histories.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CalendarYear {
    /// Which.
    pub year: i32,
    /// Its first moment, years on the axis of the histories.
    pub from: f64,
    /// Its last.
    pub until: f64,
}

/// What was met in a calendar year.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct YearMet {
    /// Which.
    pub year: i32,
    /// Units watched in it.
    pub units: usize,
    /// Unit-years watched in it.
    pub unit_years: f64,
    /// Failures in it; one of no known day is shared out over what is known of it.
    pub failures: f64,
    /// Failures the fit expects in it, each building with its own factor.
    pub expected: f64,
    /// θ of the fit.
    pub theta: f64,
}

impl YearMet {
    /// Observed over expected with its 90 % interval, as of a band of age.
    pub fn ratio90(&self) -> Option<(f64, f64, f64)> {
        ratio90(self.failures, (self.expected, self.units), self.theta)
    }
}

/// How the fit holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Goodness {
    /// Units looked at: those fitted within two years of a known day, and of very many every so manieth.
    pub units: usize,
    /// Their failures.
    pub failures: u32,
    /// By calendar year, those in which a unit was watched.
    pub years: Vec<YearMet>,
    /// How often a record of this fit lies as far from it by age; `None` where one band alone was watched.
    pub by_age: Option<f64>,
    /// The same by calendar year; `None` where one year alone was watched.
    pub by_year: Option<f64>,
    /// The same from unit to unit.
    pub by_unit: f64,
    /// Score of θ at 0: above 0 units differ from one another.
    pub unlike: f64,
    /// How often units all alike score as much.
    pub unlike_by_luck: f64,
}

/// One unit: failures, and failures expected of it by cell.
struct Looked {
    failures: u32,
    ages: Vec<f64>,
    years: Vec<f64>,
}

impl Looked {
    fn expected(&self) -> f64 {
        self.years.iter().sum()
    }
}

/// One set of cells: met, expected, units watched.
#[derive(Clone, Default)]
struct Cells(Vec<(f64, f64, f64)>);

impl Cells {
    fn of(count: usize) -> Self {
        Self(vec![(0.0, 0.0, 0.0); count])
    }

    fn add(&mut self, place: usize, failures: f64, expected: f64) {
        if let Some(cell) = self.0.get_mut(place) {
            cell.0 += failures;
            cell.1 += expected;
            cell.2 += 1.0;
        }
    }

    fn watched(&self) -> usize {
        self.0.iter().filter(|c| c.1 > 0.0).count()
    }

    /// The distance of the module's heading; 0 where nothing was met or expected.
    fn distance(&self, theta: f64) -> f64 {
        let (met, expected) = self
            .0
            .iter()
            .fold((0.0, 0.0), |sums, cell| (sums.0 + cell.0, sums.1 + cell.1));
        if met <= 0.0 || expected <= 0.0 {
            return 0.0;
        }
        let watched = self.0.iter().filter(|c| c.1 > 0.0);
        watched
            .map(|(failures, usual, units)| {
                let here = usual * met / expected;
                (failures - here).powi(2) / (here * (1.0 + theta * here / units))
            })
            .sum()
    }
}

/// How the fit holds for these units; `None` with fewer than [`LEAST_FAILURES`] failures among those with a known day of
/// fitting. Histories that cannot be are left out. The years are told apart as they are given.
///
/// # Errors
/// A fit of another version of the kind.
pub fn goodness(
    prior: &KindPrior,
    fit: &KindFit,
    units: &[Housed<'_>],
    years: &[CalendarYear],
) -> Result<Option<Goodness>, InputError> {
    fit.fits(prior)?;
    let usable: Vec<(&Housed<'_>, f64)> = units
        .iter()
        .filter(|u| u.history.check(prior.covariates.len()).is_ok())
        .filter_map(|u| Some((u, dated(u.history)?)))
        .collect();
    let step = usable.len().div_ceil(MOST_UNITS).max(1);
    let (mut ages, mut by_year) = (Cells::of(EDGES.len()), Cells::of(years.len()));
    let mut watched = vec![0.0; years.len()];
    let mut looked = Vec::new();
    for (unit, installed) in usable.into_iter().step_by(step) {
        let told = (unit.history, installed, effect_of(fit, unit.building));
        let mut one = Looked {
            failures: 0,
            ages: vec![0.0; EDGES.len()],
            years: vec![0.0; years.len()],
        };
        for (place, from) in EDGES.iter().enumerate() {
            let until = EDGES.get(place + 1).copied().unwrap_or(f64::INFINITY);
            let span = (installed + from, installed + until);
            if let Some(met) = within(prior, fit, told, span)? {
                ages.add(place, met.shared, met.expected);
                one.ages[place] = met.expected;
            }
        }
        for (place, year) in years.iter().enumerate() {
            if let Some(met) = within(prior, fit, told, (year.from, year.until))? {
                by_year.add(place, met.shared, met.expected);
                watched[place] += met.years;
                one.years[place] = met.expected;
                one.failures += met.failures;
            }
        }
        if one.expected() > 0.0 {
            looked.push(one);
        }
    }
    let failures: u32 = looked.iter().map(|u| u.failures).sum();
    if failures < LEAST_FAILURES {
        return Ok(None);
    }
    let rows = years.iter().zip(&by_year.0).zip(&watched);
    let met = rows
        .filter(|(_, years)| **years > 0.0)
        .map(|((year, cell), unit_years)| YearMet {
            year: year.year,
            units: cell.2 as usize,
            unit_years: *unit_years,
            failures: cell.0,
            expected: cell.1,
            theta: fit.theta(),
        });
    let met = met.collect();
    Ok(Some(judged(fit.theta(), &looked, (&ages, &by_year), met)))
}

/// The record put beside records drawn from its fit.
fn judged(
    theta: f64,
    units: &[Looked],
    (ages, years): (&Cells, &Cells),
    met: Vec<YearMet>,
) -> Goodness {
    let expected: Vec<f64> = units.iter().map(Looked::expected).collect();
    let counts: Vec<u64> = units.iter().map(|u| u64::from(u.failures)).collect();
    let seen = (
        ages.distance(theta),
        years.distance(theta),
        unevenness(&counts, &expected, theta),
        score_at_none(&counts, &expected),
    );
    let mut as_far = [0_u32; 4];
    let mut dice = Dice::new(SEED);
    let level = counts.iter().sum::<u64>() as f64 / expected.iter().sum::<f64>();
    for _ in 0..DRAWS {
        let z: Vec<f64> = units.iter().map(|_| dice.frailty(theta)).collect();
        let by_age = drawn(&mut dice, ages, units, &z, level, |u| &u.ages);
        let by_year = drawn(&mut dice, years, units, &z, level, |u| &u.years);
        let mut each = |z: &dyn Fn(usize) -> f64| -> Vec<u64> {
            let means = expected.iter().enumerate();
            means
                .map(|(u, mean)| dice.poisson(level * z(u) * mean))
                .collect()
        };
        let drawn_counts = each(&|u| z[u]);
        let alike = each(&|_| 1.0);
        let far = [
            by_age.distance(theta) >= seen.0,
            by_year.distance(theta) >= seen.1,
            unevenness(&drawn_counts, &expected, theta) >= seen.2,
            score_at_none(&alike, &expected) >= seen.3,
        ];
        for (count, far) in as_far.iter_mut().zip(far) {
            *count += u32::from(far);
        }
    }
    let chance = |place: usize| f64::from(1 + as_far[place]) / f64::from(1 + DRAWS);
    Goodness {
        units: units.len(),
        failures: counts.iter().sum::<u64>() as u32,
        years: met,
        by_age: (ages.watched() > 1).then(|| chance(0)),
        by_year: (years.watched() > 1).then(|| chance(1)),
        by_unit: chance(2),
        unlike: seen.3,
        unlike_by_luck: chance(3),
    }
}

/// The cells with counts of a draw: given the units' z the failures of a cell are Poisson of the sum.
fn drawn(
    dice: &mut Dice,
    cells: &Cells,
    units: &[Looked],
    z: &[f64],
    level: f64,
    of: impl Fn(&Looked) -> &[f64],
) -> Cells {
    let mut means = vec![0.0; cells.0.len()];
    for (unit, z) in units.iter().zip(z) {
        for (mean, expected) in means.iter_mut().zip(of(unit)) {
            *mean += level * z * expected;
        }
    }
    let mut drawn = cells.clone();
    for (cell, mean) in drawn.0.iter_mut().zip(means) {
        cell.0 = dice.poisson(mean) as f64;
    }
    drawn
}

/// Expected numbers on the level of the counts; `None` where nothing was met or expected.
fn level_of(counts: &[u64], expected: &[f64]) -> Option<f64> {
    let (met, usual) = (
        counts.iter().sum::<u64>() as f64,
        expected.iter().sum::<f64>(),
    );
    (met > 0.0 && usual > 0.0).then(|| met / usual)
}

/// Σ J (f_j − 1/J)² of the non-randomised histogram of the probability transforms.
fn unevenness(counts: &[u64], expected: &[f64], theta: f64) -> f64 {
    let Some(level) = level_of(counts, expected) else {
        return 0.0;
    };
    let mut bins = [0.0; BINS];
    for (count, mean) in counts.iter().zip(expected) {
        let law = CountLaw {
            mean: level * mean,
            inv_size: theta,
        };
        let (below, upto) = up_to(&law, *count);
        // One so far out that all chance lies below it fills the last bin.
        let reached = |at: f64| {
            if at >= 1.0 {
                1.0
            } else {
                ((at - below) / (upto - below).max(1e-300)).clamp(0.0, 1.0)
            }
        };
        for (place, bin) in bins.iter_mut().enumerate() {
            let edge = |place: usize| place as f64 / BINS as f64;
            *bin += reached(edge(place + 1)) - reached(edge(place));
        }
    }
    let (units, even) = (counts.len() as f64, 1.0 / BINS as f64);
    bins.iter()
        .map(|bin| BINS as f64 * (bin / units - even).powi(2))
        .sum()
}

/// P(N < count) and P(N ≤ count).
fn up_to(law: &CountLaw, count: u64) -> (f64, f64) {
    let mut below = 0.0;
    let mut here = 0.0;
    for ln_p in law.ln_chances().take(count as usize + 1) {
        below += here;
        here = ln_p.exp();
    }
    (below.min(1.0), (below + here).min(1.0))
}

/// Σ ((n − μ)² − n) / √(2 Σ μ²): standard normal for very many units all alike.
fn score_at_none(counts: &[u64], expected: &[f64]) -> f64 {
    let Some(level) = level_of(counts, expected) else {
        return 0.0;
    };
    let (mut score, mut spread) = (0.0, 0.0);
    for (count, mean) in counts.iter().zip(expected) {
        let (n, mu) = (*count as f64, level * mean);
        score += (n - mu).powi(2) - n;
        spread += 2.0 * mu * mu;
    }
    score / spread.sqrt()
}

#[cfg(test)]
mod tests;
