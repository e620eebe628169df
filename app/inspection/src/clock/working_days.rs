//! Working days: Monday to Friday, not a bank holiday.
use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate, Weekday};

use super::bank_holidays;
use crate::InspectionError;
use crate::calendar::add_days;

/// A calendar of working days in England. Years named in the published list use that list; other
/// years use the computed rules.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WorkingDays {
    published: BTreeSet<NaiveDate>,
    years: BTreeSet<i32>,
}

impl WorkingDays {
    /// England, by the computed rules alone.
    pub fn england() -> Self {
        Self::default()
    }

    /// England, with a published list of bank holidays; every year that has at least one day in
    /// the list is taken from it alone.
    pub fn england_published(days: &[NaiveDate]) -> Self {
        Self {
            published: days.iter().copied().collect(),
            years: days.iter().map(Datelike::year).collect(),
        }
    }

    /// The calendar of a country.
    ///
    /// # Errors
    /// A country without a rule set; nothing is guessed.
    pub fn of(country: &str) -> Result<Self, InspectionError> {
        if country == "england" {
            Ok(Self::england())
        } else {
            Err(InspectionError::NoRuleSet(country.to_owned()))
        }
    }

    /// The bank holidays of `year` that fall on Monday to Friday, in order.
    pub fn bank_holidays(&self, year: i32) -> Vec<NaiveDate> {
        let days = if self.years.contains(&year) {
            self.published
                .iter()
                .copied()
                .filter(|d| d.year() == year)
                .collect()
        } else {
            bank_holidays::england(year)
        };
        days.into_iter().filter(|&d| is_weekday(d)).collect()
    }

    /// Whether `day` is a working day.
    pub fn is_working(&self, day: NaiveDate) -> bool {
        is_weekday(day) && !self.bank_holidays(day.year()).contains(&day)
    }

    /// The `n`-th working day after `start`, which is day 0 whatever day it is.
    pub fn after(&self, start: NaiveDate, n: u32) -> NaiveDate {
        let mut day = start;
        let mut left = n;
        while left > 0 && day < NaiveDate::MAX {
            day = add_days(day, 1);
            if self.is_working(day) {
                left -= 1;
            }
        }
        day
    }
}

fn is_weekday(day: NaiveDate) -> bool {
    !matches!(day.weekday(), Weekday::Sat | Weekday::Sun)
}
