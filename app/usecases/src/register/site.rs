//! What options ask of a space: the facts of its site, each with its day and who said it.
use chrono::NaiveDate;
use serde_json::{Map, Value, json};
use store::Tx;
use terms::{AccountId, SpaceId};

use super::READERS;
use crate::{Error, Seat, World, door};

/// Facts told by yes or no; of those marked "after works" can be said too.
pub const TOLD: [(&str, bool); 12] = [
    ("gas_supply", false),
    ("gas_allowed", false),
    ("flue_route", true),
    ("condensate_route", false),
    ("discharge_route", false),
    ("heat_network", false),
    ("isolation_valve", false),
    ("reducer_fitted", false),
    ("supply_upgrade_possible", false),
    ("space_for_vessel", false),
    ("floor_carries", false),
    ("cistern_space", false),
];

/// Facts that are a number, from 0 to its most: bar, l/min, mm, mbar, kPa, °C, kW, litres, metres, people and baths.
pub const MEASURED: [(&str, f64); 13] = [
    ("static_bar", 20.0),
    ("dynamic_bar_at_12", 20.0),
    ("max_flow_lpm", 200.0),
    ("cold_pipe_mm", 108.0),
    ("gas_drop_mbar", 20.0),
    ("network_dp_kpa", 1000.0),
    ("network_flow_c", 130.0),
    ("electric_kw_spare", 100.0),
    ("electric_kw_needed", 100.0),
    ("space_litres", 2000.0),
    ("cistern_head_m", 50.0),
    ("people", 20.0),
    ("baths", 10.0),
];

/// A fact of a site as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteSaid {
    /// Its key.
    pub key: String,
    /// Since when it is so.
    pub on: NaiveDate,
    /// Who said it.
    pub by: String,
    /// What stood before it.
    pub before: Option<Value>,
}

/// Reads a fact as typed, not blank.
///
/// # Errors
/// The sentence why it cannot be.
pub(crate) fn read_fact(key: &str, typed: &str) -> Result<Value, String> {
    if let Some((_, most)) = MEASURED.iter().find(|(known, _)| *known == key) {
        let number: Option<f64> = typed.replace(',', ".").parse().ok();
        return number
            .filter(|n| n.is_finite() && (0.0..=*most).contains(n))
            .map(|n| json!(n))
            .ok_or_else(|| format!("“{typed}” is not a number between 0 and {most:.0}."));
    }
    let works = TOLD.iter().find(|(known, _)| *known == key);
    match (works, typed) {
        (Some(_), "yes" | "no") | (Some((_, true)), "works") => Ok(json!(typed)),
        (Some(_), _) => Err("Say yes or no.".to_owned()),
        (None, _) => Err("No option asks for this.".to_owned()),
    }
}

/// The site with these facts over it: null forgets one.
pub(super) fn laid_over(site: &Value, said: &Map<String, Value>) -> Map<String, Value> {
    let mut merged = site.as_object().cloned().unwrap_or_default();
    for (key, value) in said {
        if value.is_null() {
            merged.remove(key);
        } else {
            merged.insert(key.clone(), value.clone());
        }
    }
    merged
}

/// States facts of a space's site as of a day; what stood before stays readable. Answers what stood of those that
/// changed, nothing when none did.
pub(crate) fn state_site(
    tx: &mut Tx<'_>,
    space: SpaceId,
    said: &Map<String, Value>,
    on: NaiveDate,
) -> Result<Map<String, Value>, Error> {
    let mut card = tx.space(space)?;
    let merged = laid_over(&card.site, said);
    let stood = card.site.as_object().cloned().unwrap_or_default();
    if merged == stood {
        return Ok(Map::new());
    }
    let before = said
        .keys()
        .filter(|key| merged.get(*key) != stood.get(*key))
        .map(|key| {
            let was = stood.get(key).cloned().unwrap_or(Value::Null);
            (key.clone(), was)
        })
        .collect();
    card.site = Value::Object(merged);
    tx.state_space_as_of(space, &card, (None, on))?;
    Ok(before)
}

/// Since when each fact of a space's site is so, who said it, and what stood before.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn site_said(world: &World, seat: &Seat, space: SpaceId) -> Result<Vec<SiteSaid>, Error> {
    seat.must_be(&READERS)?;
    let rows = world.acting(seat, |tx| {
        let card = tx.space(space)?;
        seat.must_reach(card.building)?;
        Ok(tx.site_over_time(space)?)
    })?;
    let mut found: Vec<(SiteSaid, AccountId)> = Vec::new();
    let nothing = Map::new();
    let mut stood = &nothing;
    for row in &rows {
        let site = row.site.as_object().unwrap_or(&nothing);
        found.retain(|(said, _)| site.contains_key(&said.key));
        for (key, value) in site {
            if stood.get(key) == Some(value) {
                continue;
            }
            found.retain(|(said, _)| said.key != *key);
            let said = SiteSaid {
                key: key.clone(),
                on: row.on,
                by: String::new(),
                before: stood.get(key).cloned(),
            };
            found.push((said, row.recorded_by));
        }
        stood = site;
    }
    let ids: Vec<AccountId> = found.iter().map(|(_, by)| *by).collect();
    let names = door::names(world, &ids)?;
    let named = |by: AccountId| names.iter().find(|(id, _)| *id == by);
    Ok(found
        .into_iter()
        .map(|(said, by)| SiteSaid {
            by: named(by).map_or_else(|| "the program".to_owned(), |(_, name)| name.clone()),
            ..said
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fact_is_read_as_its_option_asks_for_it() {
        assert_eq!(read_fact("cold_pipe_mm", "22"), Ok(json!(22.0)));
        assert_eq!(read_fact("dynamic_bar_at_12", "1,4"), Ok(json!(1.4)));
        assert_eq!(read_fact("isolation_valve", "yes"), Ok(json!("yes")));
        assert_eq!(read_fact("flue_route", "works"), Ok(json!("works")));
        for (key, typed) in [
            ("cold_pipe_mm", "wide"),
            ("cold_pipe_mm", "-22"),
            ("cold_pipe_mm", "1e9"),
            ("discharge_route", "works"),
            ("discharge_route", "perhaps"),
            ("wallpaper", "yes"),
        ] {
            assert!(read_fact(key, typed).is_err(), "{key}: {typed}");
        }
    }

    #[test]
    fn null_forgets_and_the_rest_stays() {
        let site = json!({ "cold_pipe_mm": 15.0, "max_flow_lpm": 10.0, "people": 2.0 });
        let said = json!({ "cold_pipe_mm": 22.0, "max_flow_lpm": null });
        let said = said.as_object().unwrap();
        let merged = json!({ "cold_pipe_mm": 22.0, "people": 2.0 });
        assert_eq!(Value::Object(laid_over(&site, said)), merged);
        assert_eq!(
            Value::Object(laid_over(&Value::Null, said)),
            json!({ "cold_pipe_mm": 22.0 })
        );
    }
}
