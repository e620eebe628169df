//! The monthly round: what is asked, what was typed, and what is said of it at once.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::calendar::{add_months, days_between};
use inspection::outlets::{OutletFinding, how_long, judge_outlet, limit_of};
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
use crate::duties::dates::{Window, window};
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

/// A building whose round somebody takes.
#[derive(Clone, Debug)]
pub struct RoundBuilding {
    /// The building.
    pub building: BuildingCard,
    /// Outlets on the round.
    pub outlets: usize,
    /// The day of the last round.
    pub last: Option<NaiveDate>,
    /// The days in which the next round counts; `None` without any duty or date.
    pub next: Option<Window>,
    /// Readings out of their limit about which nobody has said what is done.
    pub open: usize,
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

/// One temperature with what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct SaidLine {
    /// The temperature.
    pub temperature: Temperature,
    /// What is done about it; empty when nothing is.
    pub what_to_do: &'static str,
}

/// A round as it is said back, at once and later.
#[derive(Clone, Debug)]
pub struct RoundSaid {
    /// The building.
    pub building: BuildingCard,
    /// The round.
    pub round: TemperatureRound,
    /// Its temperatures, the gravest first.
    pub lines: Vec<SaidLine>,
    /// The duties it met, with what that did to the date, in a sentence each.
    pub duties: Vec<String>,
    /// Who walked.
    pub by: String,
}

pub(super) fn book() -> Result<&'static RuleBook, Error> {
    RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))
}

/// The buildings whose round this seat may take, those first whose last day is nearest.
pub fn rounds_to_take(world: &World, seat: &Seat) -> Result<Vec<RoundBuilding>, Error> {
    seat.must_be(&WALKERS)?;
    world.acting(seat, |tx| {
        let today = wall::day(tx.at());
        let with_rounds = monthly::buildings_with_rounds(tx)?;
        let outlets = tx.outlets(None)?;
        let open = super::out_of_limit::open_by_building(tx, today)?;
        let latest = tx.latest_completions(false)?;
        let mut found = Vec::new();
        for building in tx.buildings()? {
            if !with_rounds.contains(&building.id) || !seat.grant().reaches(building.id) {
                continue;
            }
            let rounds = tx.temperature_rounds(Some(building.id), add_months(today, -24))?;
            let next = monthly::duties_of(tx, building.id)?
                .into_iter()
                .filter_map(|(duty, rule)| {
                    let deadline = latest.get(&duty.id)?.next_deadline?;
                    Some(window(&rule, deadline))
                })
                .min_by_key(|w| w.last);
            found.push(RoundBuilding {
                outlets: outlets
                    .iter()
                    .filter(|o| o.building == building.id && o.ended_on.is_none())
                    .count(),
                last: rounds.first().map(|r| r.taken_on),
                next,
                open: open.get(&building.id).copied().unwrap_or(0),
                building,
            });
        }
        found.sort_by_key(|b| (b.next.map(|w| w.last), b.building.name.clone()));
        Ok(found)
    })
}

/// The buildings in reach that have no outlet on a round yet, by name.
pub fn buildings_without(world: &World, seat: &Seat) -> Result<Vec<BuildingCard>, Error> {
    seat.must_be(&super::KEEPERS)?;
    world.acting(seat, |tx| {
        let with_rounds = monthly::buildings_with_rounds(tx)?;
        let mut found = tx.buildings()?;
        found.retain(|b| !with_rounds.contains(&b.id) && seat.grant().reaches(b.id));
        Ok(found)
    })
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

/// A round with what is said of it.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn round_said(
    world: &World,
    seat: &Seat,
    (building, round): (BuildingId, TemperatureRoundId),
) -> Result<RoundSaid, Error> {
    seat.must_be(&WALKERS)?;
    let mut said = world.acting(seat, |tx| {
        seat.must_reach(building)?;
        let card = tx.building(building)?;
        let round = tx
            .temperature_rounds(Some(building), NaiveDate::default())?
            .into_iter()
            .find(|r| r.id == round)
            .ok_or(Error::NotFound("round"))?;
        let mut lines = Vec::new();
        for temperature in tx.temperatures_of(&[round.id], false)? {
            lines.push(SaidLine {
                what_to_do: said_of(&temperature)?.map_or("", |said| said.what_to_do),
                temperature,
            });
        }
        lines.sort_by_key(|l| std::cmp::Reverse(l.temperature.level));
        Ok::<_, Error>(RoundSaid {
            building: card,
            duties: duties_said(tx, &round)?,
            lines,
            round,
            by: String::new(),
        })
    })?;
    said.by = crate::door::names(world, &[said.round.taken_by])?
        .pop()
        .map_or_else(|| "the program".to_owned(), |(_, name)| name);
    Ok(said)
}

/// What the rule says of a temperature on record.
pub(super) fn said_of(temperature: &Temperature) -> Result<Option<OutletFinding>, Error> {
    let Some(temp) = temperature.temp_c else {
        return Ok(None);
    };
    judge_outlet(
        book()?,
        temperature.place.code(),
        temp,
        temperature.seconds_run.map(i64::from),
    )
    .map(Some)
    .map_err(|e| Error::Internal(e.to_string()))
}

/// What the round did to the dates of its duties.
fn duties_said(tx: &mut Tx<'_>, round: &TemperatureRound) -> Result<Vec<String>, Error> {
    let mut said = Vec::new();
    for (duty, rule) in monthly::duties_of(tx, round.building)? {
        let row = tx
            .completions_of(&[duty.id], false)?
            .into_iter()
            .rfind(|row| row.done_on == Some(round.taken_on));
        said.extend(row.map(|row| format!("{}: {}", rule.name, row.reason)));
    }
    Ok(said)
}
