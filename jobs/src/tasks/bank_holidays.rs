//! Bank holidays from an open list at an address the owner configured. Never required: when it does not answer, the
//! shipped table stands.
use std::collections::BTreeMap;
use std::io::Read;
use std::time::Duration;

use chrono::{Datelike, NaiveDate};
use serde::Deserialize;
use terms::Country;
use usecases::World;
use usecases::bank_holidays::keep_bank_holidays;

use super::Trouble;

/// The longest answer read, in bytes.
const LONGEST: u64 = 256 * 1024;
/// How long the other side may take.
const PATIENCE: Duration = Duration::from_secs(5);

#[derive(Deserialize)]
struct Division {
    events: Vec<Event>,
}

#[derive(Deserialize)]
struct Event {
    title: String,
    date: NaiveDate,
}

pub(super) fn run(world: &World, url: Option<&str>) -> Result<String, Trouble> {
    let Some(url) = url else {
        return Ok("no address is set: the shipped table stands".to_owned());
    };
    match fetch(url) {
        Ok(list) => keep(world, &list, url),
        Err(why) => Ok(format!("not read ({why}): the table known so far stands")),
    }
}

/// Asks once, follows nowhere, reads at most [`LONGEST`].
fn fetch(url: &str) -> Result<BTreeMap<String, Division>, String> {
    if !url.starts_with("https://") && !url.starts_with("http://") {
        return Err("the address is neither https nor http".to_owned());
    }
    // reqwest is built without a provider of cryptography, which it would otherwise compile a second one for; the
    // program has chosen this one already, and then choosing again changes nothing.
    let _chosen_before = rustls::crypto::ring::default_provider().install_default();
    let client = reqwest::blocking::Client::builder()
        .timeout(PATIENCE)
        .redirect(reqwest::redirect::Policy::none())
        .build()
        .map_err(|e| e.to_string())?;
    let answer = client.get(url).send().map_err(|e| e.to_string())?;
    if !answer.status().is_success() {
        return Err(format!("it answered {}", answer.status()));
    }
    let mut body = Vec::new();
    answer
        .take(LONGEST + 1)
        .read_to_end(&mut body)
        .map_err(|e| e.to_string())?;
    if body.len() as u64 > LONGEST {
        return Err(format!("the list is longer than {} KB", LONGEST / 1024));
    }
    serde_json::from_slice(&body).map_err(|e| format!("it is not the list expected: {e}"))
}

fn keep(world: &World, list: &BTreeMap<String, Division>, url: &str) -> Result<String, Trouble> {
    let mut new = 0;
    for (division, countries) in [
        ("england-and-wales", &[Country::England, Country::Wales][..]),
        ("northern-ireland", &[Country::NorthernIreland][..]),
        ("scotland", &[Country::Scotland][..]),
    ] {
        let days: Vec<(NaiveDate, String)> = list
            .get(division)
            .map_or(&[][..], |d| d.events.as_slice())
            .iter()
            .filter(|e| (2000..2100).contains(&e.date.year()))
            .map(|e| (e.date, e.title.trim().chars().take(100).collect()))
            .collect();
        if days.is_empty() {
            continue;
        }
        for &country in countries {
            new += keep_bank_holidays(world, country, &days, url)?;
        }
    }
    Ok(format!("{new} days added"))
}
