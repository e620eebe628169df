//! What people ask of the rounds: somebody is away, nobody is to come before a day, a firm has its own hours, somebody
//! opens at certain times only. Dated, with who and why, and
//! taken back the same way. The visits are placed again by whoever asks next.
use chrono::{NaiveDate, NaiveTime, Timelike};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::{AskedTimes, NewRoundAsk, Tx};
use terms::{EngineerId, FirmId, Role, SpaceId, UnitId};
use uuid::Uuid;

use crate::work::{Names, names_in, wall};
use crate::{Error, FieldError, Seat, World};

/// The longest absence, days.
const LONGEST: i64 = 400;
/// The longest reason.
const LONGEST_WHY: usize = 400;

/// Weekdays and hours.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Times {
    /// Monday = 0.
    pub weekdays: Vec<u32>,
    /// From.
    pub from: NaiveTime,
    /// Until.
    pub until: NaiveTime,
}

impl Times {
    fn asked(&self, firm: Option<FirmId>) -> AskedTimes {
        let minute = |time: NaiveTime| time.hour() * 60 + time.minute();
        let mut weekdays = self.weekdays.clone();
        weekdays.sort_unstable();
        weekdays.dedup();
        AskedTimes {
            firm,
            weekdays,
            from_minute: minute(self.from),
            until_minute: minute(self.until),
        }
    }

    /// What cannot be, at the field it was typed in.
    fn wrongs(&self, who: &str) -> Vec<FieldError> {
        let mut wrongs = Vec::new();
        if self.weekdays.is_empty() || self.weekdays.iter().any(|day| *day > 6) {
            wrongs.push(FieldError::at(
                format!("{who}_days"),
                "Tick at least one day of the week.",
            ));
        }
        if self.until <= self.from {
            wrongs.push(FieldError::at(
                format!("{who}_until"),
                "It ends before it begins.",
            ));
        }
        wrongs
    }
}

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
    /// A firm works on its own days and hours; what it stated before falls.
    Hours {
        /// Which.
        firm: FirmId,
        /// When.
        times: Times,
        /// The reason.
        why: String,
    },
    /// Somebody opens where a unit stands at certain times only; what was said before falls.
    Access {
        /// The unit.
        unit: UnitId,
        /// When.
        times: Times,
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
/// [`Error::Invalid`] at `away_engineer`, `away_from`, `away_until`, `not_before`, `hours_…`, `access_…` or `why`.
pub fn ask_of_rounds(world: &World, seat: &Seat, wish: RoundWish, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    let today = wall::day(world.now());
    let ask = checked(&wish, today, &names)?;
    world.acting(seat, |tx| {
        tx.once(once, &wish, |tx| {
            if let Some(unit) = ask.unit {
                seat.must_reach(tx.unit(unit)?.building)?;
            }
            if let Some(times) = &ask.times {
                let here = space_of(tx, ask.unit)?;
                for old in tx.round_asks()? {
                    let whose = old.times.as_ref().and_then(|t| t.firm);
                    let same = old.what == ask.what && whose == times.firm;
                    if same && space_of(tx, old.unit)? == here {
                        tx.take_back_round_ask(old.id)?;
                    }
                }
            }
            let id = tx.ask_of_rounds(&ask)?;
            tx.note(
                "asked of the rounds",
                &format!("ask {id}"),
                &json!({
                    "what": ask.what, "engineer": ask.engineer, "unit": ask.unit,
                    "from": ask.from_on, "until": ask.until_on, "why": ask.why,
                    "firm": ask.times.as_ref().and_then(|t| t.firm),
                    "weekdays": ask.times.as_ref().map(|t| &t.weekdays),
                    "minutes": ask.times.as_ref().map(|t| (t.from_minute, t.until_minute)),
                }),
            );
            Ok(())
        })
    })
}

/// Who opens for one unit opens for every unit of the space.
fn space_of(tx: &mut Tx<'_>, unit: Option<UnitId>) -> Result<Option<SpaceId>, Error> {
    Ok(match unit {
        Some(unit) => Some(tx.unit(unit)?.space),
        None => None,
    })
}

/// What cannot be of an absence.
fn absence(from: NaiveDate, until: NaiveDate, today: NaiveDate) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if until < from {
        let sentence = "The last day lies before the first.";
        wrongs.push(FieldError::at("away_until", sentence));
    }
    if until < today {
        wrongs.push(FieldError::at("away_until", "That has gone by."));
    }
    if (until - from).num_days() > LONGEST {
        let sentence = format!("At most {LONGEST} days at a time, please.");
        wrongs.push(FieldError::at("away_until", sentence));
    }
    wrongs
}

/// What cannot be of a reason.
fn reason(why: &str) -> Option<FieldError> {
    if why.is_empty() {
        return Some(FieldError::at("why", "Say why, in a few words."));
    }
    let long = why.chars().count() > LONGEST_WHY;
    let sentence = format!("At most {LONGEST_WHY} letters, please.");
    long.then(|| FieldError::at("why", sentence))
}

/// An ask with nothing but what it is and why.
fn plain(what: &'static str, from_on: NaiveDate, why: &str) -> NewRoundAsk {
    NewRoundAsk {
        what,
        engineer: None,
        unit: None,
        from_on,
        until_on: None,
        times: None,
        why: why.trim().to_owned(),
    }
}

fn checked(wish: &RoundWish, today: NaiveDate, names: &Names) -> Result<NewRoundAsk, Error> {
    let mut wrongs = Vec::new();
    let ask = match wish {
        RoundWish::Away {
            engineer,
            from,
            until,
            why,
        } => {
            if !names.engineers.iter().any(|e| e.id == *engineer) {
                let sentence = "Choose one of the engineers.";
                wrongs.push(FieldError::at("away_engineer", sentence));
            }
            wrongs.extend(absence(*from, *until, today));
            NewRoundAsk {
                engineer: Some(*engineer),
                until_on: Some(*until),
                ..plain("away", *from, why)
            }
        }
        RoundWish::Hours { firm, times, why } => {
            if !names.has_firm(*firm) {
                wrongs.push(FieldError::at("hours_firm", "Choose one of the firms."));
            }
            wrongs.extend(times.wrongs("hours"));
            NewRoundAsk {
                times: Some(times.asked(Some(*firm))),
                ..plain("hours", today, why)
            }
        }
        RoundWish::Access { unit, times, why } => {
            wrongs.extend(times.wrongs("access"));
            NewRoundAsk {
                unit: Some(*unit),
                times: Some(times.asked(None)),
                ..plain("access", today, why)
            }
        }
        RoundWish::NotBefore { unit, from, why } => {
            if *from <= today || (*from - today).num_days() > LONGEST {
                let sentence = format!("A day after today, at most {LONGEST} days on, please.");
                wrongs.push(FieldError::at("not_before", sentence));
            }
            NewRoundAsk {
                unit: Some(*unit),
                ..plain("not_before", *from, why)
            }
        }
    };
    wrongs.extend(reason(&ask.why));
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
