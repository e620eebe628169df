//! A unit as a row states it: new, or the register's with what the row says, and what differs then.
use chrono::NaiveDate;
use terms::unit::UnitCard;
use terms::{Fate, UnitId};
use uuid::Uuid;

use super::Read;
use crate::import::fields::Field;
use crate::import::known::serial_key;
use crate::import::problem::Change;
use crate::import::row::Reading;

/// A unit new to the register.
pub(super) fn new_card(with: Reading<'_>, read: Read<'_>) -> UnitCard {
    let installed = read.fitted.map(|s| (s.from, s.until));
    let watched = read.watched.map_or(with.known.today, |s| s.until);
    UnitCard {
        id: UnitId(Uuid::nil()),
        number: read.number,
        kind: read.kind,
        serial: read.serial,
        installed,
        rated_kw: read.kw,
        litres: read.litres,
        filter_fitted: read.filter,
        reducer_fitted: read.reducer,
        warranty_until: read.warranty.map(|s| s.until),
        fate: Fate::InService,
        fate_on: None,
        note: read.note,
        space: read.space.id,
        space_name: read.space.name.clone(),
        building: read.space.building,
        building_name: read.space.building_name.clone(),
        placed_from: installed.filter(|i| i.0 == i.1).map(|i| i.0),
        // Nobody watched a unit before it was there.
        watched_from: installed.map_or(watched, |i| watched.max(i.0)),
        hardness_mg_l: None,
    }
}

/// The unit with what the row says of it; an empty cell erases nothing.
pub(super) fn restated(unit: &UnitCard, read: &Read<'_>) -> UnitCard {
    let installed = read.fitted.map(|s| (s.from, s.until)).or(unit.installed);
    let watched = read.watched.map_or(unit.watched_from, |s| s.until);
    let or = |said: &str, known: &str| {
        if said.is_empty() {
            known.to_owned()
        } else {
            said.to_owned()
        }
    };
    let serial = if serial_key(&read.serial) == serial_key(&unit.serial) {
        unit.serial.clone()
    } else {
        or(&read.serial, &unit.serial)
    };
    UnitCard {
        serial,
        installed,
        rated_kw: read.kw.or(unit.rated_kw),
        litres: read.litres.or(unit.litres),
        filter_fitted: read.filter.or(unit.filter_fitted),
        reducer_fitted: read.reducer.or(unit.reducer_fitted),
        warranty_until: read.warranty.map(|s| s.until).or(unit.warranty_until),
        note: or(&read.note, &unit.note),
        watched_from: installed.map_or(watched, |i| watched.max(i.0)),
        ..unit.clone()
    }
}

pub(super) fn differences(old: &UnitCard, new: &UnitCard, row: u32) -> Vec<Change> {
    let yes = |v: Option<bool>| match v {
        Some(true) => "yes".to_owned(),
        Some(false) => "no".to_owned(),
        None => String::new(),
    };
    let span = |i: Option<(NaiveDate, NaiveDate)>| match i {
        Some((from, until)) if from == until => from.to_string(),
        Some((from, until)) => format!("{from} to {until}"),
        None => String::new(),
    };
    let number = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    let day = |d: Option<NaiveDate>| d.map_or_else(String::new, |d| d.to_string());
    [
        (Field::Serial, old.serial.clone(), new.serial.clone()),
        (Field::Fitted, span(old.installed), span(new.installed)),
        (Field::RatedKw, number(old.rated_kw), number(new.rated_kw)),
        (Field::Litres, number(old.litres), number(new.litres)),
        (
            Field::Filter,
            yes(old.filter_fitted),
            yes(new.filter_fitted),
        ),
        (
            Field::Reducer,
            yes(old.reducer_fitted),
            yes(new.reducer_fitted),
        ),
        (
            Field::WarrantyUntil,
            day(old.warranty_until),
            day(new.warranty_until),
        ),
        (
            Field::WatchedFrom,
            old.watched_from.to_string(),
            new.watched_from.to_string(),
        ),
        (Field::Note, old.note.clone(), new.note.clone()),
    ]
    .into_iter()
    .filter(|(_, was, says)| was != says)
    .map(|(field, was, says)| Change {
        row,
        unit: old.number.clone(),
        field,
        old: was,
        new: says,
    })
    .collect()
}
