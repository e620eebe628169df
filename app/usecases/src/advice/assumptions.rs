//! Figures of an advice that no price list holds: each estate may state its own, under the setting `advice.KEY`; the
//! program's starting ones say how they are known.
use std::borrow::Cow;
use std::collections::BTreeMap;

use chrono::NaiveDate;
use store::Tx;

use super::book::{InputLine, Measure};
use crate::Error;
use crate::founding::write_offs;

/// A figure to start from.
#[derive(Clone, Debug)]
pub(crate) struct Assumed {
    /// Its key; of a kind: "warranty:CB".
    pub key: &'static str,
    /// Until somebody says otherwise.
    pub start: f64,
    /// What it is measured in.
    pub measure: Measure,
    /// How it is known.
    pub status: Cow<'static, str>,
    /// The largest that can be meant.
    pub most: f64,
}

const fn assumed(
    key: &'static str,
    start: f64,
    measure: Measure,
    status: &'static str,
    most: f64,
) -> Assumed {
    Assumed {
        key,
        start,
        measure,
        status: Cow::Borrowed(status),
        most,
    }
}

const GUESS: &str = "our guess, no source";

/// Those of the whole estate.
const ASSUMED: [Assumed; 16] = [
    assumed(
        "emergency_share",
        0.15,
        Measure::Share,
        "common practice, no source",
        1.0,
    ),
    assumed(
        "emergency_premium",
        110.0,
        Measure::Pounds,
        "diagnosis out of hours less by day: common practice, no source",
        5_000.0,
    ),
    assumed("disruption_failure", 20.0, Measure::Pounds, GUESS, 5_000.0),
    assumed("disruption_fitting", 50.0, Measure::Pounds, GUESS, 5_000.0),
    assumed("waiting_a_day", 5.0, Measure::Pounds, GUESS, 500.0),
    assumed("waiting_repair", 3.0, Measure::Days, GUESS, 90.0),
    assumed("waiting_replace", 8.0, Measure::Days, GUESS, 180.0),
    assumed(
        "horizon",
        10.0,
        Measure::Years,
        "stated by the program",
        40.0,
    ),
    assumed("write_off_premium", 350.0, Measure::Pounds, GUESS, 20_000.0),
    assumed(
        "removal",
        0.0,
        Measure::Pounds,
        "taken to stand in the price, fitted",
        20_000.0,
    ),
    assumed(
        "energy_share",
        0.0,
        Measure::Share,
        "taken as paid by the resident, so not counted",
        1.0,
    ),
    assumed("heat_kwh", 9_000.0, Measure::KwhAYear, GUESS, 1_000_000.0),
    assumed("gas_pence", 6.5, Measure::PenceAKwh, GUESS, 500.0),
    assumed("power_pence", 26.0, Measure::PenceAKwh, GUESS, 500.0),
    assumed("network_pence", 9.0, Measure::PenceAKwh, GUESS, 500.0),
    assumed("efficiency_lost", 0.005, Measure::Share, GUESS, 0.2),
];

/// Those of a kind of unit, before the kind's code: key, measure, largest.
const OF_A_KIND: [(&str, Measure, f64); 4] = [
    ("warranty", Measure::Years, 30.0),
    ("grant", Measure::Pounds, 50_000.0),
    ("grant_years", Measure::Years, 40.0),
    ("efficiency", Measure::Share, 6.0),
];

/// What a kind starts with: the figure and how it is known. Nought for an efficiency means: none is known.
fn of_kind(key: &str, kind: &terms::trade::Kind) -> (f64, &'static str) {
    match (key, kind.code.as_str()) {
        ("warranty", code) if kind.gas && code != "PB" => {
            (7.0, "our guess, no source: the offer decides")
        }
        ("warranty", _) => (2.0, "our guess, no source: the offer decides"),
        ("efficiency", "CB" | "GB" | "PB") => (0.89, "seasonal, condensing: from memory"),
        ("efficiency", "EB") => (1.0, "all of the current becomes heat"),
        ("efficiency", "HIU") => (1.0, "the meter counts the heat"),
        ("efficiency", "HP") => (2.8, "seasonal: from memory"),
        ("efficiency", _) => (0.0, "none is known"),
        _ => (0.0, "none is known of"),
    }
}

/// A figure as stated for the estate, else the one to start from.
fn line_of(set: &BTreeMap<String, String>, key: &str, from: &Assumed) -> InputLine {
    let set = set
        .get(&format!("advice.{key}"))
        .and_then(|text| text.trim().parse::<f64>().ok())
        .filter(|value| value.is_finite() && *value >= 0.0);
    let (source, status) = if set.is_some() {
        ("estate setting", "set for this estate")
    } else {
        ("starting figure", from.status.as_ref())
    };
    InputLine {
        code: key.to_owned(),
        option: String::new(),
        value: set.unwrap_or(from.start),
        measure: from.measure,
        source: source.to_owned(),
        status: status.to_owned(),
    }
}

/// Dated data of its own: what the share starts from where neither the unit's forecast nor its kind's records speak.
const WRITE_OFF_SHARE: &str = "write_off_share";

fn write_off_share(day: NaiveDate) -> Result<Assumed, Error> {
    let believed = write_offs(day)?;
    Ok(Assumed {
        key: WRITE_OFF_SHARE,
        start: believed.share,
        measure: Measure::Share,
        status: Cow::Owned(format!(
            "{}, as at {}; a kind’s own write-offs outweigh it from about {:.0} failures on record on",
            believed.status,
            believed.as_at.format("%-d %B %Y"),
            believed.counts_as
        )),
        most: 1.0,
    })
}

/// Every figure as it stands, those of the whole estate first.
pub(crate) fn assumptions_in(tx: &mut Tx<'_>) -> Result<Vec<InputLine>, Error> {
    let (kinds, set) = (tx.kinds()?, tx.settings_under("advice.")?);
    let today = tx.today();
    let mut lines = Vec::new();
    for key in keys(&kinds) {
        if let Some(from) = assumed_of(&key, &kinds, today)? {
            lines.push(line_of(&set, &key, &from));
        }
    }
    Ok(lines)
}

/// Every key: "horizon", …, then "warranty:CB", ….
fn keys(kinds: &[terms::trade::Kind]) -> Vec<String> {
    let of_kinds = kinds.iter().flat_map(|kind| {
        OF_A_KIND
            .iter()
            .map(move |(key, _, _)| format!("{key}:{}", kind.code))
    });
    let own = ASSUMED.into_iter().map(|a| a.key.to_owned());
    own.chain([WRITE_OFF_SHARE.to_owned()])
        .chain(of_kinds)
        .collect()
}

/// The figure of a key with what it starts from on a day: "horizon", "warranty:CB". `None` for a key that is none.
pub(crate) fn assumed_of(
    key: &str,
    kinds: &[terms::trade::Kind],
    day: NaiveDate,
) -> Result<Option<Assumed>, Error> {
    if key == WRITE_OFF_SHARE {
        return Ok(Some(write_off_share(day)?));
    }
    if let Some(found) = ASSUMED.iter().find(|a| a.key == key) {
        return Ok(Some(found.clone()));
    }
    Ok(assumed_of_kind(key, kinds))
}

fn assumed_of_kind(key: &str, kinds: &[terms::trade::Kind]) -> Option<Assumed> {
    let (name, code) = key.split_once(':')?;
    let kind = kinds.iter().find(|k| k.code == code)?;
    let (key, measure, most) = OF_A_KIND.into_iter().find(|(k, _, _)| *k == name)?;
    let (start, status) = of_kind(key, kind);
    Some(Assumed {
        key,
        start,
        measure,
        status: Cow::Borrowed(status),
        most,
    })
}
