//! The monthly round: what is asked, and what was typed, judged as it is kept.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::calendar::{add_months, days_between};
use inspection::outlets::{how_long, judge_outlet, limit_of};
use inspection::{Level as Grave, RuleBook};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::place::BuildingCard;
use terms::{
    BuildingId, Level, OutletCard, OutletId, Temperature, TemperatureRound, TemperatureRoundId,
};
use uuid::Uuid;

use super::{WALKERS, monthly};
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// One outlet as the form asks it.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The outlet.
    pub outlet: OutletCard,
    /// Where it is; empty when no space is named.
    pub space_name: String,
    /// The last temperature before today, with its day.
    pub before: Option<(NaiveDate, f64)>,
    /// The limit in words; empty where none is held.
    pub limit: String,
    /// How long the water runs first; empty for a store.
    pub how_long: &'static str,
}

/// The form of one building's round.
#[derive(Clone, Debug)]
pub struct RoundView {
    /// The building.
    pub building: BuildingCard,
    /// The outlets in walking order.
    pub lines: Vec<Line>,
    /// The last round on record.
    pub last: Option<TemperatureRound>,
    /// Today.
    pub today: NaiveDate,
}

/// One outlet as typed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TakenLine {
    /// The outlet.
    pub outlet: OutletId,
    /// °C; `None` when it was not taken.
    pub temp_c: Option<f64>,
    /// Seconds the water ran.
    pub seconds_run: Option<i32>,
    /// Flushed, where it is little used.
    pub flushed: Option<bool>,
    /// Why it was not taken.
    pub why_not: String,
}

/// A round as typed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TakeRound {
    /// The building.
    pub building: BuildingId,
    /// The day.
    pub on: NaiveDate,
    /// The thermometer, as written on it.
    pub thermometer: String,
    /// Last day of its calibration.
    pub calibrated_until: Option<NaiveDate>,
    /// One line an outlet.
    pub lines: Vec<TakenLine>,
}

pub(super) fn book() -> Result<&'static RuleBook, Error> {
    RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))
}

/// The form of a building's round.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn round_view(world: &World, seat: &Seat, building: BuildingId) -> Result<RoundView, Error> {
    seat.must_be(&WALKERS)?;
    world.acting(seat, |tx| {
        seat.must_reach(building)?;
        let today = wall::day(tx.at());
        let card = tx.building(building)?;
        let rounds = tx.temperature_rounds(Some(building), add_months(today, -24))?;
        let before = last_temperatures(tx, &rounds)?;
        let spaces: BTreeMap<_, _> = tx
            .spaces(Some(building))?
            .into_iter()
            .map(|s| (s.id, s.name))
            .collect();
        let lines = on_round(tx, building)?
            .into_iter()
            .map(|outlet| {
                let limit = limit_of(book()?, outlet.place.code());
                Ok(Line {
                    space_name: outlet
                        .space
                        .and_then(|id| spaces.get(&id).cloned())
                        .unwrap_or_default(),
                    before: before.get(&outlet.id).copied(),
                    limit: limit.map_or_else(String::new, |(_, words)| words.to_owned()),
                    how_long: how_long(outlet.place.code()),
                    outlet,
                })
            })
            .collect::<Result<_, Error>>()?;
        Ok(RoundView {
            building: card,
            lines,
            last: rounds.into_iter().next(),
            today,
        })
    })
}

fn on_round(tx: &mut Tx<'_>, building: BuildingId) -> Result<Vec<OutletCard>, Error> {
    Ok(tx
        .outlets(Some(building))?
        .into_iter()
        .filter(|o| o.ended_on.is_none())
        .collect())
}

/// The newest temperature of each outlet with its day.
fn last_temperatures(
    tx: &mut Tx<'_>,
    rounds: &[TemperatureRound],
) -> Result<BTreeMap<OutletId, (NaiveDate, f64)>, Error> {
    let ids: Vec<TemperatureRoundId> = rounds.iter().map(|r| r.id).collect();
    let mut found = BTreeMap::new();
    for row in tx.temperatures_of(&ids, false)? {
        if let Some(temp) = row.temp_c {
            found.insert(row.outlet, (row.on, temp));
        }
    }
    Ok(found)
}

/// Keeps a round: every temperature as a fact, judged at once, and the month's duties completed by it.
///
/// # Errors
/// [`Error::Invalid`] at `on`, `thermometer`, `calibrated_until`, `t.OUTLET`, `s.OUTLET`, `f.OUTLET`;
/// [`Error::NotFound`] outside the seat's reach.
pub fn take_round(
    world: &World,
    seat: &Seat,
    form: TakeRound,
    once: &str,
) -> Result<TemperatureRoundId, Error> {
    seat.must_be(&WALKERS)?;
    let name = seat
        .name()
        .split(", ")
        .next()
        .unwrap_or_default()
        .to_owned();
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            seat.must_reach(form.building)?;
            tx.building(form.building)?;
            let outlets = on_round(tx, form.building)?;
            Error::unless_empty(wrongs(&form, &outlets, wall::day(tx.at())))?;
            let round = tx.add_temperature_round(&TemperatureRound {
                id: TemperatureRoundId(Uuid::nil()),
                building: form.building,
                taken_on: form.on,
                thermometer: form.thermometer.trim().to_owned(),
                calibrated_until: form.calibrated_until,
                taken_by: tx.who(),
                made_at: tx.at(),
            })?;
            let mut read = BTreeSet::new();
            for outlet in &outlets {
                let Some(line) = form.lines.iter().find(|l| l.outlet == outlet.id) else {
                    continue;
                };
                if line.temp_c.is_some() {
                    read.insert(outlet.id);
                }
                tx.add_temperature(&judged(tx, (round, form.on), outlet, line)?)?;
            }
            let done = (form.on, name.as_str());
            let (met, not_whole) = monthly::complete(tx, form.building, done, (&outlets, &read))?;
            tx.note(
                "temperatures taken",
                &format!("building {}", form.building),
                &json!({
                    "round": round, "on": form.on, "read": read.len(), "outlets": outlets.len(),
                    "met": met, "not_whole": not_whole,
                }),
            );
            Ok(round)
        })
    })
}

/// The row of one outlet with what its limit says.
fn judged(
    tx: &Tx<'_>,
    (round, on): (TemperatureRoundId, NaiveDate),
    outlet: &OutletCard,
    line: &TakenLine,
) -> Result<Temperature, Error> {
    let book = book()?;
    let (level, words) = match line.temp_c {
        Some(temp) => {
            let said = judge_outlet(
                book,
                outlet.place.code(),
                temp,
                line.seconds_run.map(i64::from),
            )
            .map_err(|e| Error::Internal(e.to_string()))?;
            (level_of(said.level), said.sentence)
        }
        // A missing reading is itself a finding, on the round and not on the water.
        None => (
            Some(Level::Watch),
            format!("Not taken: {}", line.why_not.trim()),
        ),
    };
    Ok(Temperature {
        id: Uuid::nil(),
        round,
        outlet: outlet.id,
        outlet_name: outlet.name.clone(),
        place: outlet.place,
        temp_c: line.temp_c,
        seconds_run: line.seconds_run,
        flushed: line.flushed.filter(|_| outlet.little_used),
        level,
        words,
        action: String::new(),
        rule_book: book.digest().to_owned(),
        on,
        recorded_at: tx.at(),
        recorded_by: tx.who(),
        superseded_at: None,
    })
}

fn level_of(level: Grave) -> Option<Level> {
    match level {
        Grave::Pass => None,
        Grave::Info => Some(Level::Info),
        Grave::Watch => Some(Level::Watch),
        Grave::Act => Some(Level::Act),
        Grave::Stop => Some(Level::Stop),
    }
}

fn wrongs(form: &TakeRound, outlets: &[OutletCard], today: NaiveDate) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if form.on > today {
        wrongs.push(FieldError::at("on", "That day has not come yet."));
    } else if days_between(form.on, today) > 400 {
        wrongs.push(FieldError::at(
            "on",
            "That is more than a year ago; check the year.",
        ));
    }
    if form.thermometer.trim().is_empty() {
        wrongs.push(FieldError::at(
            "thermometer",
            "Say which thermometer: its name or number.",
        ));
    }
    if outlets.is_empty() {
        wrongs.push(FieldError::at(
            "on",
            "No outlet is on the round of this building yet.",
        ));
    }
    for outlet in outlets {
        let line = form.lines.iter().find(|l| l.outlet == outlet.id);
        let field = |letter: &str| format!("{letter}.{}", outlet.id);
        let Some(line) = line.filter(|l| l.temp_c.is_some() || !l.why_not.trim().is_empty()) else {
            wrongs.push(FieldError::at(
                field("t"),
                format!(
                    "{}: type the temperature, or say why it was not taken.",
                    outlet.name
                ),
            ));
            continue;
        };
        if line.temp_c.is_some_and(|t| !(-5.0..=105.0).contains(&t)) {
            wrongs.push(FieldError::at(
                field("t"),
                format!("{}: water lies between −5 and 105 °C.", outlet.name),
            ));
        }
        if line.seconds_run.is_some_and(|s| !(0..=3600).contains(&s)) {
            wrongs.push(FieldError::at(
                field("s"),
                format!("{}: between 0 and 3,600 seconds.", outlet.name),
            ));
        }
        if outlet.little_used && line.flushed.is_none() {
            wrongs.push(FieldError::at(
                field("f"),
                format!("{}: say whether it was flushed.", outlet.name),
            ));
        }
    }
    wrongs
}
