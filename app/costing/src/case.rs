//! The inputs of one repair-or-replace question, and their check.
use serde::{Deserialize, Serialize};
use terms::Pence;
use terms::trade::LaterRate;
use thiserror::Error;

/// No list, horizon or life reaches further (years).
const LONGEST: u32 = 100;
/// No step of a schedule of rates begins later (years).
const MOST_YEARS: f64 = 10_000.0;
/// No amount is larger (pounds), in either direction.
const DEAREST: f64 = 1e9;

/// What is wrong with a case, by the place where it stands.
#[derive(Clone, Debug, PartialEq, Eq, Error, Serialize, Deserialize)]
pub enum CaseError {
    /// A number is missing, not finite, or outside its range.
    #[error("{place}: {what}")]
    Number {
        /// Where, in the words of the fields: "options[1].capex".
        place: String,
        /// What was expected.
        what: String,
    },
    /// A yearly list has the wrong number of entries.
    #[error("{place}: {got} entries, {wanted} years")]
    Length {
        /// Where.
        place: String,
        /// Entries given.
        got: usize,
        /// Years needed.
        wanted: usize,
    },
    /// Two options carry the same code.
    #[error("option {0:?} is listed twice")]
    Twice(String),
}

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
    /// One entry a year, checked for length and range.
    fn spread(&self, years: u32, place: &str, least: f64) -> Result<Vec<f64>, CaseError> {
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
    fn spread(&self, years: u32, place: &str) -> Result<Vec<f64>, CaseError> {
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

    fn check(&self, place: &str) -> Result<(), CaseError> {
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

/// The unit that stands there now; every yearly list has `horizon` entries.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OldUnit {
    /// Expected failures in the next year, the one after, …
    pub faults: Yearly,
    /// Pounds a year for its service.
    #[serde(default)]
    pub service: Yearly,
    /// Pounds a year for its energy, where the payer of the advice pays it.
    #[serde(default)]
    pub energy: Yearly,
    /// Other pounds a year.
    #[serde(default)]
    pub other: Yearly,
    /// Variance of the gamma multiplier (mean 1) common to all its years; 0 = rate known.
    #[serde(default)]
    pub frailty_var: f64,
    /// What one of its failures costs.
    pub fault_cost: FaultCost,
    /// φ: share of its failures that are beyond repair, 0 to 1; it is then replaced at once, out of plan.
    #[serde(default)]
    pub write_off_share: f64,
    /// The ends of φ's 80 % range, where it is in doubt: [`crate::tornado`] varies it between them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub write_off_range: Option<(f64, f64)>,
    /// Pounds that replacing it at once, out of plan, costs beyond replacing it in its own time: heat lent,
    /// hours out of hours, no second offer.
    #[serde(default)]
    pub write_off_premium: f64,
    /// w: years its own warranty still runs, in which a failure costs `warranty_excess` + disruption only; a year it ends in
    /// counts by the share inside. 0 = out of warranty.
    #[serde(default)]
    pub warranty_years: f64,
    /// Pounds a failure in that warranty; nobody claims where it is more than the repair.
    #[serde(default)]
    pub warranty_excess: f64,
}

impl OldUnit {
    /// f_i = min(1, max(0, w − (i − 1))): the share of year i = 1, 2, … inside its warranty; `year` is i − 1.
    pub fn covered(&self, year: usize) -> f64 {
        (self.warranty_years - year as f64).clamp(0.0, 1.0)
    }
}

/// A unit that could replace it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReplacementOption {
    /// Short code, unique in the case.
    #[serde(alias = "id")]
    pub code: String,
    /// Pounds, fitted.
    pub capex: f64,
    /// Pounds of disruption while it is fitted.
    #[serde(default)]
    pub install_disruption: f64,
    /// Longest life, years.
    pub life_max: u32,
    /// Expected failures by its age.
    #[serde(flatten)]
    pub failures: Failures,
    /// Years in which a failure costs `warranty_excess` + disruption only.
    #[serde(default)]
    pub warranty_years: u32,
    /// Pounds a failure in warranty.
    #[serde(default)]
    pub warranty_excess: f64,
    /// Pounds a year.
    #[serde(default)]
    pub service: Yearly,
    /// Pounds a year.
    #[serde(default)]
    pub energy: Yearly,
    /// Pounds added to the cost at the end of its life: PV(n) = … + v^n disposal, so a negative
    /// figure is money received.
    #[serde(default)]
    pub disposal: f64,
    /// What one of its failures costs out of warranty.
    pub fault_cost: FaultCost,
    /// Pounds granted towards the first purchase only.
    #[serde(default)]
    pub grant: f64,
    /// Last year k (inclusive) in which the grant can be had; `None` = always.
    #[serde(default)]
    pub grant_to: Option<u32>,
    /// Pounds more when it must be fitted at once, unplanned (k = 0).
    #[serde(default)]
    pub unplanned_premium: f64,
    /// First year k (inclusive) in which it can be had.
    #[serde(default)]
    pub from: u32,
    /// Last year k (inclusive); `None` = always.
    #[serde(default)]
    pub to: Option<u32>,
}

/// The quote that asks the question.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaultInHand {
    /// Pounds asked for the repair, VAT as everywhere in the case.
    pub quote: f64,
    /// Pounds of doing without until the repair.
    #[serde(default)]
    pub wait_cost_repair: f64,
    /// Pounds of doing without until the replacement.
    #[serde(default)]
    pub wait_cost_replace: f64,
}

impl FaultInHand {
    /// From a quote in pence and the two costs of waiting in pounds.
    pub fn new(quote: Pence, wait_cost_repair: f64, wait_cost_replace: f64) -> Self {
        let quote = quote.to_pounds();
        Self {
            quote,
            wait_cost_repair,
            wait_cost_replace,
        }
    }
}

/// One repair-or-replace question. Money in real pounds; which VAT is in it is the asker's choice,
/// the same for every amount.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DecisionCase {
    /// Real yearly rate, 0 to 1, of the first years.
    pub rate: f64,
    /// Rates of later years, in order; empty = `rate` in every year. See [`crate::rates`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub later: Vec<LaterRate>,
    /// H: years the old unit may be kept.
    pub horizon: u32,
    /// The unit that stands there.
    pub old: OldUnit,
    /// What could replace it; may be empty (then nothing is compared).
    pub options: Vec<ReplacementOption>,
    /// The quote, when there is a fault in hand.
    #[serde(default)]
    pub fault_in_hand: Option<FaultInHand>,
}

/// An option with its yearly lists spread.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SpreadOption {
    pub faults: Vec<f64>,
    pub service: Vec<f64>,
    pub energy: Vec<f64>,
}

/// A case whose numbers are finite, in range and of the right length; yearly lists spread.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckedCase {
    pub(crate) case: DecisionCase,
    pub(crate) faults: Vec<f64>,
    pub(crate) service: Vec<f64>,
    pub(crate) energy: Vec<f64>,
    pub(crate) other: Vec<f64>,
    pub(crate) options: Vec<SpreadOption>,
}

impl CheckedCase {
    /// The case as it was given.
    pub fn case(&self) -> &DecisionCase {
        &self.case
    }

    /// The same case with no failure beyond repair.
    pub(crate) fn with_every_failure_repaired(&self) -> Self {
        let mut mended = self.clone();
        mended.case.old.write_off_share = 0.0;
        mended
    }

    /// The longest stretch of years in play: the horizon, or an option's life.
    pub(crate) fn longest(&self) -> u32 {
        let lives = self.case.options.iter().map(|o| o.life_max);
        lives.fold(self.case.horizon, u32::max)
    }

    /// Expected failures of the old unit in year 1, 2, … of keeping it.
    pub fn faults_old(&self) -> &[f64] {
        &self.faults
    }

    /// Expected failures of an option by its age in years; empty for one that is not there.
    pub fn faults_new(&self, option: usize) -> &[f64] {
        self.options.get(option).map_or(&[], |o| &o.faults)
    }
}

impl DecisionCase {
    /// Checks every number and spreads the yearly lists.
    ///
    /// # Errors
    /// The first thing wrong, with its place.
    pub fn checked(self) -> Result<CheckedCase, CaseError> {
        within(self.rate, 0.0, 1.0, || "rate".to_owned())?;
        rates_in_order(&self.later)?;
        years(self.horizon, "horizon")?;
        let (h, old) = (self.horizon, &self.old);
        within(old.frailty_var, 0.0, 100.0, || "old.frailty_var".to_owned())?;
        old.fault_cost.check("old.fault_cost")?;
        within(old.write_off_share, 0.0, 1.0, || {
            "old.write_off_share".to_owned()
        })?;
        if let Some((low, high)) = old.write_off_range {
            let place = || "old.write_off_range".to_owned();
            within(low, 0.0, old.write_off_share, place)?;
            within(high, old.write_off_share, 1.0, place)?;
        }
        within(old.write_off_premium, 0.0, DEAREST, || {
            "old.write_off_premium".to_owned()
        })?;
        let longest = f64::from(LONGEST);
        within(old.warranty_years, 0.0, longest, || {
            "old.warranty_years".to_owned()
        })?;
        within(old.warranty_excess, 0.0, DEAREST, || {
            "old.warranty_excess".to_owned()
        })?;
        let faults = old.faults.spread(h, "old.faults", 0.0)?;
        let service = old.service.spread(h, "old.service", 0.0)?;
        let energy = old.energy.spread(h, "old.energy", -DEAREST)?;
        let other = old.other.spread(h, "old.other", -DEAREST)?;
        if let Some(hand) = &self.fault_in_hand {
            let amounts = [hand.quote, hand.wait_cost_repair, hand.wait_cost_replace];
            for (name, value) in ["quote", "wait_cost_repair", "wait_cost_replace"]
                .iter()
                .zip(amounts)
            {
                within(value, 0.0, DEAREST, || format!("fault_in_hand.{name}"))?;
            }
        }
        let mut options = Vec::with_capacity(self.options.len());
        for (i, option) in self.options.iter().enumerate() {
            if self.options[..i].iter().any(|o| o.code == option.code) {
                return Err(CaseError::Twice(option.code.clone()));
            }
            options.push(option.spread(&format!("options[{i}]"))?);
        }
        Ok(CheckedCase {
            faults,
            service,
            energy,
            other,
            options,
            case: self,
        })
    }
}

impl ReplacementOption {
    fn spread(&self, place: &str) -> Result<SpreadOption, CaseError> {
        years(self.life_max, &format!("{place}.life_max"))?;
        let amounts = [
            ("capex", self.capex, 0.0),
            ("install_disruption", self.install_disruption, 0.0),
            ("warranty_excess", self.warranty_excess, 0.0),
            ("disposal", self.disposal, -DEAREST),
            ("grant", self.grant, 0.0),
            ("unplanned_premium", self.unplanned_premium, 0.0),
        ];
        for (name, value, least) in amounts {
            within(value, least, DEAREST, || format!("{place}.{name}"))?;
        }
        self.fault_cost.check(&format!("{place}.fault_cost"))?;
        let life = self.life_max;
        Ok(SpreadOption {
            faults: self.failures.spread(life, place)?,
            service: self
                .service
                .spread(life, &format!("{place}.service"), 0.0)?,
            energy: self
                .energy
                .spread(life, &format!("{place}.energy"), -DEAREST)?,
        })
    }
}

/// The later rates are rates, each beginning after the one before.
fn rates_in_order(later: &[LaterRate]) -> Result<(), CaseError> {
    let mut before = 0;
    for (i, step) in later.iter().enumerate() {
        let place = || format!("later[{i}]");
        within(step.rate, 0.0, 1.0, place)?;
        within(
            f64::from(step.after),
            f64::from(before) + 1.0,
            MOST_YEARS,
            place,
        )?;
        before = step.after;
    }
    Ok(())
}

fn years(value: u32, place: &str) -> Result<(), CaseError> {
    within(f64::from(value), 1.0, f64::from(LONGEST), || {
        place.to_owned()
    })
}

fn within(
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
