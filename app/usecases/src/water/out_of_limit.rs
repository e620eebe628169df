//! Outlets whose last temperature is out of its limit, and what is done about each.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::calendar::add_months;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::{BuildingId, OutletId, Temperature, TemperatureRoundId};
use uuid::Uuid;

use super::WALKERS;
use super::said::said_of;
use crate::work::wall;
use crate::{Error, Seat, World};

/// One outlet whose last temperature is out of its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct OutOfLimit {
    /// Where.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The temperature.
    pub temperature: Temperature,
    /// What is done about it.
    pub what_to_do: &'static str,
}

/// What somebody did about a temperature, or plans.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StateAction {
    /// The temperature.
    pub temperature: Uuid,
    /// In words.
    pub words: String,
}

/// The last temperature of every outlet still on a round.
fn last_of_each(
    tx: &mut Tx<'_>,
    today: NaiveDate,
) -> Result<Vec<(BuildingId, Temperature)>, Error> {
    let live: BTreeMap<OutletId, BuildingId> = tx
        .outlets(None)?
        .into_iter()
        .filter(|o| o.ended_on.is_none())
        .map(|o| (o.id, o.building))
        .collect();
    let rounds = tx.temperature_rounds(None, add_months(today, -24))?;
    let ids: Vec<TemperatureRoundId> = rounds.iter().map(|r| r.id).collect();
    let mut last: BTreeMap<OutletId, Temperature> = BTreeMap::new();
    // Oldest first, so the newest stays; a place that was not read says nothing of its water.
    for row in tx.temperatures_of(&ids, false)? {
        if live.contains_key(&row.outlet) && row.temp_c.is_some() {
            last.insert(row.outlet, row);
        }
    }
    Ok(last
        .into_values()
        .filter(Temperature::is_out)
        .filter_map(|row| Some((*live.get(&row.outlet)?, row)))
        .collect())
}

/// How many readings wait for somebody to say what is done, by building.
pub(super) fn open_by_building(
    tx: &mut Tx<'_>,
    today: NaiveDate,
) -> Result<BTreeMap<BuildingId, usize>, Error> {
    let mut open = BTreeMap::new();
    for (building, row) in last_of_each(tx, today)? {
        if row.is_open() {
            *open.entry(building).or_default() += 1;
        }
    }
    Ok(open)
}

/// Outlets out of their limit in the seat's reach: those about which nobody said anything first, then the newest.
pub fn out_of_limit(world: &World, seat: &Seat) -> Result<Vec<OutOfLimit>, Error> {
    seat.must_be(&WALKERS)?;
    world.acting(seat, |tx| {
        let today = wall::day(tx.at());
        let names: BTreeMap<BuildingId, String> = tx
            .buildings()?
            .into_iter()
            .map(|b| (b.id, b.name))
            .collect();
        let mut found = Vec::new();
        for (building, temperature) in last_of_each(tx, today)? {
            if seat.grant().reaches(building) {
                found.push(OutOfLimit {
                    building,
                    building_name: names.get(&building).cloned().unwrap_or_default(),
                    what_to_do: said_of(&temperature)?.map_or("", |said| said.what_to_do),
                    temperature,
                });
            }
        }
        found.sort_by_key(|o| {
            (
                !o.temperature.is_open(),
                std::cmp::Reverse(o.temperature.on),
                o.building_name.clone(),
            )
        });
        Ok(found)
    })
}

/// States what was done about a temperature out of its limit, or is planned; what was said before stays readable.
///
/// # Errors
/// [`Error::Invalid`] at `a.TEMPERATURE`; [`Error::Conflict`] when somebody wrote about it in between.
pub fn state_action(
    world: &World,
    seat: &Seat,
    (building, form): (BuildingId, StateAction),
    once: &str,
) -> Result<TemperatureRoundId, Error> {
    seat.must_be(&WALKERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(building, &form), |tx| {
            seat.must_reach(building)?;
            tx.building(building)?;
            let ids: Vec<TemperatureRoundId> = tx
                .temperature_rounds(Some(building), NaiveDate::default())?
                .iter()
                .map(|r| r.id)
                .collect();
            let row = tx
                .temperatures_of(&ids, true)?
                .into_iter()
                .find(|t| t.id == form.temperature)
                .ok_or(Error::NotFound("temperature"))?;
            let words = form.words.trim();
            if words.is_empty() {
                let field = format!("a.{}", form.temperature);
                return Err(Error::field(field, "Say what was done, or what is planned."));
            }
            if tx.supersede_temperature(row.id)? == 0 {
                return Err(Error::Conflict(
                    "Somebody wrote about this temperature before you. Nothing was changed by you."
                        .to_owned(),
                ));
            }
            tx.add_temperature(&Temperature {
                action: words.to_owned(),
                ..row.clone()
            })?;
            tx.note(
                "action on a temperature",
                &format!("building {building}"),
                &json!({ "outlet": row.outlet, "on": row.on, "temp_c": row.temp_c, "action": words }),
            );
            Ok(row.round)
        })
    })
}
