//! What a plan is made from: what was stated, or that with one thing otherwise.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use costing::weigh::Levers;
use planning::ProgrammeInput;
use planning::programme::{Apart, Consultation, ProgrammeLimits, ProgrammeUnit, YearMoney};
use serde::{Deserialize, Serialize};
use store::{Tie, Tx};
use terms::place::BuildingCard;
use terms::{BuildingId, ExpectedPounds, Pence, UnitId, UsedAs};

use super::money::{Limits, Stated, YEARS, first_year, kept_limits, money_of, purse};
use crate::Error;
use crate::advice::{Candidate, candidates_under};

/// What is asked otherwise than stated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "what")]
pub enum WhatIf {
    /// Nothing: the plan as stated.
    AsStated,
    /// So much more (or less) comes in every year.
    Money {
        /// Pence a year.
        pence: i64,
    },
    /// Nothing is replaced by plan, also not what ought to be.
    Nothing,
    /// Nothing is replaced before it must be.
    OnFailure,
    /// The oldest first.
    OldestFirst,
    /// Another yearly rate of discount.
    Rate {
        /// Per cent, real.
        percent: f64,
    },
    /// New units cost so much more (or less).
    Prices {
        /// Per cent of today's prices.
        percent: f64,
    },
}

impl WhatIf {
    fn levers(self, rate: f64) -> Levers {
        let usual = Levers::default();
        match self {
            Self::Rate { percent } if rate > 0.0 => Levers {
                rate: percent / 100.0 / rate,
                ..usual
            },
            Self::Prices { percent } => Levers {
                capex: 1.0 + percent / 100.0,
                ..usual
            },
            _ => usual,
        }
    }
}

/// Everything a plan was made from; kept with it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// Purse and units.
    pub input: ProgrammeInput,
    /// What binds besides.
    pub limits: ProgrammeLimits,
    /// No money was stated, so the plan minds none.
    pub unlimited: bool,
}

/// The same with what it was gathered from.
pub(super) struct Gathered {
    pub asked: Asked,
    pub units: BTreeMap<UnitId, Candidate>,
    pub money: Vec<(i32, Stated)>,
    pub stated: Limits,
    pub ties: Vec<Tie>,
    pub flats: u32,
    pub failures_a_year: f64,
}

/// Gathers what a plan of a building is made from.
pub(super) fn gather(
    tx: &mut Tx<'_>,
    building: &BuildingCard,
    what_if: WhatIf,
    today: NaiveDate,
) -> Result<Gathered, Error> {
    let rate = tx.rate()?.0;
    let units: BTreeMap<UnitId, Candidate> = candidates_under(tx, &what_if.levers(rate))?
        .into_iter()
        .filter(|c| c.building == building.id)
        .map(|c| (c.unit, c))
        .collect();
    let first_year = first_year(today);
    let money = money_of(&tx.budgets()?, building.id, first_year);
    let unlimited = money.iter().all(|(_, stated)| *stated == Stated::Nothing);
    let (failures_a_year, set_aside) = likely(tx, &units)?;
    let stated = kept_limits(tx, building.id)?;
    let ties = tx.plan_ties(building.id)?;
    let rate = match what_if {
        WhatIf::Rate { percent } => percent / 100.0,
        _ => rate,
    };
    let limits = limits(tx, building.id, &stated, &ties, (first_year, rate), today)?;
    let beside = limits.set_up.0 + limits.stair_set_up.0 * units.len() as i64;
    let enough = set_aside.0 + units.values().map(|u| u.capex.0.max(0)).sum::<i64>() + beside;
    let more = match what_if {
        WhatIf::Money { pence } => pence,
        _ => 0,
    };
    let comes_in = |stated: Stated| {
        if unlimited {
            Pence(enough)
        } else {
            Pence((stated.pence().0 + more).max(0))
        }
    };
    let years = money.iter().map(|(_, stated)| YearMoney {
        comes_in: comes_in(*stated),
        set_aside,
        cap: None,
    });
    let (opening, floor) = purse(tx, building.id)?;
    let input = ProgrammeInput {
        first_year,
        opening,
        floor,
        years: years.collect(),
        units: units.values().map(wanted).collect(),
    };
    let flats = tx.spaces(Some(building.id))?;
    let flats = flats.iter().filter(|s| s.used_as == UsedAs::Flat).count();
    Ok(Gathered {
        asked: Asked {
            input,
            limits,
            unlimited,
        },
        units,
        money,
        stated,
        ties,
        flats: flats.max(1) as u32,
        failures_a_year,
    })
}

/// Everything but the purse, as the planner takes it. Years are places from the first.
fn limits(
    tx: &mut Tx<'_>,
    building: BuildingId,
    stated: &Limits,
    ties: &[Tie],
    (first_year, rate): (i32, f64),
    today: NaiveDate,
) -> Result<ProgrammeLimits, Error> {
    let place = |year: i32| u32::try_from(year - first_year).ok();
    let inside = |year: Option<i32>| year.and_then(place).filter(|t| *t < YEARS as u32);
    let tied = |what: &str| -> Vec<(UnitId, u32)> {
        ties.iter()
            .filter(|tie| tie.what == what)
            .filter_map(|tie| Some((inside(tie.year)?, &tie.units)))
            .flat_map(|(year, units)| units.iter().map(move |unit| (*unit, year)))
            .collect()
    };
    let apart = tx.branches(building, today)?;
    let apart = apart.into_iter().filter_map(|branch| {
        let needed = u32::try_from(branch.needed?).ok()?;
        let there = branch.fed_by.len() as u32;
        // Where all are needed there is no spare: then at least never two at once.
        (there > 1).then(|| Apart {
            name: branch.name,
            units: branch.fed_by,
            at_once: there.saturating_sub(needed).max(1),
        })
    });
    Ok(ProgrammeLimits {
        set_up: stated.set_up,
        stair_set_up: stated.stair_set_up,
        rate,
        homes_a_year: stated.homes_a_year,
        consultation: stated.consult_above.map(|above| Consultation {
            above,
            costs: stated.consult_costs,
            from: stated
                .consult_from
                .map_or(0, |year| place(year).unwrap_or(0)),
        }),
        pinned: tied("pin"),
        forbidden: tied("forbid"),
        together: merged(ties.iter().filter(|tie| tie.what == "together")),
        apart: apart.collect(),
    })
}

/// Units bound together, sets that share a unit made one.
fn merged<'a>(ties: impl Iterator<Item = &'a Tie>) -> Vec<Vec<UnitId>> {
    let mut sets: Vec<Vec<UnitId>> = Vec::new();
    for tie in ties {
        let shares = |set: &Vec<UnitId>| set.iter().any(|u| tie.units.contains(u));
        let (with, without): (Vec<_>, Vec<_>) = sets.into_iter().partition(shares);
        let mut one: Vec<UnitId> = with
            .into_iter()
            .flatten()
            .chain(tie.units.clone())
            .collect();
        one.sort_unstable();
        one.dedup();
        sets = without;
        sets.push(one);
    }
    sets
}

/// Expected failures in twelve months, and what they cost at each kind's likely repair price, in whole pounds.
fn likely(tx: &mut Tx<'_>, units: &BTreeMap<UnitId, Candidate>) -> Result<(f64, Pence), Error> {
    let mut by_kind: BTreeMap<&str, f64> = BTreeMap::new();
    for unit in units.values() {
        *by_kind.entry(unit.kind.as_str()).or_default() += unit.expected_12m;
    }
    let mut pounds = 0.0;
    for (kind, failures) in &by_kind {
        let price = tx
            .prices_of(kind)?
            .into_iter()
            .filter(|p| p.item == "repair" && p.firm.is_none())
            .max_by_key(|p| p.as_at);
        pounds += failures * price.map_or(0.0, |p| p.likely.to_pounds());
    }
    let whole = ExpectedPounds(pounds.round_ties_even()).to_pence();
    Ok((by_kind.values().sum(), whole))
}

/// A candidate as the planner takes it: replaced in year 0 when that is the cheaper course, else in its best
/// year; a best year at the end of its horizon says only "not within it".
fn wanted(candidate: &Candidate) -> ProgrammeUnit {
    let now = candidate.advantage.0 > 0.0;
    let horizon = u32::try_from(candidate.keep.len().saturating_sub(1)).unwrap_or(u32::MAX);
    let best = candidate.best_keep;
    ProgrammeUnit {
        unit: candidate.unit,
        building: candidate.building,
        stair: candidate.stair.clone(),
        age: candidate.age.max(0.0) as u32,
        option: candidate.option.clone(),
        cash: candidate.capex,
        by_year: candidate
            .keep
            .iter()
            .map(|w| w.map(ExpectedPounds))
            .collect(),
        best_year: if now {
            Some(0)
        } else {
            Some(best).filter(|best| *best < horizon)
        },
        latest: None,
    }
}
