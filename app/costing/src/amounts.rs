//! Amounts of a case: by the year, failures of a new unit, the cost of one failure; and what a number may be.
use serde::{Deserialize, Serialize};

use crate::case::CaseError;

/// No amount is larger (pounds), in either direction.
pub(crate) const DEAREST: f64 = 1e9;

/// A yearly amount: one number for every year, or one entry a year.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Yearly {
    /// The same every year.
    Same(f64),
    /// Year 1, 2, …
    Each(Vec<f64>),
}

impl Default for Yearly {
    fn default() -> Self {
        Self::Same(0.0)
    }
}

impl Yearly {
    /// Nothing in any year, said in one number.
    pub(crate) fn is_nought(&self) -> bool {
        *self == Self::Same(0.0)
    }

    /// One entry a year, checked for length and range.
    pub(crate) fn spread(
        &self,
        years: u32,
        place: &str,
        least: f64,
    ) -> Result<Vec<f64>, CaseError> {
        let wanted = years as usize;
        let list = match self {
            Self::Same(one) => vec![*one; wanted],
            Self::Each(list) => list.clone(),
        };
        if list.len() != wanted {
            let (place, got) = (place.to_owned(), list.len());
            return Err(CaseError::Length { place, got, wanted });
        }
        for (i, value) in list.iter().enumerate() {
            within(*value, least, DEAREST, || {
                format!("{place}, year {}", i + 1)
            })?;
        }
        Ok(list)
    }
}

/// Expected failures of a new unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Failures {
    /// (i/θ)^β − ((i−1)/θ)^β in year i.
    PowerLaw {
        /// θ, years by which one failure is expected.
        theta: f64,
        /// β, shape.
        beta: f64,
    },
    /// One figure a year, `life_max` of them.
    Each {
        /// Expected failures in year 1, 2, …
        faults: Vec<f64>,
    },
}

impl Failures {
    pub(crate) fn spread(&self, years: u32, place: &str) -> Result<Vec<f64>, CaseError> {
        match self {
            Self::Each { faults } => {
                Yearly::Each(faults.clone()).spread(years, &format!("{place}.faults"), 0.0)
            }
            Self::PowerLaw { theta, beta } => {
                within(*theta, f64::MIN_POSITIVE, DEAREST, || {
                    format!("{place}.theta")
                })?;
                within(*beta, f64::MIN_POSITIVE, 50.0, || format!("{place}.beta"))?;
                let to = |i: u32| (f64::from(i) / theta).powf(*beta);
                let list = (1..=years).map(|i| to(i) - to(i - 1)).collect();
                Yearly::Each(list).spread(years, &format!("{place}, failures"), 0.0)
            }
        }
    }
}

/// What one failure costs, in pounds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaultCost {
    /// Mean price of the repair.
    pub repair_mean: f64,
    /// Coefficient of variation of that price (gamma); 0 = always the same.
    #[serde(default)]
    pub repair_cv: f64,
    /// Share of failures attended out of hours, 0 to 1.
    #[serde(default)]
    pub emergency_share: f64,
    /// What attending out of hours adds.
    #[serde(default)]
    pub emergency_premium: f64,
    /// What a failure costs beside its repair: lost use, temporary heat.
    #[serde(default)]
    pub disruption: f64,
}

impl FaultCost {
    /// c = repair_mean + emergency_share × emergency_premium + disruption.
    pub fn mean(&self) -> f64 {
        self.repair_mean + self.emergency_share * self.emergency_premium + self.disruption
    }

    /// E[c²] = c² + (repair_mean × repair_cv)² + share (1 − share) premium².
    pub fn mean_square(&self) -> f64 {
        let share = self.emergency_share;
        self.mean().powi(2)
            + (self.repair_mean * self.repair_cv).powi(2)
            + share * (1.0 - share) * self.emergency_premium.powi(2)
    }

    pub(crate) fn check(&self, place: &str) -> Result<(), CaseError> {
        let fields = [
            ("repair_mean", self.repair_mean, DEAREST),
            ("repair_cv", self.repair_cv, 20.0),
            ("emergency_share", self.emergency_share, 1.0),
            ("emergency_premium", self.emergency_premium, DEAREST),
            ("disruption", self.disruption, DEAREST),
        ];
        for (name, value, most) in fields {
            within(value, 0.0, most, || format!("{place}.{name}"))?;
        }
        Ok(())
    }
}

/// Refuses a number that is not finite or lies outside its range.
pub(crate) fn within(
    value: f64,
    least: f64,
    most: f64,
    place: impl FnOnce() -> String,
) -> Result<(), CaseError> {
    if value.is_finite() && (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(CaseError::Number {
            place: place(),
            what: format!("{value} is not a number from {least} to {most}"),
        })
    }
}
