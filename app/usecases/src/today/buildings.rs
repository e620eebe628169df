//! One strip a building: its troubles, what is due there, what its kinds are expected to do, its thumbnail.
use std::collections::BTreeMap;

use chrono::TimeDelta;
use store::Tx;
use terms::place::{BuildingCard, SpaceCard};
use terms::today::{BuildingToday, Due, Expected, ThumbStorey, Today};
use terms::{SpaceId, UsedAs};

use super::{Desk, Names};
use crate::Error;
use crate::forecast::{self, LEAST_FAILURES};

pub(super) fn read(
    desk: &Desk<'_>,
    tx: &mut Tx<'_>,
    names: &Names,
    today: &mut Today,
) -> Result<(), Error> {
    let spaces = tx.spaces(None)?;
    let mut cards = tx.buildings()?;
    cards.retain(|card| desk.reaches(card.id));
    cards.sort_by(|a, b| a.name.cmp(&b.name));
    for card in cards {
        let own: Vec<&SpaceCard> = spaces.iter().filter(|s| s.building == card.id).collect();
        let strip = BuildingToday {
            expected: expected(tx, names, &card)?,
            storeys: storeys(tx, &card, &own, today)?,
            ..counts(desk, &card, &own, today)
        };
        today.buildings.push(strip);
    }
    Ok(())
}

fn counts(
    desk: &Desk<'_>,
    card: &BuildingCard,
    spaces: &[&SpaceCard],
    today: &Today,
) -> BuildingToday {
    let here: Vec<&Due> = today
        .due
        .iter()
        .filter(|d| d.place.building == card.id)
        .collect();
    let fortnight = desk.day + TimeDelta::days(14);
    let count = |test: &dyn Fn(&Due) -> bool| here.iter().filter(|d| test(d)).count() as u32;
    BuildingToday {
        building: card.id,
        name: card.name.clone(),
        flats: spaces.iter().filter(|s| s.used_as == UsedAs::Flat).count() as u32,
        built_year: card.built_year,
        troubled: today
            .troubles
            .iter()
            .filter(|t| t.place.building == card.id)
            .count() as u32
            + in_outages(card, today).count() as u32,
        unsafe_units: today
            .unsafe_units
            .iter()
            .filter(|u| u.place.building == card.id)
            .count() as u32,
        late: count(&|d| d.deadline < desk.day),
        soon: count(&|d| d.deadline >= desk.day && d.deadline <= fortnight),
        next_deadline: here.iter().map(|d| d.deadline).find(|d| *d > fortnight),
        expected: Vec::new(),
        storeys: Vec::new(),
    }
}

/// The homes of the building's outages, by name.
fn in_outages<'a>(card: &'a BuildingCard, today: &'a Today) -> impl Iterator<Item = &'a String> {
    today
        .outages
        .iter()
        .filter(move |outage| outage.place.building == card.id)
        .flat_map(|outage| &outage.spaces)
}

/// Only for kinds whose own record can bear a number.
fn expected(tx: &mut Tx<'_>, names: &Names, card: &BuildingCard) -> Result<Vec<Expected>, Error> {
    Ok(forecast::totals_of_building(tx, card.id)?
        .into_iter()
        .filter(|total| total.kind_failures >= LEAST_FAILURES)
        .map(|total| Expected {
            plural: names.plural(&total.kind),
            units: total.units as u32,
            failures: total.season.expected,
            range: total.season.count80,
            kind_failures: u32::try_from(total.kind_failures).unwrap_or(0),
        })
        .collect())
}

fn storeys(
    tx: &mut Tx<'_>,
    card: &BuildingCard,
    spaces: &[&SpaceCard],
    today: &Today,
) -> Result<Vec<ThumbStorey>, Error> {
    let mut wrong: BTreeMap<SpaceId, &str> = BTreeMap::new();
    for unit in &today.unsafe_units {
        wrong.extend(unit.place.space.map(|s| (s, "unsafe or isolated")));
    }
    for trouble in &today.troubles {
        wrong.extend(trouble.place.space.map(|s| (s, "no heat or hot water")));
    }
    for name in in_outages(card, today) {
        let home = spaces.iter().find(|s| s.name == *name);
        wrong.extend(home.map(|s| (s.id, "no heat or hot water")));
    }
    let mut storeys = Vec::new();
    for level in tx.levels_of(card.id)? {
        let mut flats: Vec<&&SpaceCard> = spaces
            .iter()
            .filter(|s| s.level == level.id && s.used_as == UsedAs::Flat)
            .collect();
        flats.sort_by_key(|s| s.place);
        if !flats.is_empty() {
            storeys.push(ThumbStorey {
                label: level.label,
                flats: flats
                    .into_iter()
                    .map(|s| (s.name.clone(), wrong.get(&s.id).map(|w| (*w).to_owned())))
                    .collect(),
            });
        }
    }
    Ok(storeys)
}
