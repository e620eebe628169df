//! What people ask of the rounds: somebody is away, nobody is to come before a day. Dated, with who and why, and
//! taken back the same way. The visits are placed again by whoever asks next.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::NewRoundAsk;
use terms::{EngineerId, Role, UnitId};
use uuid::Uuid;

use crate::work::{names_in, wall};
use crate::{Error, FieldError, Seat, World};

/// The longest absence, days.
const LONGEST: i64 = 400;
/// The longest reason.
const LONGEST_WHY: usize = 400;

/// What is asked.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum RoundWish {
    /// Somebody is away.
    Away {
        /// Who.
        engineer: EngineerId,
        /// First day.
        from: NaiveDate,
        /// Last day.
        until: NaiveDate,
        /// The reason.
        why: String,
    },
    /// Nobody is to come to a unit before a day: access was refused, somebody is in hospital.
    NotBefore {
        /// The unit.
        unit: UnitId,
        /// The day.
        from: NaiveDate,
        /// The reason.
        why: String,
    },
}

/// Keeps what was asked.
///
/// # Errors
/// [`Error::Invalid`] at `away_engineer`, `away_from`, `away_until`, `not_before` or `why`.
pub fn ask_of_rounds(world: &World, seat: &Seat, wish: RoundWish, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    let today = wall::day(world.now());
    let known = |id: EngineerId| names.engineers.iter().any(|e| e.id == id);
    let ask = checked(&wish, today, &known)?;
    world.acting(seat, |tx| {
        tx.once(once, &wish, |tx| {
            if let Some(unit) = ask.unit {
                seat.must_reach(tx.unit(unit)?.building)?;
            }
            let id = tx.ask_of_rounds(&ask)?;
            tx.note(
                "asked of the rounds",
                &format!("ask {id}"),
                &json!({
                    "what": ask.what, "engineer": ask.engineer, "unit": ask.unit,
                    "from": ask.from_on, "until": ask.until_on, "why": ask.why,
                }),
            );
            Ok(())
        })
    })
}

fn checked(
    wish: &RoundWish,
    today: NaiveDate,
    known: &dyn Fn(EngineerId) -> bool,
) -> Result<NewRoundAsk, Error> {
    let mut wrongs = Vec::new();
    let ask = match wish {
        RoundWish::Away {
            engineer,
            from,
            until,
            why,
        } => {
            if !known(*engineer) {
                wrongs.push(FieldError::at(
                    "away_engineer",
                    "Choose one of the engineers.",
                ));
            }
            if until < from {
                wrongs.push(FieldError::at(
                    "away_until",
                    "The last day lies before the first.",
                ));
            }
            if *until < today {
                wrongs.push(FieldError::at("away_until", "That has gone by."));
            }
            if (*until - *from).num_days() > LONGEST {
                let sentence = format!("At most {LONGEST} days at a time, please.");
                wrongs.push(FieldError::at("away_until", sentence));
            }
            NewRoundAsk {
                what: "away",
                engineer: Some(*engineer),
                unit: None,
                from_on: *from,
                until_on: Some(*until),
                why: why.trim().to_owned(),
            }
        }
        RoundWish::NotBefore { unit, from, why } => {
            if *from <= today || (*from - today).num_days() > LONGEST {
                let sentence = format!("A day after today, at most {LONGEST} days on, please.");
                wrongs.push(FieldError::at("not_before", sentence));
            }
            NewRoundAsk {
                what: "not_before",
                engineer: None,
                unit: Some(*unit),
                from_on: *from,
                until_on: None,
                why: why.trim().to_owned(),
            }
        }
    };
    if ask.why.is_empty() {
        wrongs.push(FieldError::at("why", "Say why, in a few words."));
    }
    if ask.why.chars().count() > LONGEST_WHY {
        wrongs.push(FieldError::at(
            "why",
            format!("At most {LONGEST_WHY} letters, please."),
        ));
    }
    Error::unless_empty(wrongs)?;
    Ok(ask)
}

/// Takes back what was asked.
///
/// # Errors
/// [`Error::NotFound`] when it stands no more.
pub fn take_back_ask(world: &World, seat: &Seat, ask: Uuid, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &("take back", ask), |tx| {
            if tx.take_back_round_ask(ask)? == 0 {
                return Err(Error::NotFound("ask"));
            }
            tx.note("ask taken back", &format!("ask {ask}"), &json!({}));
            Ok(())
        })
    })
}
