//! The inputs of one repair-or-replace question, and their check.
use serde::{Deserialize, Serialize};
use terms::Pence;
use terms::trade::LaterRate;
use thiserror::Error;

use crate::amounts::{DEAREST, Failures, FaultCost, Yearly, within};

/// No list, horizon or life reaches further (years).
const LONGEST: u32 = 100;
/// No step of a schedule of rates begins later (years).
const MOST_YEARS: f64 = 10_000.0;

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
    /// q_i: share of its failures of year 1, 2, … in parts that stay in the home whatever takes its place (the room’s
    /// controls, the pipes): a new one does not stop them. See [`crate::weigh`]. 0 = all its failures go with it.
    #[serde(default, skip_serializing_if = "Yearly::is_nought")]
    pub stays: Yearly,
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
    /// q_o: share of the old unit's failures, beyond [`OldUnit::stays`], in parts that stay beside this option but not beside
    /// every other (the network's supply beside another interface unit).
    #[serde(default)]
    pub stays: f64,
    /// The fault in hand lies in a part that stays beside this option: fitted now, the quote is paid all the same.
    #[serde(default)]
    pub leaves_fault: bool,
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
    /// σ_o: failures a year in parts that stay beside this option only.
    pub stays: f64,
}

/// A case whose numbers are finite, in range and of the right length; yearly lists spread.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckedCase {
    pub(crate) case: DecisionCase,
    pub(crate) faults: Vec<f64>,
    /// G_i: those of them in parts that go with the unit.
    pub(crate) going: Vec<f64>,
    /// S_i: those in parts that stay whatever takes its place.
    pub(crate) staying: Vec<f64>,
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

    /// The longest stretch of years in play: the horizon, or an option's life.
    pub(crate) fn longest(&self) -> u32 {
        let lives = self.case.options.iter().map(|o| o.life_max);
        lives.fold(self.case.horizon, u32::max)
    }

    /// Expected failures of the old unit in year 1, 2, … of keeping it.
    pub fn faults_old(&self) -> &[f64] {
        &self.faults
    }

    /// Expected failures of an option itself by its age in years; empty for one that is not there.
    pub fn faults_new(&self, option: usize) -> &[f64] {
        self.options.get(option).map_or(&[], |o| &o.faults)
    }

    /// Failures a year, over the horizon on average, in parts that stay beside an option: they come on top of its own.
    pub fn faults_staying(&self, option: usize) -> f64 {
        let alike = self.staying.iter().sum::<f64>() / f64::from(self.case.horizon);
        alike + self.options.get(option).map_or(0.0, |o| o.stays)
    }

    /// Failures of year `i` + 1 in parts that stay beside an option.
    pub(crate) fn staying_beside(&self, option: usize, i: usize) -> f64 {
        self.staying[i] + self.options[option].stays.min(self.going[i])
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
        let (going, staying, most) = parted(&faults, &old.stays.spread(h, "old.stays", 0.0)?)?;
        let mean = faults.iter().sum::<f64>() / f64::from(h);
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
            options.push(option.spread(&format!("options[{i}]"), 1.0 - most, mean)?);
        }
        Ok(CheckedCase {
            faults,
            going,
            staying,
            service,
            energy,
            other,
            options,
            case: self,
        })
    }
}

/// G_i and S_i of failures f_i by the shares q_i that stay, and the largest of these.
fn parted(faults: &[f64], shares: &[f64]) -> Result<(Vec<f64>, Vec<f64>, f64), CaseError> {
    for (i, share) in shares.iter().enumerate() {
        within(*share, 0.0, 1.0, || format!("old.stays, year {}", i + 1))?;
    }
    let staying: Vec<f64> = faults.iter().zip(shares).map(|(f, q)| f * q).collect();
    let going = faults.iter().zip(&staying).map(|(f, s)| f - s).collect();
    Ok((going, staying, shares.iter().copied().fold(0.0, f64::max)))
}

impl ReplacementOption {
    /// Its lists; of the old unit's `mean` failures a year at most the share `most` can stay beside it alone.
    fn spread(&self, place: &str, most: f64, mean: f64) -> Result<SpreadOption, CaseError> {
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
        // A share of shares: what rounding adds is no mistake of the asker's.
        within(self.stays, 0.0, most + 1e-9, || format!("{place}.stays"))?;
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
            stays: self.stays * mean,
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
