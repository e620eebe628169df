//! The trade's starting data, shipped with the program: each entry carries its status and its day.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::trade::{DutyRule, Kind, LaterRate, PartShare, Price, RealRate};
use terms::{Country, Covers, Pence, UsedAs};

use super::table::{DataError, Row, rows};

const KINDS: &str = include_str!("../../data/KINDS.csv");
const PARTS: &str = include_str!("../../data/PARTS.csv");
const DUTIES: &str = include_str!("../../data/DUTIES.csv");
const PRICES: &str = include_str!("../../data/PRICES.csv");
const RATES: &str = include_str!("../../data/RATES.csv");
const WRITE_OFFS: &str = include_str!("../../data/WRITE_OFFS.csv");
const WORKS: &str = include_str!("../../data/WORKS.csv");
const FORMULAS: &str = include_str!("../../data/FORMULAS.csv");
const CONSULTATION: &str = include_str!("../../data/CONSULTATION.csv");
const BANK_HOLIDAYS: &str = include_str!("../../data/BANKHOLIDAYS.csv");

/// Among a rule's kinds: of all units it is for, one in each building bears it.
const ONCE_A_BUILDING: &str = "building";
const NO_SOURCE: &str = "common practice, no source";
const COVERS: [&str; 6] = ["electric", "gas", "gas_plant", "hiu", "unvented", "water"];
/// What a duty may rest on; never one shown for another.
pub const BASES: [&str; 6] = [
    "law",
    "code",
    "standard",
    "maker",
    "good practice",
    "contract",
];

/// Everything an estate starts with.
#[derive(Clone, Debug)]
pub struct Shipped {
    /// Kinds of unit.
    pub kinds: Vec<Kind>,
    /// Shares of their parts.
    pub parts: Vec<PartShare>,
    /// Duty rules.
    pub duties: Vec<DutyRule>,
    /// General prices.
    pub prices: Vec<Price>,
    /// Published schedules of the yearly real rate, the oldest first.
    pub rates: Vec<RealRate>,
    /// Bank holidays: country, day, name.
    pub bank_holidays: Vec<(Country, NaiveDate, String)>,
}

/// Reads the shipped files.
///
/// # Errors
/// The file, row and column that cannot be read.
pub fn shipped() -> Result<Shipped, DataError> {
    let kinds = kinds(KINDS)?;
    let as_at = kinds.iter().map(|k| k.as_at).max().unwrap_or_default();
    let codes: Vec<&str> = kinds.iter().map(|k| k.code.as_str()).collect();
    Ok(Shipped {
        parts: parts(PARTS, &codes, as_at)?,
        duties: duties(DUTIES, &codes)?,
        prices: prices(PRICES, &codes)?,
        rates: rates(RATES)?,
        bank_holidays: bank_holidays(BANK_HOLIDAYS)?,
        kinds,
    })
}

/// Kinds of unit from the text of `KINDS.csv`.
pub fn kinds(text: &str) -> Result<Vec<Kind>, DataError> {
    rows("KINDS.csv", text, |row| {
        Ok(Kind {
            code: row.word("code")?,
            name: row.word("name")?,
            plural: row.word("plural")?,
            life_median_years: row.number("life_median_years", 1.0, 60.0)?,
            life_shape: row.number("life_shape", 0.5, 10.0)?,
            rate_3y: row.number("rate_3y", 0.001, 5.0)?,
            rate_10y: row.number("rate_10y", 0.001, 5.0)?,
            rate_15y: row.number("rate_15y", 0.001, 5.0)?,
            rate_sd_log: row.number("rate_sd_log", 0.01, 3.0)?,
            gas: row.yes("gas")?,
            covers: row.codes("covers", &COVERS)?.join(" "),
            status: row.word("status")?,
            as_at: row.day("as_at")?,
        })
    })
}

/// Part shares from the text of `PARTS.csv`, for kinds among `kinds`.
pub fn parts(text: &str, kinds: &[&str], as_at: NaiveDate) -> Result<Vec<PartShare>, DataError> {
    rows("PARTS.csv", text, |row| {
        Ok(PartShare {
            kind: one_of(row, "unit_kind", kinds)?,
            code: row.word("part_code")?,
            name: row.word("part")?,
            share: row.number("share", 0.0, 1.0)?,
            shape: row.number("shape", 0.5, 10.0)?,
            clock: one_of(row, "clock", &["part", "unit", "event"])?,
            status: NO_SOURCE.to_owned(),
            as_at,
        })
    })
}

/// Duty rules from the text of `DUTIES.csv`, for kinds among `kinds`.
pub fn duties(text: &str, kinds: &[&str]) -> Result<Vec<DutyRule>, DataError> {
    let in_plant: Vec<String> = kinds.iter().map(|k| format!("{k}@plant")).collect();
    let allowed: Vec<&str> = kinds
        .iter()
        .copied()
        .chain(in_plant.iter().map(String::as_str))
        .chain([ONCE_A_BUILDING])
        .collect();
    rows("DUTIES.csv", text, |row| {
        Ok(DutyRule {
            code: row.word("code")?,
            name: row.word("name")?,
            window_rule: one_of(row, "window_rule", &["W1", "W2", "W3", "W4", "W5", "W6"])?,
            months: row.number("months", 1.0, 120.0)? as i32,
            days: match row.text("days")? {
                "" => None,
                _ => Some(row.number("days", 1.0, 3660.0)? as i32),
            },
            kinds: row.codes("kinds", &allowed)?,
            covers: row.read::<Covers>("covers")?.code().to_owned(),
            minutes: row.number("minutes", 5.0, 960.0)? as i32,
            basis: one_of(row, "basis", &BASES)?,
            status: row.word("status")?,
            evidence: row.word("evidence")?,
            country: row.read::<Country>("country")?.code().to_owned(),
            as_at: row.day("as_at")?,
        })
    })
}

/// Where the desk may open each rule no kind of unit has by itself: "home", "plant", "building", by the rule's code.
///
/// # Errors
/// The row and column that cannot be read.
pub fn holds_on() -> Result<BTreeMap<String, Vec<String>>, DataError> {
    let words = ["unit", "home", "plant", "building"];
    let found = rows("DUTIES.csv", DUTIES, |row| {
        Ok((row.word("code")?, row.codes("holds_on", &words)?))
    })?;
    Ok(found.into_iter().collect())
}

/// Whether a rule is for units of `kind` in a space used so: "TS" anywhere, "TS@plant" only in plant rooms.
pub fn applies(rule: &DutyRule, kind: &str, used_as: UsedAs) -> bool {
    rule.kinds.iter().any(|k| match k.split_once('@') {
        None => k == kind,
        Some((k, place)) => k == kind && place == used_as.code(),
    })
}

/// Whether a building has this duty once, however many units it is for: it is about the water of the whole house.
pub fn once_a_building(rule: &DutyRule) -> bool {
    rule.kinds.iter().any(|k| k == ONCE_A_BUILDING)
}

/// General prices from the text of `PRICES.csv`, for kinds among `kinds`.
pub fn prices(text: &str, kinds: &[&str]) -> Result<Vec<Price>, DataError> {
    rows("PRICES.csv", text, |row| {
        let pence = |column| row.number(column, 0.0, 1e9).map(|p| Pence(p as i64));
        let price = Price {
            firm: None,
            kind: one_of(row, "kind", kinds)?,
            item: item(row)?,
            name: row.word("name")?,
            low: pence("low_pence")?,
            likely: pence("likely_pence")?,
            high: pence("high_pence")?,
            vat_percent: row.number("vat_percent", 0.0, 100.0)?,
            status: row.word("status")?,
            as_at: row.day("as_at")?,
        };
        if price.low <= price.likely && price.likely <= price.high {
            Ok(price)
        } else {
            Err(row.wrong("likely_pence", "does not lie between low and high"))
        }
    })
}

fn item(row: &Row<'_>) -> Result<String, DataError> {
    let item = row.word("item")?;
    let known = match item.split_once(':') {
        None => matches!(item.as_str(), "service" | "check" | "repair"),
        Some((what, of)) => matches!(what, "repair" | "replace") && !of.is_empty(),
    };
    if known {
        Ok(item)
    } else {
        Err(row.wrong(
            "item",
            "is none of service, check, repair, repair:PART, replace:OPTION",
        ))
    }
}

/// Works, a survey or a reading that a reason of the feasibility table asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorkAsked {
    /// The reason's code.
    pub reason: String,
    /// Works change the site; a survey or a reading only settles what is not known.
    pub settles: bool,
    /// What must be stated of the site for it to be works at all; empty when nothing.
    pub asks: String,
    /// "the cold main in 22 mm with an isolation valve"
    pub what: String,
    /// Low, likely and high, including VAT; `None`: no price is known.
    pub price: Option<(Pence, Pence, Pence)>,
    /// How the price is known.
    pub status: String,
}

/// Works, surveys and readings with their prices, in the order of the feasibility table.
pub fn works() -> Result<Vec<WorkAsked>, DataError> {
    rows("WORKS.csv", WORKS, |row| {
        let price = if row.text("likely_pence")?.is_empty() {
            None
        } else {
            let pence = |column| row.number(column, 0.0, 1e9).map(|p| Pence(p as i64));
            let (low, likely, high) = (
                pence("low_pence")?,
                pence("likely_pence")?,
                pence("high_pence")?,
            );
            if low > likely || likely > high {
                return Err(row.wrong("likely_pence", "does not lie between low and high"));
            }
            Some((low, likely, high))
        };
        Ok(WorkAsked {
            reason: row.word("reason")?,
            settles: one_of(row, "sort", &["works", "survey", "reading"])? != "works",
            asks: row.text("asks")?.to_owned(),
            what: row.word("what")?,
            price,
            status: row.word("status")?,
        })
    })
}

/// A formula or date rule in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Formula {
    /// "F1", "W1"
    pub code: String,
    /// What it works out.
    pub name: String,
    /// In words.
    pub formula: String,
    /// How it is known.
    pub status: String,
}

/// The formulas and date rules in words, in the order of the trade's table.
pub fn formulas() -> Result<Vec<Formula>, DataError> {
    rows("FORMULAS.csv", FORMULAS, |row| {
        Ok(Formula {
            code: row.word("code")?,
            name: row.word("name")?,
            formula: row.word("formula")?,
            status: row.word("status")?,
        })
    })
}

/// From which cost of works to any one leaseholder on all are consulted, from a day on.
#[derive(Clone, Debug, PartialEq)]
pub struct ConsultAbove {
    /// Whose rule.
    pub country: Country,
    /// More than this, VAT in it.
    pub above: Pence,
    /// In force from this day.
    pub from_on: NaiveDate,
    /// "law"
    pub basis: String,
    /// How it is known.
    pub status: String,
}

/// The thresholds of consultation, the oldest first. A new one is a further row: what was judged before stays as it was.
pub fn consult_above() -> Result<Vec<ConsultAbove>, DataError> {
    rows("CONSULTATION.csv", CONSULTATION, |row| {
        Ok(ConsultAbove {
            country: row.read("country")?,
            above: row
                .number("above_pence", 0.0, 1e9)
                .map(|p| Pence(p as i64))?,
            from_on: row.day("from_on")?,
            basis: row.word("basis")?,
            status: row.word("status")?,
        })
    })
}

/// What is believed of the share of failures that are beyond repair, before any record of a kind speaks.
#[derive(Clone, Debug, PartialEq)]
pub struct WriteOffs {
    /// From this day on.
    pub as_at: NaiveDate,
    /// Share of failures.
    pub share: f64,
    /// As firmly as so many failures would tell.
    pub counts_as: f64,
    /// How it is known.
    pub status: String,
}

/// What is believed of write-offs on a day: the latest row that holds from it or from a day before, else the first.
pub fn write_offs(day: NaiveDate) -> Result<WriteOffs, DataError> {
    let mut found = rows("WRITE_OFFS.csv", WRITE_OFFS, |row| {
        Ok(WriteOffs {
            as_at: row.day("as_at")?,
            share: row.number("share", 0.0, 1.0)?,
            counts_as: row.number("counts_as", 1.0, 1e4)?,
            status: row.word("status")?,
        })
    })?;
    found.sort_by_key(|row| row.as_at);
    let standing = found.iter().rposition(|row| row.as_at <= day).unwrap_or(0);
    if found.is_empty() {
        return Err(DataError {
            file: "WRITE_OFFS.csv",
            row: 2,
            column: "share".to_owned(),
            what: "there is no row".to_owned(),
        });
    }
    Ok(found.swap_remove(standing))
}

/// Schedules of the yearly real rate from the text of `RATES.csv`: the rows of one day are one schedule, its first row the
/// rate of the first years. A schedule published later is further rows, so that what was advised before goes by its own.
pub fn rates(text: &str) -> Result<Vec<RealRate>, DataError> {
    let mut found: Vec<RealRate> = Vec::new();
    rows("RATES.csv", text, |row| {
        let (as_at, rate) = (row.day("as_at")?, row.number("rate", 0.0, 0.2)?);
        let after = row.number("after_year", 0.0, 1_000.0)? as u32;
        let status = row.word("status")?;
        match found.last_mut().filter(|before| before.as_at == as_at) {
            None if after == 0 => found.push(RealRate {
                rate,
                later: Vec::new(),
                status,
                as_at,
            }),
            Some(before) if after > before.later.last().map_or(0, |step| step.after) => {
                before.later.push(LaterRate { after, rate });
            }
            _ => return Err(row.wrong("after_year", "a schedule counts up from 0")),
        }
        Ok(())
    })?;
    found.sort_by_key(|rate| rate.as_at);
    Ok(found)
}

/// Bank holidays from the text of `BANKHOLIDAYS.csv`.
pub fn bank_holidays(text: &str) -> Result<Vec<(Country, NaiveDate, String)>, DataError> {
    rows("BANKHOLIDAYS.csv", text, |row| {
        Ok((row.read("country")?, row.day("day")?, row.word("name")?))
    })
}

fn one_of(row: &Row<'_>, column: &str, list: &[&str]) -> Result<String, DataError> {
    let word = row.word(column)?;
    if list.contains(&word.as_str()) {
        Ok(word)
    } else {
        Err(row.wrong(column, &format!("“{word}” is not one of {list:?}")))
    }
}
