//! The programme of a building: which units to replace in which year, inside the money stated for it.
//!
//! Every building has a purse of its own: what one block's leaseholders pay is not spent on another.
use std::collections::BTreeMap;

use chrono::Datelike;
use planning::programme::{ProgrammeUnit, YearMoney};
use planning::{PlainProgramme, Programme, ProgrammeInput, ProgrammePlanner};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::budgets::Budget;
use terms::place::BuildingCard;
use terms::{BuildingId, ExpectedPounds, Pence, Role, UnitId};

use crate::advice::{Candidate, programme_candidates};
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// Years a programme looks ahead.
pub const YEARS: i32 = 10;
/// From this month on the programme begins with the next calendar year. Our choice.
const LATE_IN_THE_YEAR: u32 = 10;
/// More than any building's purse: what is typed beyond is taken for a slip.
const MOST: Pence = Pence(100_000_000 * 100);

/// Where a year's money comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stated {
    /// A figure was stated for the year.
    Here(Pence),
    /// The last stated year's figure is carried on.
    Carried {
        /// The figure.
        pence: Pence,
        /// Of which year.
        from: i32,
    },
    /// Nothing was stated for this year or one before.
    Nothing,
}

impl Stated {
    /// The figure reckoned with.
    pub fn pence(self) -> Pence {
        match self {
            Self::Here(pence) | Self::Carried { pence, .. } => pence,
            Self::Nothing => Pence(0),
        }
    }
}

/// A building's programme and what it was made from.
#[derive(Clone, Debug)]
pub struct BuildingProgramme {
    /// The building.
    pub building: BuildingCard,
    /// The buildings in reach.
    pub buildings: Vec<(BuildingId, String)>,
    /// The plan and its report.
    pub programme: Programme,
    /// What it was planned from.
    pub input: ProgrammeInput,
    /// No money was stated, so the plan minds none: every unit stands in the year its advice names.
    pub unlimited: bool,
    /// The year's money, year by year.
    pub money: Vec<(i32, Stated)>,
    /// The units it is about.
    pub units: BTreeMap<UnitId, Candidate>,
    /// What an option is called.
    pub option_names: BTreeMap<String, String>,
    /// Expected failures in twelve months, all units together.
    pub failures_a_year: f64,
    /// Whether this seat may state budgets.
    pub may_state: bool,
}

/// Money stated for a building.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct BudgetForm {
    /// The building.
    pub building: BuildingId,
    /// The calendar year.
    pub year: i32,
    /// What comes in for replacements and repairs in it, including VAT.
    pub pence: Pence,
    /// What the purse holds before the first year; `None`: as it was.
    pub opening: Option<Pence>,
    /// What it may not fall under; `None`: as it was.
    pub floor: Option<Pence>,
}

fn first_year(today: chrono::NaiveDate) -> i32 {
    today.year() + i32::from(today.month() >= LATE_IN_THE_YEAR)
}

fn key(what: &str, building: BuildingId) -> String {
    format!("purse_{what}_{building}")
}

fn kept(tx: &mut Tx<'_>, what: &str, building: BuildingId) -> Result<Pence, Error> {
    let text = tx.setting(&key(what, building))?;
    Ok(Pence(text.and_then(|t| t.parse().ok()).unwrap_or(0)))
}

/// The programme of `building`; of the first in reach when none is named.
///
/// # Errors
/// [`Error::NotFound`] for a building outside the seat's reach, or an estate without any.
pub fn programme(
    world: &World,
    seat: &Seat,
    building: Option<BuildingId>,
) -> Result<BuildingProgramme, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        let cards: Vec<BuildingCard> = tx
            .buildings()?
            .into_iter()
            .filter(|b| seat.grant().reaches(b.id))
            .collect();
        let card = match building {
            Some(id) => cards.iter().find(|b| b.id == id),
            None => cards.first(),
        }
        .ok_or(Error::NotFound("building"))?
        .clone();
        let units: BTreeMap<UnitId, Candidate> = programme_candidates(tx)?
            .into_iter()
            .filter(|c| c.building == card.id)
            .map(|c| (c.unit, c))
            .collect();
        let first_year = first_year(today);
        let money = money_of(&tx.budgets()?, card.id, first_year);
        let unlimited = money.iter().all(|(_, stated)| *stated == Stated::Nothing);
        let (failures_a_year, set_aside) = likely(tx, &units)?;
        let enough = Pence(set_aside.0 + units.values().map(|u| u.capex.0.max(0)).sum::<i64>());
        let input = ProgrammeInput {
            first_year,
            opening: kept(tx, "opening", card.id)?,
            floor: kept(tx, "floor", card.id)?,
            years: money
                .iter()
                .map(|(_, stated)| YearMoney {
                    comes_in: if unlimited { enough } else { stated.pence() },
                    set_aside,
                    cap: None,
                })
                .collect(),
            units: units.values().map(wanted).collect(),
        };
        let option_names = tx.kinds()?.into_iter().map(|k| (k.code, k.name)).collect();
        Ok(BuildingProgramme {
            programme: PlainProgramme.plan(&input),
            building: card,
            buildings: cards.into_iter().map(|b| (b.id, b.name)).collect(),
            input,
            unlimited,
            money,
            units,
            option_names,
            failures_a_year,
            may_state: seat.role() != Role::Landlord,
        })
    })
}

fn money_of(budgets: &[Budget], building: BuildingId, first_year: i32) -> Vec<(i32, Stated)> {
    let own: BTreeMap<i32, Pence> = budgets
        .iter()
        .filter(|b| b.building == building)
        .map(|b| (b.year, b.pence))
        .collect();
    (first_year..first_year + YEARS)
        .map(|year| {
            let stated = match own.range(..=year).next_back() {
                Some((&from, &pence)) if from == year => Stated::Here(pence),
                Some((&from, &pence)) => Stated::Carried { pence, from },
                None => Stated::Nothing,
            };
            (year, stated)
        })
        .collect()
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

/// States what comes in for a building in a year, and what its purse holds.
///
/// # Errors
/// [`Error::Invalid`] at `year`, `pence`, `opening` or `floor`.
pub fn state_budget(world: &World, seat: &Seat, form: BudgetForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            tx.building(form.building)?;
            seat.must_reach(form.building)?;
            let mut wrongs = Vec::new();
            let years = today.year()..first_year(today) + YEARS;
            if !years.contains(&form.year) {
                wrongs.push(FieldError::at(
                    "year",
                    format!("A year from {} to {}, please.", years.start, years.end - 1),
                ));
            }
            let sums = [
                ("pence", Some(form.pence)),
                ("opening", form.opening),
                ("floor", form.floor),
            ];
            for (field, sum) in sums {
                if sum.is_some_and(|p| !(Pence(0)..=MOST).contains(&p)) {
                    wrongs.push(FieldError::at(
                        field,
                        "An amount from £0 to £100,000,000, please.",
                    ));
                }
            }
            Error::unless_empty(wrongs)?;
            tx.state_budget(Budget {
                building: form.building,
                year: form.year,
                pence: form.pence,
            })?;
            for (what, sum) in [("opening", form.opening), ("floor", form.floor)] {
                if let Some(sum) = sum {
                    tx.set(&key(what, form.building), &sum.0.to_string())?;
                }
            }
            tx.note(
                "budget stated",
                &format!("building {}", form.building),
                &json!({
                    "year": form.year, "pence": form.pence,
                    "opening": form.opening, "floor": form.floor,
                }),
            );
            Ok(())
        })
    })
}
