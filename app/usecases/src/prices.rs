//! The dated prices, the rate and the figures nobody can look up, as the desk states them. Rows are added; the latest day
//! stands, and what an advice once went by stays with it.
use chrono::NaiveDate;
use serde_json::json;
use store::Tx;
use terms::trade::{Kind, LaterRate, Price, RealRate};
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
    /// The yearly real rate in force.
    pub rate: RealRate,
    /// What its later steps bear on; `None` where it is the same in every year, or a pound for ever has no bound.
    pub falling: Option<Falling>,
    /// The figures of the whole estate and those of this kind.
    pub assumed: Vec<InputLine>,
    /// The day.
    pub today: NaiveDate,
}

/// What the later steps of a rate bear on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Falling {
    /// Last year of the first step.
    pub after: u32,
    /// Years of the longest life reckoned with for any kind.
    pub longest_life: u32,
    /// Pounds that a pound a year for ever is worth today by the steps.
    pub for_ever: f64,
    /// The same at the first years' rate throughout.
    pub for_ever_at_first: f64,
}

fn falling(rate: &RealRate, kinds: &[Kind]) -> Option<Falling> {
    Some(Falling {
        after: rate.later.first()?.after,
        longest_life: kinds.iter().map(longest_life).max()?,
        for_ever: costing::worth_for_ever(rate.rate, &rate.later)?,
        for_ever_at_first: costing::worth_for_ever(rate.rate, &[])?,
    })
}

/// "3.5 % a year to year 30, 3 % to year 75, 2.5 % from then on", or "5 % a year in every year".
pub fn rates_in_words(rate: &RealRate) -> String {
    let percent = |rate: f64| {
        let text = format!("{:.2}", rate * 100.0);
        let text = text.trim_end_matches('0').trim_end_matches('.');
        format!("{text} %")
    };
    let Some(first) = rate.later.first() else {
        return format!("{} a year in every year", percent(rate.rate));
    };
    let begun = format!("{} a year to year {}", percent(rate.rate), first.after);
    let steps = rate.later.iter().enumerate().map(|(n, step)| {
        let until = match rate.later.get(n + 1) {
            Some(next) => format!("to year {}", next.after),
            None => "from then on".to_owned(),
        };
        format!("{} {until}", percent(step.rate))
    });
    std::iter::once(begun)
        .chain(steps)
        .collect::<Vec<_>>()
        .join(", ")
}

/// Later rates as somebody types them: "30: 3; 75: 2.5", the last year of the rate before and the per cent a year from there
/// on. Nothing typed: none.
///
/// # Errors
/// A [`FieldError`] at `rate_later` for what cannot be read or does not count up.
pub fn later_rates(typed: &str) -> Result<Vec<LaterRate>, FieldError> {
    let wrong = |part: &str| {
        let said = format!(
            "“{part}” is not a year and a rate from there on, such as “30: 3; 75: 2.5”, the years counting up."
        );
        FieldError::at("rate_later", said)
    };
    let mut found: Vec<LaterRate> = Vec::new();
    for part in typed.split(';').map(str::trim).filter(|p| !p.is_empty()) {
        let step = part.split_once(':').and_then(|(after, percent)| {
            let after: u32 = after.trim().parse().ok()?;
            let percent: f64 = percent.trim().trim_end_matches('%').trim().parse().ok()?;
            let before = found.last().map_or(0, |step| step.after);
            let sound = (before + 1..=1_000).contains(&after) && (0.0..=20.0).contains(&percent);
            sound.then_some(LaterRate {
                after,
                rate: percent / 100.0,
            })
        });
        found.push(step.ok_or_else(|| wrong(part))?);
    }
    Ok(found)
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
        let rate = tx.rate_on(tx.today())?;
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
            falling: falling(&rate, &kinds),
            rate,
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

/// States the yearly real rate from a day on, with those of later years.
///
/// # Errors
/// [`Error::Invalid`] at `rate`, `rate_later`, `rate_status` or `rate_as_at`.
pub fn state_rate(
    world: &World,
    seat: &Seat,
    (stated, later): (RealRate, &str),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let mut wrongs = Vec::new();
    let mut stated = stated;
    stated.status = stated.status.trim().to_owned();
    match later_rates(later) {
        Ok(later) => stated.later = later,
        Err(error) => wrongs.push(error),
    }
    if !(0.0..=0.2).contains(&stated.rate) {
        wrongs.push(FieldError::at(
            "rate",
            "A real rate lies between 0 and 20 % a year.",
        ));
    }
    if stated.status.is_empty() {
        wrongs.push(FieldError::at("rate_status", "Say where it comes from."));
    }
    world.acting(seat, |tx| {
        if stated.as_at > tx.today() {
            wrongs.push(FieldError::at(
                "rate_as_at",
                "State a rate once it holds, not before.",
            ));
        }
        Error::unless_empty(wrongs)?;
        tx.once(once, &("rate", &stated), |tx| {
            tx.add_rate(&stated)?;
            tx.note("rate stated", "rate", &json!(stated));
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
        let from = assumed_of(key, &tx.kinds()?, tx.today())?.ok_or(Error::NotFound("figure"))?;
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

    fn green_book() -> RealRate {
        let step = |(after, rate)| LaterRate { after, rate };
        RealRate {
            rate: 0.035,
            later: [
                (30, 0.03),
                (75, 0.025),
                (125, 0.02),
                (200, 0.015),
                (300, 0.01),
            ]
            .map(step)
            .to_vec(),
            status: "HM Treasury, The Green Book".to_owned(),
            as_at: NaiveDate::default(),
        }
    }

    /// A pound a year for ever: 28.571 at 3.5 %, 31.320 by the steps (annuities of 30, 45, 50, 75, 100 years and for ever, each
    /// times what a pound at its start is worth: 18.392 + 8.736 + 2.672 + 1.060 + 0.320 + 0.140; arithmetic).
    #[test]
    fn what_the_later_steps_bear_on() {
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
        let found = falling(&green_book(), &[kind(10.0), kind(30.0)]).unwrap();
        assert_eq!((found.after, found.longest_life), (30, 37));
        assert!((found.for_ever - 31.320).abs() < 1e-3, "{found:?}");
        assert!((found.for_ever_at_first - 28.571).abs() < 1e-3, "{found:?}");
        let mut level = green_book();
        level.later.clear();
        assert_eq!(falling(&level, &[kind(10.0)]), None);
    }

    #[test]
    fn rates_are_read_as_they_are_said() {
        let mut rate = green_book();
        assert_eq!(
            rates_in_words(&rate),
            "3.5 % a year to year 30, 3 % to year 75, 2.5 % to year 125, 2 % to year 200, 1.5 % to year 300, 1 % from then on"
        );
        assert_eq!(
            later_rates("30: 3; 75: 2.5 %; 125:2;200 : 1.5; 300: 1;").unwrap(),
            rate.later
        );
        rate.later.clear();
        assert_eq!(rates_in_words(&rate), "3.5 % a year in every year");
        assert_eq!(later_rates("  ").unwrap(), []);
        for bad in [
            "30",
            "30: lots",
            "75: 2.5; 30: 3",
            "0: 3",
            "30: 21",
            "30: -1",
        ] {
            assert_eq!(later_rates(bad).unwrap_err().field, "rate_later", "{bad}");
        }
    }
}
