//! The money a building will need for replacements, year by year, as a spread.
//!
//! A unit of age a leaves by the Weibull law of its kind's whole-unit life, η = median/(ln 2)^(1/β): the chance to be
//! replaced in year i is f_i(a) = S(a+i−1)/S(a) − S(a+i)/S(a), S(t) = exp(−(t/η)^β). What is put in ages from nought and
//! may be replaced in its turn: u_i = f_i(a) + Σ_(j<i) u_j f_(i−j)(0) (the renewal equation in whole years). The money of
//! a year is Σ over units of price × Bernoulli(u_i), units taken as independent; its law is laid on a lattice, so nothing
//! is drawn. This law is for setting money aside; it never advises a replacement.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// Points of the lattice of a year's money.
const POINTS: usize = 600;

/// A unit that will need replacing one day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// Its age today, years.
    pub age: f64,
    /// Years by which half of its kind have been replaced.
    pub median: f64,
    /// Weibull shape of that life.
    pub shape: f64,
    /// Pounds for a new one, fitted, today's money.
    pub price: f64,
    /// The year (1 = the coming one) it is decided to be replaced in; then that is certain.
    pub decided: Option<u32>,
}

/// The money of one year, pounds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct YearSpread {
    /// 1 = the coming year.
    pub year: u32,
    /// Expected.
    pub mean: f64,
    /// 1 year in 10 takes no more.
    pub low_80: f64,
    /// 1 year in 4 takes no more.
    pub low_50: f64,
    /// 3 years in 4 take no more.
    pub high_50: f64,
    /// 9 years in 10 take no more.
    pub high_80: f64,
    /// Replacements expected.
    pub units: f64,
}

/// Chance that a unit is replaced in year 1, 2, … `years`.
pub fn replaced_in(unit: &Stock, years: u32) -> Vec<f64> {
    let scale = unit.median / 2.0_f64.ln().powf(1.0 / unit.shape);
    let hazard = |t: f64| (t.max(0.0) / scale).powf(unit.shape);
    let left = |age: f64, t: f64| (hazard(age) - hazard(age + t)).exp();
    let first = |age: f64, i: u32| left(age, f64::from(i - 1)) - left(age, f64::from(i));
    let fresh: Vec<f64> = (1..=years).map(|i| first(0.0, i)).collect();
    let mut u: Vec<f64> = Vec::with_capacity(years as usize);
    for i in 1..=years {
        let own = match unit.decided {
            Some(year) => f64::from(u8::from(year == i)),
            None => first(unit.age.max(0.0), i),
        };
        let again: f64 = u
            .iter()
            .enumerate()
            .filter_map(|(j, before)| Some(before * fresh.get(i as usize - j - 2)?))
            .sum();
        u.push((own + again).clamp(0.0, 1.0));
    }
    u
}

/// The money of each year to come; `dearer` is how much dearer a unit gets each year beyond other prices (0 = today's
/// money throughout), taken at mid-year. A unit with a median or shape that is not above nought is left out.
pub fn reserve(units: &[Stock], years: u32, dearer: f64) -> Vec<YearSpread> {
    let chances: Vec<(f64, Vec<f64>)> = units
        .iter()
        .filter(|u| u.median > 0.0 && u.shape > 0.0 && u.price >= 0.0 && u.price.is_finite())
        .map(|u| (u.price, replaced_in(u, years)))
        .collect();
    (1..=years)
        .map(|year| {
            let i = year as usize - 1;
            let growth = (1.0 + dearer).powf(f64::from(year) - 0.5);
            let due: Vec<(f64, f64)> = chances
                .iter()
                .filter_map(|(price, u)| Some((price * growth, *u.get(i)?)))
                .filter(|(price, u)| *price > 0.0 && *u > 0.0)
                .collect();
            let masses = Masses::of(&due);
            YearSpread {
                year,
                mean: due.iter().map(|(price, u)| price * u).sum(),
                low_80: masses.point(0.1),
                low_50: masses.point(0.25),
                high_50: masses.point(0.75),
                high_80: masses.point(0.9),
                units: chances.iter().filter_map(|(_, u)| u.get(i)).sum(),
            }
        })
        .collect()
}

/// Expected pounds a flat a month over the whole span, and the same with 9 spans in 10 covered: years taken as
/// independent (a unit replaced once is not soon replaced again, so this leans to the safe side) and their sum as normal.
/// `None` without flats or years.
pub fn a_flat_a_month(years: &[YearSpread], flats: u32) -> Option<(f64, f64)> {
    if flats == 0 || years.is_empty() {
        return None;
    }
    let months = f64::from(flats) * years.len() as f64 * 12.0;
    let mean: f64 = years.iter().map(|y| y.mean).sum();
    // Half the 80 % range of each year is 1.2816 deviations of it.
    let squares: f64 = years
        .iter()
        .map(|y| ((y.high_80 - y.low_80) / 2.0).powi(2))
        .sum();
    Some((mean / months, (mean + squares.sqrt()) / months))
}

/// A step of at least `finest` that divides the price most units are expected at, so that sums of like units fall on the
/// lattice and are not smeared.
fn anchored(due: &[(f64, f64)], finest: f64) -> f64 {
    let mut weights: BTreeMap<u64, f64> = BTreeMap::new();
    for (price, u) in due {
        *weights.entry(price.to_bits()).or_default() += u;
    }
    let common = weights.iter().max_by(|a, b| a.1.total_cmp(b.1));
    let Some(price) = common.map(|(bits, _)| f64::from_bits(*bits)) else {
        return 1.0;
    };
    let parts = (price / finest.max(f64::MIN_POSITIVE)).floor();
    price / parts.clamp(1.0, POINTS as f64)
}

/// The law of Σ price × Bernoulli, on a lattice that keeps its mean.
struct Masses {
    step: f64,
    masses: Vec<f64>,
}

impl Masses {
    fn of(due: &[(f64, f64)]) -> Self {
        let most: f64 = due.iter().map(|(price, _)| price).sum();
        let mean: f64 = due.iter().map(|(price, u)| price * u).sum();
        let variance: f64 = due
            .iter()
            .map(|(price, u)| price * price * u * (1.0 - u))
            .sum();
        let dearest = due.iter().map(|(price, _)| *price).fold(0.0, f64::max);
        // Far beyond the 90 % point, which is all that is asked for.
        let reach = (mean + 6.0 * variance.sqrt() + dearest).min(most);
        let step = anchored(due, reach / POINTS as f64);
        let mut masses = vec![0.0; (reach / step).ceil() as usize + 2];
        if let Some(none) = masses.first_mut() {
            *none = 1.0;
        }
        for (price, u) in due {
            let place = price / step;
            let (whole, part) = (place.floor() as usize, place.fract());
            let before = masses.clone();
            for (n, mass) in masses.iter_mut().enumerate() {
                let from = |back: usize| n.checked_sub(back).and_then(|i| before.get(i)).copied();
                let shifted = (1.0 - part) * from(whole).unwrap_or(0.0)
                    + part * from(whole + 1).unwrap_or(0.0);
                *mass = (1.0 - u) * *mass + u * shifted;
            }
        }
        Self { step, masses }
    }

    /// The least sum that a share of the years does not exceed.
    fn point(&self, share: f64) -> f64 {
        let mut below = 0.0;
        for (n, mass) in self.masses.iter().enumerate() {
            below += mass;
            if below >= share - 1e-9 {
                return n as f64 * self.step;
            }
        }
        self.masses.len() as f64 * self.step
    }
}
