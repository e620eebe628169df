//! The trade's dated data an advice reckons with, loaded once: kinds, part shares, prices, rate, assumptions.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use store::Tx;
use terms::FirmId;
use terms::trade::{Kind, PartShare, Price};

use crate::Error;
use crate::founding::{WorkAsked, works};

/// What a figure of an advice is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Days.
    Days,
    /// Expected failures in a year.
    FailuresAYear,
    /// Pounds.
    Pounds,
    /// Pounds a year.
    PoundsAYear,
    /// A real yearly rate.
    Rate,
    /// A share from 0 to 1.
    Share,
    /// A ratio to the mean.
    Spread,
    /// A variance.
    Variance,
    /// Years.
    Years,
}

/// One figure that went into an advice, with where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InputLine {
    /// Short code: "rate", "quote", "capex", …
    pub code: String,
    /// Which option, when it speaks of one; else empty.
    pub option: String,
    /// The figure.
    pub value: f64,
    /// What it is measured in.
    pub measure: Measure,
    /// Where it comes from.
    pub source: String,
    /// How it is known.
    pub status: String,
}

/// An assumption that an estate may set for itself: key, starting figure, its measure, how it is known.
const ASSUMED: [(&str, f64, Measure, &str); 8] = [
    (
        "emergency_share",
        0.15,
        Measure::Share,
        "common practice, no source",
    ),
    (
        "emergency_premium",
        110.0,
        Measure::Pounds,
        "diagnosis out of hours less by day: common practice, no source",
    ),
    (
        "disruption_failure",
        20.0,
        Measure::Pounds,
        "our guess, no source",
    ),
    (
        "disruption_fitting",
        50.0,
        Measure::Pounds,
        "our guess, no source",
    ),
    (
        "waiting_a_day",
        5.0,
        Measure::Pounds,
        "our guess, no source",
    ),
    ("waiting_repair", 3.0, Measure::Days, "our guess, no source"),
    (
        "waiting_replace",
        8.0,
        Measure::Days,
        "our guess, no source",
    ),
    ("horizon", 10.0, Measure::Years, "stated by the program"),
];

/// Warranty years of a new unit before anybody says otherwise: gas boilers, all others.
const WARRANTY: (f64, f64) = (7.0, 2.0);

/// Everything of the trade that an advice needs.
#[derive(Debug)]
pub(crate) struct Book {
    kinds: BTreeMap<String, Kind>,
    shares: BTreeMap<String, Vec<PartShare>>,
    prices: Vec<Price>,
    /// What a reason of the feasibility table asks for.
    pub works: Vec<WorkAsked>,
    /// Rate, status, day.
    pub rate: (f64, String, NaiveDate),
    assumed: BTreeMap<String, InputLine>,
}

impl Book {
    /// Loads it; settings `advice.KEY` stand before the program's own starting figures.
    pub fn load(tx: &mut Tx<'_>) -> Result<Self, Error> {
        let list = tx.kinds()?;
        let mut shares: BTreeMap<String, Vec<PartShare>> = BTreeMap::new();
        for share in tx.part_shares()? {
            shares.entry(share.kind.clone()).or_default().push(share);
        }
        let mut prices = Vec::new();
        let mut assumed = BTreeMap::new();
        for kind in &list {
            prices.extend(tx.prices_of(&kind.code)?);
            let key = format!("warranty:{}", kind.code);
            let years = if kind.gas && kind.code != "PB" {
                WARRANTY.0
            } else {
                WARRANTY.1
            };
            let status = "our guess, no source: the offer decides";
            let line = assumption(tx, &key, years, Measure::Years, status)?;
            assumed.insert(key, line);
        }
        for (key, value, measure, status) in ASSUMED {
            let line = assumption(tx, key, value, measure, status)?;
            assumed.insert(key.to_owned(), line);
        }
        Ok(Self {
            kinds: list.into_iter().map(|k| (k.code.clone(), k)).collect(),
            shares,
            prices,
            works: works()?,
            rate: tx.rate()?,
            assumed,
        })
    }

    /// A kind.
    pub fn kind(&self, code: &str) -> Result<&Kind, Error> {
        self.kinds.get(code).ok_or(Error::NotFound("kind of unit"))
    }

    /// Its part shares, in the trade's order; empty for none.
    pub fn shares(&self, kind: &str) -> &[PartShare] {
        self.shares.get(kind).map_or(&[], Vec::as_slice)
    }

    /// The latest price of `item` for a kind: agreed with `firm` before general.
    pub fn price(&self, kind: &str, item: &str, firm: Option<FirmId>) -> Option<&Price> {
        let of = |firm: Option<FirmId>| {
            self.prices
                .iter()
                .filter(|p| p.kind == kind && p.item == item && p.firm == firm)
                .max_by_key(|p| p.as_at)
        };
        firm.and_then(|firm| of(Some(firm))).or_else(|| of(None))
    }

    /// The options that have a price for a kind, in order.
    pub fn priced_options(&self, kind: &str) -> Vec<String> {
        let mut codes: Vec<String> = self
            .prices
            .iter()
            .filter(|p| p.kind == kind)
            .filter_map(|p| p.item.strip_prefix("replace:"))
            .map(str::to_owned)
            .collect();
        codes.sort();
        codes.dedup();
        codes
    }

    /// An assumption.
    pub fn assumed(&self, key: &str) -> f64 {
        self.assumed.get(key).map_or(0.0, |line| line.value)
    }

    /// The same with its source.
    pub fn assumed_line(&self, key: &str) -> Option<InputLine> {
        self.assumed.get(key).cloned()
    }
}

fn assumption(
    tx: &mut Tx<'_>,
    key: &str,
    start: f64,
    measure: Measure,
    status: &str,
) -> Result<InputLine, Error> {
    let set = tx
        .setting(&format!("advice.{key}"))?
        .and_then(|text| text.trim().parse::<f64>().ok())
        .filter(|value| value.is_finite() && *value >= 0.0);
    let (source, status) = if set.is_some() {
        ("estate setting", "set for this estate")
    } else {
        ("starting figure", status)
    };
    Ok(InputLine {
        code: key.to_owned(),
        option: String::new(),
        value: set.unwrap_or(start),
        measure,
        source: source.to_owned(),
        status: status.to_owned(),
    })
}
