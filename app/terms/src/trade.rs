//! The trade's dated data: kinds of unit, their parts, duties, prices. Each entry keeps the status of
//! the fact ("common practice, no source", "law text", …) and the day it was true.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::{AccountId, FirmId, Pence, Role};

/// A kind of unit with what is known of its life and faults.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kind {
    /// "CB", "HIU", …
    pub code: String,
    /// "combi gas boiler"
    pub name: String,
    /// "combi gas boilers"
    pub plural: String,
    /// Age in years at which half have been replaced; for planned replacement only.
    pub life_median_years: f64,
    /// Weibull shape of that life.
    pub life_shape: f64,
    /// Faults a unit-year at 3 years of age.
    pub rate_3y: f64,
    /// Faults a unit-year at 10 years of age.
    pub rate_10y: f64,
    /// Faults a unit-year at 15 years of age.
    pub rate_15y: f64,
    /// Doubt of the rate: standard deviation of its logarithm.
    pub rate_sd_log: f64,
    /// Burns gas.
    pub gas: bool,
    /// Qualification codes its work asks for, parted by spaces.
    pub covers: String,
    /// How the figures are known.
    pub status: String,
    /// True on this day.
    pub as_at: NaiveDate,
}

/// A part's share of its kind's faults.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartShare {
    /// The kind.
    pub kind: String,
    /// "diverter_valve"
    pub code: String,
    /// "Diverter valve or its motor"
    pub name: String,
    /// Share of the kind's faults; the shares of a kind add up to 1.
    pub share: f64,
    /// Ageing: hazard goes with (age/10)^(shape − 1).
    pub shape: f64,
    /// Which clock it runs on: "part", "unit" or "event".
    pub clock: String,
    /// How the figures are known.
    pub status: String,
    /// True on this day.
    pub as_at: NaiveDate,
}

/// A recurring obligation as a rule.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DutyRule {
    /// "G1"
    pub code: String,
    /// "Gas safety check"
    pub name: String,
    /// "W1" … "W6"
    pub window_rule: String,
    /// Months between.
    pub months: i32,
    /// Days between, in place of the months: for what comes every week.
    #[serde(default)]
    pub days: Option<i32>,
    /// Kind codes it applies to.
    pub kinds: Vec<String>,
    /// Qualification code.
    pub covers: String,
    /// Minutes it takes.
    pub minutes: i32,
    /// "law", "code", "standard", "maker", "good practice", "contract"
    pub basis: String,
    /// How the rule is known.
    pub status: String,
    /// What proves it.
    pub evidence: String,
    /// The rule set's country.
    pub country: String,
    /// True on this day.
    pub as_at: NaiveDate,
}

/// A dated price, including VAT, fitted, day rate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Price {
    /// `None`: a general figure; else agreed with this firm.
    pub firm: Option<FirmId>,
    /// The kind.
    pub kind: String,
    /// "service", "check", "repair", "repair:PART" or "replace:OPTION".
    pub item: String,
    /// In words.
    pub name: String,
    /// Low end.
    pub low: Pence,
    /// What is reckoned with.
    pub likely: Pence,
    /// High end.
    pub high: Pence,
    /// VAT inside the figure, per cent.
    pub vat_percent: f64,
    /// How the figure is known.
    pub status: String,
    /// True on this day.
    pub as_at: NaiveDate,
}

/// A real yearly rate that holds from some year on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaterRate {
    /// The last year, counted from 1, of the rate before.
    pub after: u32,
    /// Real rate a year from there on.
    pub rate: f64,
}

/// The real yearly rate by which money of later years is brought to today's, as it holds from a day on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RealRate {
    /// In the first years.
    pub rate: f64,
    /// In later years, in order; empty: the same in every year.
    pub later: Vec<LaterRate>,
    /// How it is known.
    pub status: String,
    /// The day from which it holds.
    pub as_at: NaiveDate,
}

/// What a person may agree without asking: dated, in pence, apart for emergencies.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Authority {
    /// As what: contractor (the engineer on site), agent or landlord.
    pub role: Role,
    /// `None`: everybody in the role.
    pub account: Option<AccountId>,
    /// A quote up to this, including VAT, may be agreed.
    pub limit: Pence,
    /// The same out of hours or to make safe.
    pub emergency: Pence,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day; `None`: until changed.
    pub until_on: Option<NaiveDate>,
}
