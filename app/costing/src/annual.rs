//! Equivalent annual costs and economic life with end-of-year payments, as the textbooks of
//! engineering economy define them. r rate, annuity(n) as in [`crate::discount`].
use crate::discount::{annuity, factor};

/// A unit's first cost and, year by year, its market value at the year's end and its cost in the year.
#[derive(Clone, Copy, Debug)]
pub struct Ownership<'a> {
    /// Pounds at the start.
    pub first_cost: f64,
    /// Pounds it would fetch at the end of year 1, 2, …
    pub market_value: &'a [f64],
    /// Pounds spent in year 1, 2, … (at the year's end).
    pub annual_cost: &'a [f64],
    /// Yearly rate.
    pub rate: f64,
}

/// EAC(n) = (first − market(n)(1+r)^−n + Σ_{j≤n} cost(j)(1+r)^−j)/annuity(n) for n = 1, 2, …, as far
/// as both lists reach.
pub fn annual_cost_by_year(owned: &Ownership<'_>) -> Vec<f64> {
    let mut spent = owned.first_cost;
    (1u32..)
        .zip(owned.market_value.iter().zip(owned.annual_cost))
        .map(|(n, (market, cost))| {
            let v = factor(owned.rate, f64::from(n));
            spent += cost * v;
            (spent - market * v) / annuity(owned.rate, n)
        })
        .collect()
}

/// The least entry of a series by year and its year (from 1), the first on a tie.
pub fn least_with_year(series: &[f64]) -> Option<(f64, u32)> {
    (1u32..)
        .zip(series)
        .fold(None, |best, (year, &value)| match best {
            Some((least, _)) if least <= value => best,
            _ => Some((value, year)),
        })
}

/// pv/annuity(years); `None` when there are no years to spread it over.
pub fn equivalent_annual(pv: f64, rate: f64, years: u32) -> Option<f64> {
    (years > 0).then(|| pv / annuity(rate, years))
}

/// (first − market_end (1+r)^−n)/annuity(n) + cost, for a cost that is the same every year.
pub fn level_annual_cost(
    first_cost: f64,
    market_end: f64,
    cost: f64,
    rate: f64,
    years: u32,
) -> Option<f64> {
    let pv = first_cost - market_end * factor(rate, f64::from(years));
    equivalent_annual(pv, rate, years).map(|capital| capital + cost)
}

/// market(j−1)(1+r) − market(j) + cost(j) for j = 1, 2, …; `market` starts with today's value.
pub fn marginal_cost_by_year(market: &[f64], cost: &[f64], rate: f64) -> Vec<f64> {
    market
        .windows(2)
        .zip(cost)
        .map(|(pair, cost)| pair[0] * (1.0 + rate) - pair[1] + cost)
        .collect()
}

/// The first year (from 1), after `after`, whose marginal cost exceeds `annual`.
pub fn first_year_above(marginal: &[f64], annual: f64, after: u32) -> Option<u32> {
    (1u32..)
        .zip(marginal)
        .find(|&(year, &cost)| year > after && cost > annual)
        .map(|(year, _)| year)
}

/// How many more years to keep a unit with these marginal costs against a challenger's least annual
/// cost: with n° the year of the least EAC(n) = Σ_{j≤n} mc(j)(1+r)^−j/annuity(n), the first year after
/// n° whose marginal cost exceeds the challenger, less one. `None` when no year does.
pub fn keep_more_years(marginal: &[f64], rate: f64, challenger: f64) -> Option<u32> {
    let mut pv = 0.0;
    let series: Vec<f64> = (1u32..)
        .zip(marginal)
        .map(|(n, cost)| {
            pv += cost * factor(rate, f64::from(n));
            pv / annuity(rate, n)
        })
        .collect();
    let (_, least_year) = least_with_year(&series)?;
    first_year_above(marginal, challenger, least_year).map(|year| year - 1)
}
