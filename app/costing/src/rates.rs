//! What a pound of a later year is worth, by one real rate or by rates that change with distance.
//!
//! r_j is the rate of year j = 1, 2, … counted from the day of the advice. D(0) = 1, D(k) = D(k−1)/(1 + r_k),
//! D(i − ½) = D(i−1) (1 + r_i)^−½, annuity(k) = Σ_(j≤k) D(j), and a pound a year for ever from the end of year k on is worth
//! e(k) = Σ_(j>k) D(j)/D(k) at that time. With one rate r these are v^k, v^(i−½), (1 − v^k)/r and 1/r: the definitions
//! without steps.
//!
//! Chains under steps: the schedule of public appraisal counts from the day of each appraisal, so every unit of a chain is
//! levelled by the rates counted from the day it is fitted, as whoever buys it will count then: A_o = PV(n)/annuity(n) is
//! the same for each. Its level cost, paid year after year, is brought to today by the rates counted from today:
//! x_o(k) = (A_o − A*) e(k) − grant + premium, and W[k] takes D and annuity for v^k and (1 − v^k)/r. Because
//! annuity(k) + D(k) e(k) = e(0), what a chain costs beyond another stays the same however its years are cut.
//! Ours: the schedule itself says nothing of chains. Were every later purchase counted from today instead, buying for ever
//! would cost 2 to 4 % less for lives of 15 to 37 years; one rate in every year makes it 5 to 7 % less than that.
use terms::trade::LaterRate;

use crate::case::CheckedCase;
use crate::discount::{annuity, factor, is_nought};

/// Worth of a pound by time, for the years in play.
pub(crate) struct Discounts {
    /// D(i − ½), index i−1.
    pub middle: Vec<f64>,
    /// D(k), index k.
    pub end: Vec<f64>,
    /// annuity(k), index k.
    pub annuity: Vec<f64>,
    for_ever: ForEver,
}

/// How e(k) is found.
enum ForEver {
    /// No end to it: the rate comes to nought.
    Boundless,
    /// The same from every year: 1/r.
    Level(f64),
    /// e(0).
    Steps(f64),
}

impl Discounts {
    /// Of a case, its rates multiplied by `times`.
    pub fn for_case(checked: &CheckedCase, times: f64) -> Self {
        let case = &checked.case;
        Self::of((case.rate, &case.later), times, checked.longest())
    }

    /// Nothing discounted.
    pub fn none(checked: &CheckedCase) -> Self {
        Self::of((0.0, &[]), 1.0, checked.longest())
    }

    fn of((rate, later): (f64, &[LaterRate]), times: f64, years: u32) -> Self {
        let rate = rate * times;
        if later.is_empty() {
            return Self::flat(rate, years);
        }
        let room = || Vec::with_capacity(years as usize + 1);
        let mut found = Self {
            middle: room(),
            end: room(),
            annuity: room(),
            for_ever: for_ever(rate, later, times),
        };
        found.end.push(1.0);
        found.annuity.push(0.0);
        let (mut worth, mut sum) = (1.0, 0.0);
        let mut coming = later.iter().peekable();
        let (mut half, mut whole) = (factor(rate, 0.5), factor(rate, 1.0));
        for year in 1..=years {
            while let Some(step) = coming.next_if(|step| step.after < year) {
                let rate = step.rate * times;
                (half, whole) = (factor(rate, 0.5), factor(rate, 1.0));
            }
            found.middle.push(worth * half);
            worth *= whole;
            sum += worth;
            found.end.push(worth);
            found.annuity.push(sum);
        }
        found
    }

    fn flat(rate: f64, years: u32) -> Self {
        Self {
            middle: (1..=years)
                .map(|i| factor(rate, f64::from(i) - 0.5))
                .collect(),
            end: (0..=years).map(|k| factor(rate, f64::from(k))).collect(),
            annuity: (0..=years).map(|k| annuity(rate, k)).collect(),
            for_ever: if is_nought(rate) {
                ForEver::Boundless
            } else {
                ForEver::Level(rate)
            },
        }
    }

    /// `pounds` a year for ever, from the end of year `k` on, as they are worth then: `pounds` × e(k). `None` where that has no
    /// bound.
    pub fn for_ever(&self, pounds: f64, k: usize) -> Option<f64> {
        match self.for_ever {
            ForEver::Boundless => None,
            ForEver::Level(rate) => Some(pounds / rate),
            ForEver::Steps(all) => Some(pounds * (all - self.annuity[k]) / self.end[k]),
        }
    }
}

/// e(0): Σ over the steps of D(start) annuity(length), the last one D(start)/r.
fn for_ever(first: f64, later: &[LaterRate], times: f64) -> ForEver {
    let (mut worth, mut sum, mut from, mut rate) = (1.0, 0.0, 0, first);
    for step in later {
        let years = step.after.saturating_sub(from);
        sum += worth * annuity(rate, years);
        worth *= factor(rate, f64::from(years));
        (from, rate) = (step.after.max(from), step.rate * times);
    }
    if is_nought(rate) {
        ForEver::Boundless
    } else {
        ForEver::Steps(sum + worth / rate)
    }
}

/// e(0) of a stated rate with its later ones: what a pound a year for ever is worth today. `None` where that has no bound.
pub fn worth_for_ever(first: f64, later: &[LaterRate]) -> Option<f64> {
    match for_ever(first, later, 1.0) {
        ForEver::Boundless => None,
        ForEver::Level(rate) => Some(1.0 / rate),
        ForEver::Steps(all) => Some(all),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::RateSchedule;

    fn green_book() -> (f64, Vec<LaterRate>) {
        RateSchedule::default()
            .first_and_later()
            .unwrap_or_default()
    }

    #[test]
    fn steps_of_one_rate_are_that_rate() {
        let alike = [10, 25].map(|after| LaterRate { after, rate: 0.04 });
        let (flat, steps) = (
            Discounts::of((0.04, &[]), 1.0, 40),
            Discounts::of((0.04, &alike), 1.0, 40),
        );
        for k in 0..=40 {
            assert!((flat.end[k] - steps.end[k]).abs() < 1e-13);
            assert!((flat.annuity[k] - steps.annuity[k]).abs() < 1e-11);
            let (a, b) = (flat.for_ever(1.0, k), steps.for_ever(1.0, k));
            assert!((a.unwrap_or(0.0) - b.unwrap_or(9.0)).abs() < 1e-9);
        }
        for i in 0..40 {
            assert!((flat.middle[i] - steps.middle[i]).abs() < 1e-13);
        }
    }

    /// The published factors of years 30, 31, 50 and 75 (Green Book, discount factors, from memory: 0.3563, 0.3459, 0.1973,
    /// 0.0942), and annuity(k) + D(k) e(k) = e(0) = 31.32 (arithmetic beside `usecases::prices`).
    #[test]
    fn the_published_factors_and_what_is_paid_for_ever() {
        let (first, later) = green_book();
        let table = Discounts::of((first, &later), 1.0, 90);
        for (year, known) in [(30, 0.3563), (31, 0.3459), (50, 0.1973), (75, 0.0942)] {
            assert!((table.end[year] - known).abs() < 6e-5, "{year}");
        }
        let all = worth_for_ever(first, &later).unwrap_or(0.0);
        assert!((all - 31.32).abs() < 5e-3, "{all}");
        for k in [0, 1, 29, 30, 31, 60, 90] {
            let rest = table.for_ever(1.0, k).unwrap_or(0.0);
            assert!((table.annuity[k] + table.end[k] * rest - all).abs() < 1e-9);
        }
        let none = Discounts::of((first, &later), 0.0, 90);
        assert_eq!(none.for_ever(1.0, 3), None, "all rates nought");
        assert!((none.annuity[90] - 90.0).abs() < 1e-12);
    }

    /// A unit of £1 bought again every n years for ever: by the level cost, by purchases each counted from today, and by one
    /// rate (arithmetic of all three beside each other).
    #[test]
    fn what_counting_each_unit_from_its_own_day_makes_of_a_chain() {
        let (first, later) = green_book();
        let table = Discounts::of((first, &later), 1.0, 4_000);
        for (life, by_level, flat) in [
            (15, 1.0218, 0.9321),
            (20, 1.0253, 0.9353),
            (37, 1.0386, 0.9494),
        ] {
            let counted: f64 = table.end.iter().step_by(life).sum();
            let level = table.for_ever(1.0 / table.annuity[life], 0).unwrap_or(0.0);
            let one = 1.0 / annuity(first, life as u32) / first;
            assert!((level / counted - by_level).abs() < 2e-4, "{life}");
            assert!((one / counted - flat).abs() < 2e-4, "{life}");
        }
    }
}
