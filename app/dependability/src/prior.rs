//! What is believed of a kind before its own records speak: one level, shared out over its parts (DESIGN §6).
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::verdict::Normal;

/// Age in years at which a kind's rate is stated.
pub const T0: f64 = 10.0;
/// Share of the rate that belongs to the parts; the last tenth stays with the never-renewed remainder.
pub const PARTS_SHARE: f64 = 0.9;
/// Shape of the remainder: the centre of FORECAST §3's prior on ageing (ln 1.4, judgement).
pub const REMAINDER_SHAPE: f64 = 1.4;
/// Weight of the Dirichlet prior on the parts' shares, in failures (DESIGN §6).
pub const SHARES_WEIGHT: f64 = 20.0;

/// Input the room refuses, in words a person can act on.
#[derive(Clone, Debug, Error, PartialEq, Serialize, Deserialize)]
pub enum InputError {
    /// A number that is not finite or outside what can be meant.
    #[error("{what} is {value}, which is outside what can be meant")]
    OutOfRange {
        /// What it is.
        what: String,
        /// Its value as text, since not-a-number has no JSON form.
        value: String,
    },
    /// A window that ends before it begins, or overlaps another.
    #[error("window {0} ends before it begins or overlaps another")]
    Window(usize),
    /// A unit that failed, had a part renewed or was watched to the end before it can have been installed.
    #[error("the installation is dated after {0}")]
    InstalledAfter(String),
    /// Covariates that do not match the kind's.
    #[error("{got} covariates where the kind has {wanted}")]
    Covariates {
        /// Given.
        got: usize,
        /// Wanted.
        wanted: usize,
    },
    /// A fit made for another set of parts or covariates than the prior given beside it.
    #[error("the stored fit belongs to another version of this kind's parts; refit it first")]
    OtherKind,
}

/// How a part's clock runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartClock {
    /// Restarts when the part is replaced.
    Part,
    /// Runs with the unit.
    Unit,
    /// Does not age (shape 1).
    Event,
}

/// One part of a kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartPrior {
    /// Code of the part in the kind's parts table.
    pub code: String,
    /// Share of the kind's part failures; shares are normalised to sum to 1.
    pub share: f64,
    /// Shape of its power law.
    pub shape: f64,
    /// Clock.
    pub clock: PartClock,
}

/// A covariate and the prior of its effect on the log rate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CovariatePrior {
    /// Code, such as `hard_water`.
    pub code: String,
    /// Prior of γ.
    pub effect: Normal,
}

/// The prior of one kind of unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KindPrior {
    /// Failures per unit-year at 10 years (published or trade figure).
    pub rate_10y: f64,
    /// Standard deviation of its logarithm: 0.7 for combi boilers, 1.0 otherwise (FORECAST §3).
    pub rate_sd_log: f64,
    /// Prior of ln θ: N(ln 0.5, 0.8) (FORECAST §3).
    pub ln_theta: Normal,
    /// Parts. Empty: the unit has one clock of its own (model M1) whose ageing is fitted.
    pub parts: Vec<PartPrior>,
    /// Shape of the never-renewed remainder ([`REMAINDER_SHAPE`]).
    pub remainder_shape: f64,
    /// Prior of ln β of the one clock, N(ln 1.4, 0.3); used only without parts.
    pub ln_beta: Normal,
    /// Covariates in the order in which windows state them.
    pub covariates: Vec<CovariatePrior>,
    /// Where the record has it that units which fail more are written off sooner: the law of that, taken as known while
    /// failures are fitted and forecast.
    #[serde(default)]
    pub sooner: Option<SoonerLaw>,
}

/// The law by which units that fail more are written off sooner: hazard z h_T(age) with H_T(t) = (t/η_T)^β_T, so that what
/// became of a unit bears on its z as its failures do (FORECAST §5, α_T = 1). Its own doubt is not carried into the
/// forecasts of failures.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SoonerLaw {
    /// η_T, years: the age at which H_T is 1.
    pub eta: f64,
    /// β_T.
    pub beta: f64,
}

/// H_T is held below this: no unit outlives so much, but an installation may be misstated.
const MOST_SPENT: f64 = 1e6;

impl SoonerLaw {
    /// H_T at an age in years; 0 before the installation.
    pub(crate) fn cumulative(&self, age: f64) -> f64 {
        (age.max(0.0) / self.eta).powf(self.beta).min(MOST_SPENT)
    }

    /// ln h_T at an age above 0.
    pub(crate) fn ln_hazard(&self, age: f64) -> f64 {
        (self.beta / self.eta).ln() + (self.beta - 1.0) * (age / self.eta).ln()
    }
}

impl KindPrior {
    /// A prior with the constants of FORECAST §3 around a stated rate.
    pub fn around(rate_10y: f64, rate_sd_log: f64, parts: Vec<PartPrior>) -> Self {
        Self {
            rate_10y,
            rate_sd_log,
            ln_theta: Normal {
                mean: 0.5_f64.ln(),
                sd: 0.8,
            },
            parts,
            remainder_shape: REMAINDER_SHAPE,
            ln_beta: Normal {
                mean: 1.4_f64.ln(),
                sd: 0.3,
            },
            covariates: Vec::new(),
            sooner: None,
        }
    }

    /// Failures per unit-year of a unit of this age that kept all its first parts, at the prior's centre.
    pub fn rate_at(&self, age: f64) -> f64 {
        self.rate_10y
            * self
                .clocks(None)
                .iter()
                .map(|c| c.weight * (age / T0).powf(c.shape - 1.0))
                .sum::<f64>()
    }

    /// Refuses numbers that cannot be meant.
    ///
    /// # Errors
    /// [`InputError::OutOfRange`] naming the number.
    pub fn check(&self) -> Result<(), InputError> {
        within("rate at 10 years", self.rate_10y, 1e-6, 1e3)?;
        within("sd of the rate's logarithm", self.rate_sd_log, 1e-3, 5.0)?;
        within("mean of ln theta", self.ln_theta.mean, -9.0, 4.0)?;
        within("sd of ln theta", self.ln_theta.sd, 1e-3, 5.0)?;
        within("mean of ln beta", self.ln_beta.mean, -2.5, 2.5)?;
        within("sd of ln beta", self.ln_beta.sd, 1e-3, 5.0)?;
        within("shape of the remainder", self.remainder_shape, 0.05, 10.0)?;
        for part in &self.parts {
            within(&format!("share of {}", part.code), part.share, 0.0, 1.0)?;
            within(&format!("shape of {}", part.code), part.shape, 0.05, 10.0)?;
        }
        if !self.parts.is_empty() {
            let sum = self.parts.iter().map(|p| p.share).sum();
            within("sum of the parts' shares", sum, 1e-6, 1e3)?;
        }
        for covariate in &self.covariates {
            within(
                &format!("effect of {}", covariate.code),
                covariate.effect.mean,
                -5.0,
                5.0,
            )?;
            within(
                &format!("sd of {}", covariate.code),
                covariate.effect.sd,
                1e-3,
                5.0,
            )?;
        }
        if let Some(law) = self.sooner {
            within("scale of the life of units that fail", law.eta, 1e-2, 1e6)?;
            within("shape of the life of units that fail", law.beta, 0.01, 60.0)?;
        }
        Ok(())
    }

    /// The parts' shares, summing to 1.
    pub fn shares(&self) -> Vec<f64> {
        let sum: f64 = self.parts.iter().map(|p| p.share).sum();
        self.parts.iter().map(|p| p.share / sum).collect()
    }

    /// Clocks in the order of the parts, the remainder last; `shares` replaces the prior ones.
    pub(crate) fn clocks(&self, shares: Option<&[f64]>) -> Vec<Clock> {
        let own = self.shares();
        let shares = shares.unwrap_or(&own);
        let mut clocks: Vec<Clock> = self
            .parts
            .iter()
            .zip(shares)
            .map(|(part, share)| Clock {
                weight: PARTS_SHARE * share,
                shape: if part.clock == PartClock::Event {
                    1.0
                } else {
                    part.shape
                },
            })
            .collect();
        let (weight, shape) = if self.parts.is_empty() {
            (1.0, self.ln_beta.mean.exp())
        } else {
            (1.0 - PARTS_SHARE, self.remainder_shape)
        };
        clocks.push(Clock { weight, shape });
        clocks
    }

    /// Code of the part whose renewals restart the clock at a place; `None` for a clock that never restarts.
    pub(crate) fn restarting(&self, place: usize) -> Option<&str> {
        let part = self.parts.get(place).filter(|p| p.clock == PartClock::Part);
        part.map(|p| p.code.as_str())
    }

    /// Place of a part's clock; a failure of no known part belongs to the remainder.
    pub(crate) fn clock_of(&self, part: Option<&str>) -> usize {
        part.and_then(|code| self.parts.iter().position(|p| p.code == code))
            .unwrap_or(self.parts.len())
    }
}

/// One clock: hazard exp(alpha) · weight · (age/10)^(shape − 1).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Clock {
    pub weight: f64,
    pub shape: f64,
}

pub(crate) fn within(what: &str, value: f64, low: f64, high: f64) -> Result<(), InputError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(InputError::OutOfRange {
            what: what.to_owned(),
            value: value.to_string(),
        })
    }
}
