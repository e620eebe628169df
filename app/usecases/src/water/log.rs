//! The water temperature log: every temperature of some months with what the record asks, and every gap named.
use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use inspection::calendar::{add_months, date_words};
use inspection::duties::keep_water_log;
use inspection::records::{RecordKind, missing};
use serde_json::json;
use terms::place::BuildingCard;
use terms::{AccountId, Role, Temperature, TemperatureRound, TemperatureRoundId};

use super::round::book;
use crate::work::wall;
use crate::{Error, Seat, World};

/// One line of the log.
#[derive(Clone, Debug, PartialEq)]
pub struct LogRow {
    /// The temperature.
    pub temperature: Temperature,
    /// The thermometer it was taken with.
    pub thermometer: String,
    /// Last day of its calibration.
    pub calibrated_until: Option<NaiveDate>,
    /// Who took it.
    pub by: String,
}

/// One month of the log.
#[derive(Clone, Debug, PartialEq)]
pub struct LogMonth {
    /// Its first day.
    pub first: NaiveDate,
    /// Its lines in the order taken; empty when no round was taken.
    pub rows: Vec<LogRow>,
}

/// The log of a building.
#[derive(Clone, Debug)]
pub struct WaterLog {
    /// The building.
    pub building: BuildingCard,
    /// The estate.
    pub estate_name: String,
    /// The months, newest first.
    pub months: Vec<LogMonth>,
    /// What the record lacks, a sentence each; empty when nothing.
    pub gaps: Vec<String>,
    /// Until when the oldest line has to be kept: a legal floor.
    pub keep_until: Option<NaiveDate>,
    /// The day it is made on.
    pub today: NaiveDate,
}

/// The log of a building over its last `months`, this one included (1 to 60).
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn water_log(
    world: &World,
    seat: &Seat,
    building: terms::BuildingId,
    months: u32,
) -> Result<WaterLog, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord, Role::Site])?;
    let months = i32::try_from(months.clamp(1, 60)).unwrap_or(12);
    let today = wall::day(world.now());
    let this_month = today.with_day(1).unwrap_or(today);
    let first = add_months(this_month, 1 - months);
    let (card, rounds, temperatures) = world.acting(seat, |tx| {
        seat.must_reach(building)?;
        let card = tx.building(building)?;
        let rounds = tx.temperature_rounds(Some(building), first)?;
        let ids: Vec<TemperatureRoundId> = rounds.iter().map(|r| r.id).collect();
        let temperatures = tx.temperatures_of(&ids, false)?;
        Ok::<_, Error>((card, rounds, temperatures))
    })?;
    let who: Vec<AccountId> = rounds.iter().map(|r| r.taken_by).collect();
    let names: BTreeMap<AccountId, String> = crate::door::names(world, &who)?.into_iter().collect();
    let rows = rows(&rounds, temperatures, &names);
    let gaps = gaps(&rows)?;
    let months: Vec<LogMonth> = (0..months)
        .map(|back| {
            let first = add_months(this_month, -back);
            LogMonth {
                first,
                rows: rows
                    .iter()
                    .filter(|r| same_month(r.temperature.on, first))
                    .cloned()
                    .collect(),
            }
        })
        .collect();
    Ok(WaterLog {
        building: card,
        estate_name: seat.estate_name().to_owned(),
        keep_until: rows
            .iter()
            .map(|r| r.temperature.on)
            .min()
            .and_then(|made_on| keep_water_log(made_on).keep_until),
        months,
        gaps,
        today,
    })
}

fn same_month(day: NaiveDate, first: NaiveDate) -> bool {
    (day.year(), day.month()) == (first.year(), first.month())
}

fn rows(
    rounds: &[TemperatureRound],
    temperatures: Vec<Temperature>,
    names: &BTreeMap<AccountId, String>,
) -> Vec<LogRow> {
    let by_id: BTreeMap<TemperatureRoundId, &TemperatureRound> =
        rounds.iter().map(|r| (r.id, r)).collect();
    temperatures
        .into_iter()
        .filter_map(|temperature| {
            let round = by_id.get(&temperature.round)?;
            let name = names.get(&round.taken_by);
            Some(LogRow {
                temperature,
                thermometer: round.thermometer.clone(),
                calibrated_until: round.calibrated_until,
                by: name.map_or_else(|| "the program".to_owned(), Clone::clone),
            })
        })
        .collect()
}

/// What the record lacks by the rule of the trade's list, each path as a sentence.
fn gaps(rows: &[LogRow]) -> Result<Vec<String>, Error> {
    let record = json!({
        "rows": rows.iter().map(|r| {
            let t = &r.temperature;
            json!({
                "on": t.on, "outlet": t.outlet_name, "place": t.place.code(), "temp_c": t.temp_c,
                "seconds_run": seconds(t), "instrument": r.thermometer, "taken_by": r.by, "action": t.action,
            })
        }).collect::<Vec<_>>(),
    });
    let record = record.as_object().cloned().unwrap_or_default();
    let paths = missing(book()?, RecordKind::WaterTemperatureLog, &record)
        .map_err(|e| Error::Internal(e.to_string()))?;
    Ok(paths.iter().map(|path| gap(path, rows)).collect())
}

/// A store is read at its pipe, where nothing runs: no seconds is nought there.
fn seconds(t: &Temperature) -> Option<i32> {
    use terms::OutletPlace::{StoreOutflow, StoreReturn};
    match t.place {
        StoreOutflow | StoreReturn => Some(t.seconds_run.unwrap_or(0)),
        _ => t.seconds_run,
    }
}

fn gap(path: &str, rows: &[LogRow]) -> String {
    let found = path
        .strip_prefix("rows[")
        .and_then(|rest| rest.split_once("]."))
        .and_then(|(n, name)| Some((rows.get(n.parse::<usize>().ok()?)?, name)));
    let Some((row, name)) = found else {
        return "No temperature is on record in these months.".to_owned();
    };
    let what = match name {
        "temp_c" => "the temperature",
        "seconds_run" => "how long the water ran",
        "instrument" => "the thermometer",
        "taken_by" => "who took it",
        "action" => "what was done about it",
        "outlet" => "the name of the outlet",
        _ => "an entry",
    };
    format!(
        "{}, {}: {what} is not on record.",
        date_words(row.temperature.on),
        row.temperature.outlet_name
    )
}
