//! The dated prices, the rate and the figures nobody can look up, as the desk states them. Rows are added; the latest day
//! stands, and what an advice once went by stays with it.
use chrono::NaiveDate;
use costing::RateSchedule;
use serde_json::json;
use store::Tx;
use terms::trade::{Kind, Price};
use terms::{FirmId, Role};

use crate::advice::{InputLine, assumed_of, assumptions_in, longest_life};
use crate::{Error, FieldError, Seat, World};

/// What the page of one kind shows.
#[derive(Clone, Debug)]
pub struct Prices {
    /// Every kind, by name.
    pub kinds: Vec<Kind>,
    /// The kind asked for.
    pub kind: Kind,
    /// Its prices, by item and firm, the latest first.
    pub prices: Vec<Price>,
    /// The parts of the kind: code and name.
    pub parts: Vec<(String, String)>,
    /// The firms that work here.
    pub firms: Vec<(FirmId, String)>,
    /// The yearly real rate in force, how it is known, and its day.
    pub rate: (f64, String, NaiveDate),
    /// The published schedule it starts from.
    pub schedule: RateSchedule,
    /// What its later steps would change; `None` for a schedule of one step.
    pub left_out: Option<LeftOut>,
    /// The figures of the whole estate and those of this kind.
    pub assumed: Vec<InputLine>,
    /// The day.
    pub today: NaiveDate,
}

/// What is left out by reckoning at the first step's rate in every year: an endless chain of units has a level yearly cost
/// at one rate only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftOut {
    /// Last year of the first step.
    pub after: u32,
    /// Years of the longest life reckoned with for any kind.
    pub longest_life: u32,
    /// By how much more, as a share, a sum paid at the end of each year of that life would count by the steps.
    pub in_life: f64,
    /// The same of a sum paid for ever.
    pub for_ever: f64,
}

/// Years that stand for ever: at 1 %, the lowest step, a pound beyond them is worth less than a hundredth of a penny.
const FOR_EVER: u32 = 1_000;

fn left_out(schedule: &RateSchedule, kinds: &[Kind]) -> Option<LeftOut> {
    let first = schedule.steps.first()?;
    let longest = kinds.iter().map(longest_life).max()?;
    let more = |years| Some(schedule.annuity(years)? / costing::annuity(first.rate, years) - 1.0);
    Some(LeftOut {
        after: first.to_year?,
        longest_life: longest,
        in_life: more(longest)?,
        for_ever: more(FOR_EVER)?,
    })
}

/// The prices of a kind; of the first where `kind` is none.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk.
pub fn prices(world: &World, seat: &Seat, kind: &str) -> Result<Prices, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let firms = firms_of(world, seat)?;
    world.acting(seat, |tx| {
        let mut kinds = tx.kinds()?;
        kinds.sort_by(|a, b| a.name.cmp(&b.name));
        let asked = kinds.iter().find(|k| k.code == kind).or(kinds.first());
        let kind = asked.cloned().ok_or(Error::NotFound("kind of unit"))?;
        let mut prices = tx.prices_of(&kind.code)?;
        prices.reverse();
        prices.sort_by(|a, b| {
            (&a.item, a.firm, std::cmp::Reverse(a.as_at)).cmp(&(
                &b.item,
                b.firm,
                std::cmp::Reverse(b.as_at),
            ))
        });
        let parts = tx.part_shares()?;
        let assumed = assumptions_in(tx)?
            .into_iter()
            .filter(|line| match line.code.split_once(':') {
                Some((_, of)) => of == kind.code,
                None => true,
            })
            .collect();
        Ok(Prices {
            prices,
            parts: parts
                .into_iter()
                .filter(|p| p.kind == kind.code)
                .map(|p| (p.code, p.name))
                .collect(),
            firms,
            rate: tx.rate()?,
            left_out: left_out(&RateSchedule::default(), &kinds),
            schedule: RateSchedule::default(),
            assumed,
            today: tx.today(),
            kind,
            kinds,
        })
    })
}

fn firms_of(world: &World, seat: &Seat) -> Result<Vec<(FirmId, String)>, Error> {
    let estate = seat.estate();
    let firms = world
        .pool
        .at_door(|door| door.firms_of(estate))
        .map_err(Error::from)?;
    Ok(firms.into_iter().map(|f| (f.id, f.name)).collect())
}

/// States a price from a day on: a general one, or one agreed with a firm.
///
/// # Errors
/// [`Error::Invalid`] at `item`, `name`, `low`, `likely`, `high`, `vat`, `status`, `as_at` or `firm`.
pub fn state_price(world: &World, seat: &Seat, price: &Price, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let firms = firms_of(world, seat)?;
    world.acting(seat, |tx| {
        tx.once(once, price, |tx| {
            Error::unless_empty(wrongs(tx, price, &firms)?)?;
            tx.add_prices(std::slice::from_ref(price))?;
            tx.note(
                "price stated",
                &format!("{} {}", price.kind, price.item),
                &json!(price),
            );
            Ok(())
        })
    })
}

fn wrongs(
    tx: &mut Tx<'_>,
    price: &Price,
    firms: &[(FirmId, String)],
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    let kinds = tx.kinds()?;
    let known = |code: &str| kinds.iter().any(|k| k.code == code);
    let parts = tx.part_shares()?;
    let item = match price.item.split_once(':') {
        None => ["service", "check", "repair"].contains(&price.item.as_str()),
        Some(("repair", part)) => parts.iter().any(|p| p.kind == price.kind && p.code == part),
        Some(("replace", kind)) => known(kind),
        Some(_) => false,
    };
    if !known(&price.kind) || !item {
        wrongs.push(FieldError::at("item", "Choose what it is the price of."));
    }
    if price.name.trim().is_empty() {
        wrongs.push(FieldError::at("name", "Say in words what it buys."));
    }
    if price.status.trim().is_empty() {
        wrongs.push(FieldError::at(
            "status",
            "Say how it is known: an offer, a list, a guess.",
        ));
    }
    if !(price.low <= price.likely && price.likely <= price.high) {
        wrongs.push(FieldError::at(
            "likely",
            "The likely price lies between the low and the high one.",
        ));
    }
    if price.low.0 < 0 {
        wrongs.push(FieldError::at("low", "A price is nothing or more."));
    }
    if !(0.0..=30.0).contains(&price.vat_percent) {
        wrongs.push(FieldError::at("vat", "VAT is a rate such as 20."));
    }
    if price.as_at > tx.today() {
        wrongs.push(FieldError::at(
            "as_at",
            "State a price once it holds, not before.",
        ));
    }
    if price
        .firm
        .is_some_and(|firm| firms.iter().all(|(id, _)| *id != firm))
    {
        wrongs.push(FieldError::at("firm", "That firm does not work here."));
    }
    Ok(wrongs)
}

/// States the yearly real rate from a day on.
///
/// # Errors
/// [`Error::Invalid`] at `rate`, `rate_status` or `rate_as_at`.
pub fn state_rate(
    world: &World,
    seat: &Seat,
    (rate, status, as_at): (f64, &str, NaiveDate),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let mut wrongs = Vec::new();
    if !(0.0..=0.2).contains(&rate) {
        wrongs.push(FieldError::at(
            "rate",
            "A real rate lies between 0 and 20 % a year.",
        ));
    }
    if status.trim().is_empty() {
        wrongs.push(FieldError::at("rate_status", "Say where it comes from."));
    }
    world.acting(seat, |tx| {
        if as_at > tx.today() {
            wrongs.push(FieldError::at(
                "rate_as_at",
                "State a rate once it holds, not before.",
            ));
        }
        Error::unless_empty(wrongs)?;
        tx.once(once, &("rate", rate, status, as_at), |tx| {
            tx.add_rate(rate, status.trim(), as_at)?;
            tx.note(
                "rate stated",
                "rate",
                &json!({ "rate": rate, "status": status.trim(), "as_at": as_at }),
            );
            Ok(())
        })
    })
}

/// States a figure that no list holds; `None` goes back to the program's own starting one.
///
/// # Errors
/// [`Error::Invalid`] at the key for a figure outside its range; [`Error::NotFound`] for a key that is none.
pub fn state_assumption(
    world: &World,
    seat: &Seat,
    (key, value): (&str, Option<f64>),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let from = assumed_of(key, &tx.kinds()?).ok_or(Error::NotFound("figure"))?;
        if value.is_some_and(|v| !v.is_finite() || !(0.0..=from.most).contains(&v)) {
            return Err(Error::field(
                key,
                format!("A figure from 0 to {} is meant here.", from.most),
            ));
        }
        tx.once(once, &("assumption", key, value), |tx| {
            let text = value.map_or_else(String::new, |v| v.to_string());
            tx.set(&format!("advice.{key}"), &text)?;
            tx.note("figure stated", key, &json!({ "value": value }));
            Ok(())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pound a year for ever: 28.571 at 3.5 %, 31.3 by the steps (annuities of 30, 45, 50, 75, 100 years and for ever, each
    /// times what a pound at its start is worth: 18.392 + 8.736 + 2.672 + 1.060 + 0.320 + 0.140; arithmetic): 9.6 % more.
    #[test]
    fn what_the_later_steps_would_change() {
        let kind = |median| Kind {
            code: "CT".to_owned(),
            name: "cold water storage tank".to_owned(),
            plural: "cold water storage tanks".to_owned(),
            life_median_years: median,
            life_shape: 4.0,
            rate_3y: 0.023,
            rate_10y: 0.04,
            rate_15y: 0.06,
            rate_sd_log: 1.0,
            gas: false,
            covers: "water".to_owned(),
            status: "common practice, no source".to_owned(),
            as_at: NaiveDate::default(),
        };
        let found = left_out(&RateSchedule::default(), &[kind(10.0), kind(30.0)]).unwrap();
        assert_eq!((found.after, found.longest_life), (30, 37));
        assert!((found.in_life - 0.0020).abs() < 1e-4, "{found:?}");
        assert!((found.for_ever - 0.096).abs() < 1e-3, "{found:?}");
    }
}
