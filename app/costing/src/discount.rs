//! Discounting: factors, annuities, present values and dated schedules of real rates.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use terms::trade::LaterRate;

/// Below this a yearly rate is treated as nought: the difference is far under a penny over a century.
const NO_RATE: f64 = 1e-9;

/// v^t = (1 + r)^−t, the worth today of one pound in `t` years (`t` may be a half).
pub fn factor(rate: f64, t: f64) -> f64 {
    (-t * rate.ln_1p()).exp()
}

/// annuity(n) = (1 − (1+r)^−n)/r; n when r = 0. Worth today of one pound at the end of each of `n` years.
pub fn annuity(rate: f64, years: u32) -> f64 {
    let n = f64::from(years);
    if rate.abs() < NO_RATE {
        n
    } else {
        -(-n * rate.ln_1p()).exp_m1() / rate
    }
}

/// Whether the rate counts as nought.
pub fn is_nought(rate: f64) -> bool {
    rate.abs() < NO_RATE
}

/// Σ payment·(1+r)^−t over (t in whole years, payment in pounds).
pub fn present_value(rate: f64, payments: impl IntoIterator<Item = (u32, f64)>) -> f64 {
    payments
        .into_iter()
        .map(|(t, payment)| payment * factor(rate, f64::from(t)))
        .sum()
}

/// One step of a schedule: `rate` applies to the years up to and including `to_year`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RateStep {
    /// Last year of the step, counted from 1; `None` = from there on for ever.
    pub to_year: Option<u32>,
    /// Real rate a year.
    pub rate: f64,
}

/// A published schedule of real yearly rates that fall with distance; dated, so that an advice can
/// say which one it used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RateSchedule {
    /// Where the schedule is published.
    pub source: String,
    /// Day of publication.
    pub published_on: NaiveDate,
    /// Steps in the order of the years.
    pub steps: Vec<RateStep>,
}

impl RateSchedule {
    /// The rate of year `year` (counted from 1). `None` when the steps do not reach so far.
    pub fn rate_in(&self, year: u32) -> Option<f64> {
        self.steps
            .iter()
            .find(|step| step.to_year.is_none_or(|last| year <= last))
            .map(|step| step.rate)
    }

    /// Π_{j=1..year} 1/(1 + rate(j)), multiplied year by year. `None` when the steps do not reach so far.
    pub fn factor(&self, year: u32) -> Option<f64> {
        let mut product = 1.0;
        for j in 1..=year {
            product /= 1.0 + self.rate_in(j)?;
        }
        Some(product)
    }

    /// The rate of the first step and those of the later ones; `None` without steps or where they do not reach for ever.
    pub fn first_and_later(&self) -> Option<(f64, Vec<LaterRate>)> {
        let (first, rest) = self.steps.split_first()?;
        let mut after = first.to_year;
        let mut later = Vec::with_capacity(rest.len());
        for step in rest {
            later.push(LaterRate {
                after: after?,
                rate: step.rate,
            });
            after = step.to_year;
        }
        after.is_none().then_some((first.rate, later))
    }

    /// Σ_{j=1..years} factor(j): worth today of one pound at the end of each of so many years by the steps. `None` when they
    /// do not reach so far.
    pub fn annuity(&self, years: u32) -> Option<f64> {
        let (mut product, mut sum) = (1.0, 0.0);
        for j in 1..=years {
            product /= 1.0 + self.rate_in(j)?;
            sum += product;
        }
        Some(sum)
    }
}

impl Default for RateSchedule {
    /// HM Treasury's Green Book: 3.5 % for years 1–30, 3.0 % for 31–75, 2.5 % for 76–125, 2.0 % for
    /// 126–200, 1.5 % for 201–300, 1.0 % after (source: Green Book discounting, terms of reference,
    /// gov.uk, 16 December 2025).
    fn default() -> Self {
        let steps = [
            (Some(30), 0.035),
            (Some(75), 0.03),
            (Some(125), 0.025),
            (Some(200), 0.02),
            (Some(300), 0.015),
            (None, 0.01),
        ];
        Self {
            source: "HM Treasury, Green Book, discounting".to_owned(),
            published_on: NaiveDate::from_ymd_opt(2025, 12, 16).unwrap_or_default(),
            steps: steps
                .into_iter()
                .map(|(to_year, rate)| RateStep { to_year, rate })
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{RateSchedule, annuity, factor};

    #[test]
    fn annuity_is_continuous_at_rate_nought() {
        for years in [0, 1, 10, 60] {
            assert!((annuity(1e-8, years) - annuity(0.0, years)).abs() < 2e-5);
        }
        assert_eq!(factor(0.0, 12.5), 1.0);
    }

    /// Inside the first step the two agree; over 37 years the steps count 0.20 % more: 18.39205 + 0.35628 × 6.23028 = 20.6118
    /// against 20.5705 (annuities of 30 years at 3.5 % and 7 at 3 %; arithmetic).
    #[test]
    fn an_annuity_by_steps_is_the_flat_one_until_they_begin() {
        let schedule = RateSchedule::default();
        let by_steps = |years| schedule.annuity(years).unwrap_or(0.0);
        assert!((by_steps(30) - annuity(0.035, 30)).abs() < 1e-9);
        assert!((by_steps(37) - 20.6118).abs() < 1e-3, "{}", by_steps(37));
        assert!((by_steps(37) / annuity(0.035, 37) - 1.0020).abs() < 1e-4);
    }
}
