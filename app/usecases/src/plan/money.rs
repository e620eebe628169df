//! The money of a building, and what else binds its programme: stated by people, dated.
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::budgets::Budget;
use terms::{BuildingId, Pence, Role};

use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// Years a programme looks ahead unless others are stated, and the fewest and most that can be.
pub const YEARS: i32 = 10;
/// The fewest and the most.
pub const YEARS_RANGE: std::ops::RangeInclusive<i32> = 5..=30;
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

/// What binds besides the money. Law and lease differ: nothing here is assumed, all of it is stated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// Paid once in a year in which anything is replaced.
    pub set_up: Pence,
    /// Paid once in a year for each stair or riser worked in.
    pub stair_set_up: Pence,
    /// Most replacements in a year.
    pub homes_a_year: Option<u32>,
    /// Most home-hours of disruption in a year.
    #[serde(default)]
    pub hours_a_year: Option<u32>,
    /// A year that pays more than this needs leaseholders consulted.
    pub consult_above: Option<Pence>,
    /// What consulting costs.
    pub consult_costs: Pence,
    /// First calendar year in which works that need it can happen.
    pub consult_from: Option<i32>,
    /// Most that may be paid in a year; `None` = what there is.
    pub cap: Option<Pence>,
    /// Years the programme looks ahead; `None` = ten.
    pub years: Option<i32>,
}

impl Limits {
    /// Years the programme looks ahead.
    pub fn years_ahead(&self) -> i32 {
        let years = self.years.unwrap_or(YEARS);
        years.clamp(*YEARS_RANGE.start(), *YEARS_RANGE.end())
    }
}

/// The first calendar year of a programme made on `today`.
pub(super) fn first_year(today: NaiveDate) -> i32 {
    today.year() + i32::from(today.month() >= LATE_IN_THE_YEAR)
}

fn key(what: &str, building: BuildingId) -> String {
    format!("purse_{what}_{building}")
}

fn number(tx: &mut Tx<'_>, what: &str, building: BuildingId) -> Result<Option<i64>, Error> {
    let text = tx.setting(&key(what, building))?;
    Ok(text.and_then(|t| t.parse().ok()))
}

/// What the purse holds at the start, and what it may not fall under.
pub(super) fn purse(tx: &mut Tx<'_>, building: BuildingId) -> Result<(Pence, Pence), Error> {
    let opening = number(tx, "opening", building)?.unwrap_or(0);
    let floor = number(tx, "floor", building)?.unwrap_or(0);
    Ok((Pence(opening), Pence(floor)))
}

/// The further limits as they were stated last.
pub(super) fn kept_limits(tx: &mut Tx<'_>, building: BuildingId) -> Result<Limits, Error> {
    let mut read = |what: &str| number(tx, what, building);
    let sum = |n: Option<i64>| Pence(n.unwrap_or(0).max(0));
    Ok(Limits {
        set_up: sum(read("setup")?),
        stair_set_up: sum(read("stair_setup")?),
        homes_a_year: read("homes")?.and_then(|n| u32::try_from(n).ok()),
        hours_a_year: read("hours")?.and_then(|n| u32::try_from(n).ok()),
        consult_above: read("consult_above")?.map(Pence),
        consult_costs: sum(read("consult_costs")?),
        consult_from: read("consult_from")?.and_then(|n| i32::try_from(n).ok()),
        cap: read("cap")?.map(Pence),
        years: read("years")?.and_then(|n| i32::try_from(n).ok()),
    })
}

/// Each year's money: stated, carried on from a year before, or nothing.
pub(super) fn money_of(
    budgets: &[Budget],
    building: BuildingId,
    years: std::ops::Range<i32>,
) -> Vec<(i32, Stated)> {
    let own: BTreeMap<i32, Pence> = budgets
        .iter()
        .filter(|b| b.building == building)
        .map(|b| (b.year, b.pence))
        .collect();
    years
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

fn too_much(field: &str, sum: Option<Pence>) -> Option<FieldError> {
    sum.filter(|p| !(Pence(0)..=MOST).contains(p))
        .map(|_| FieldError::at(field, "An amount from £0 to £100,000,000, please."))
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
            let ahead = kept_limits(tx, form.building)?.years_ahead();
            let years = today.year()..first_year(today) + ahead;
            if !years.contains(&form.year) {
                wrongs.push(FieldError::at(
                    "year",
                    format!("A year from {} to {}, please.", years.start, years.end - 1),
                ));
            }
            wrongs.extend(too_much("pence", Some(form.pence)));
            wrongs.extend(too_much("opening", form.opening));
            wrongs.extend(too_much("floor", form.floor));
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

/// States what else binds a building's programme; what is empty binds no more.
///
/// # Errors
/// [`Error::Invalid`] at the field.
pub fn state_limits(
    world: &World,
    seat: &Seat,
    (building, limits): (BuildingId, Limits),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        tx.once(once, &("limits", building, limits), |tx| {
            tx.building(building)?;
            seat.must_reach(building)?;
            let mut wrongs: Vec<FieldError> = [
                ("set_up", Some(limits.set_up)),
                ("stair_set_up", Some(limits.stair_set_up)),
                ("consult_above", limits.consult_above),
                ("consult_costs", Some(limits.consult_costs)),
                ("cap", limits.cap),
            ]
            .into_iter()
            .filter_map(|(field, sum)| too_much(field, sum))
            .collect();
            let years = today.year()..=first_year(today) + limits.years_ahead();
            if limits.consult_from.is_some_and(|y| !years.contains(&y)) {
                let (from, until) = (years.start(), years.end());
                let sentence = format!("A year from {from} to {until}, please.");
                wrongs.push(FieldError::at("consult_from", sentence));
            }
            if limits.years.is_some_and(|n| !YEARS_RANGE.contains(&n)) {
                wrongs.push(FieldError::at("years", "From 5 to 30 years, please."));
            }
            if limits.homes_a_year == Some(0) {
                let sentence = "At least one; leave it empty where any number will do.";
                wrongs.push(FieldError::at("homes_a_year", sentence));
            }
            if limits.hours_a_year == Some(0) {
                let sentence = "At least one; leave it empty where any number will do.";
                wrongs.push(FieldError::at("hours_a_year", sentence));
            }
            Error::unless_empty(wrongs)?;
            let text = |n: Option<i64>| n.map(|n| n.to_string()).unwrap_or_default();
            for (what, value) in [
                ("setup", Some(limits.set_up.0)),
                ("stair_setup", Some(limits.stair_set_up.0)),
                ("homes", limits.homes_a_year.map(i64::from)),
                ("hours", limits.hours_a_year.map(i64::from)),
                ("consult_above", limits.consult_above.map(|p| p.0)),
                ("consult_costs", Some(limits.consult_costs.0)),
                ("consult_from", limits.consult_from.map(i64::from)),
                ("cap", limits.cap.map(|p| p.0)),
                ("years", limits.years.map(i64::from)),
            ] {
                tx.set(&key(what, building), &text(value))?;
            }
            tx.note(
                "limits stated",
                &format!("building {building}"),
                &json!({ "limits": limits }),
            );
            Ok(())
        })
    })
}
