//! Which unit stands where in the demo, when it was truly fitted, and what the register knows of that.
use chrono::{Datelike, Days, NaiveDate};
use terms::UsedAs;
use terms::place::SpaceCard;
use usecases::register::UnitFacts;

use crate::simulate::Dice;

/// A unit to be: where, what, and how its block treats it.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The space.
    pub space: SpaceCard,
    /// The kind.
    pub kind: &'static str,
    /// The true day it was fitted.
    pub fitted: NaiveDate,
    /// The block's factor on its faults.
    pub block: f64,
    /// What the register is told.
    pub facts: UnitFacts,
}

/// Factor of each block on the faults of its units.
pub fn block_factor(code: &str) -> f64 {
    match code {
        "SH" => 1.25,
        "BT" => 0.90,
        _ => 1.05,
    }
}

/// The number of "Flat 17"; 0 for what is no flat.
pub fn flat_number(space: &SpaceCard) -> u32 {
    space
        .name
        .strip_prefix("Flat ")
        .and_then(|n| n.parse().ok())
        .unwrap_or(0)
}

/// What stands in the spaces of a block. `today` is the day the demo is made.
pub fn plans(dice: &mut Dice, code: &str, spaces: &[SpaceCard], today: NaiveDate) -> Vec<Plan> {
    let mut plans = Vec::new();
    for space in spaces {
        let kinds: Vec<&'static str> = match (code, space.used_as) {
            ("SH", UsedAs::Flat) if flat_number(space).is_multiple_of(2) => vec!["CB", "WT"],
            ("SH", UsedAs::Flat) => vec!["CB"],
            ("BT", UsedAs::Flat) => vec!["HIU"],
            ("BT", UsedAs::Plant) => vec!["PB", "PB", "PB", "PX", "PX", "CP", "CP", "PS"],
            ("MM", UsedAs::Flat) if flat_number(space) > 12 => vec!["VC", "TMV"],
            ("MM", UsedAs::Flat) => vec!["TS", "TMV"],
            ("SH" | "MM", UsedAs::Roof) => vec!["CT"],
            _ => Vec::new(),
        };
        for kind in kinds {
            let fitted = fitted(dice, code, kind, flat_number(space), today);
            let facts = facts(dice, code, kind, fitted, today);
            plans.push(Plan {
                space: space.clone(),
                kind,
                fitted,
                block: block_factor(code),
                facts,
            });
        }
    }
    plans
}

fn years_ago(dice: &mut Dice, today: NaiveDate, from: i64, to: i64) -> NaiveDate {
    today - Days::new((dice.between(from * 365, to * 365)).unsigned_abs())
}

fn fitted(dice: &mut Dice, code: &str, kind: &str, flat: u32, today: NaiveDate) -> NaiveDate {
    match (code, kind) {
        // The top floor got its boilers in one summer, long ago; the rest came one by one.
        ("SH", "CB") if flat > 40 => years_ago(dice, today, 14, 15),
        // The flat of the story: old enough to have a past, young enough to be worth a thought.
        ("SH", "CB") if flat == 17 => today - Days::new(13 * 365 + 40),
        ("SH", "CB") => years_ago(dice, today, 3, 13),
        ("SH", "WT") => years_ago(dice, today, 2, 8),
        ("BT", _) => years_ago(dice, today, 12, 13),
        ("MM", "VC") => years_ago(dice, today, 24, 28),
        ("MM", "TS") => years_ago(dice, today, 5, 20),
        _ => years_ago(dice, today, 4, 18),
    }
}

fn facts(
    dice: &mut Dice,
    code: &str,
    kind: &str,
    fitted: NaiveDate,
    today: NaiveDate,
) -> UnitFacts {
    // One date in eight is unknown, one in six is a range of years.
    let installed = match dice.between(1, 48) {
        1..=6 if code != "BT" => None,
        7..=14 => {
            let from = NaiveDate::from_ymd_opt(fitted.year() - 1, 1, 1).unwrap_or(fitted);
            let until = NaiveDate::from_ymd_opt(fitted.year() + 1, 12, 31).unwrap_or(fitted);
            Some((from, until.min(today)))
        }
        _ => Some((fitted, fitted)),
    };
    let rated_kw = match kind {
        "CB" => dice.pick(&[24.0, 28.0, 30.0]).copied(),
        "HIU" => Some(45.0),
        "PB" => Some(150.0),
        _ => None,
    };
    let litres = match kind {
        "TS" => dice.pick(&[150.0, 180.0, 210.0]).copied(),
        "VC" => Some(120.0),
        "CT" => Some(4500.0),
        _ => None,
    };
    let letters = ["A", "B", "C", "D", "E", "F", "G", "H", "J", "K"];
    let letter = dice.pick(&letters).copied().unwrap_or("A");
    let serial = format!(
        "{letter}{}-{:05}",
        fitted.year() % 100,
        dice.between(1, 99_999)
    );
    UnitFacts {
        kind: kind.to_owned(),
        serial: if dice.chance(0.1) {
            String::new()
        } else {
            serial
        },
        installed,
        rated_kw,
        litres,
        filter_fitted: matches!(kind, "CB" | "TS").then(|| dice.chance(0.55)),
        reducer_fitted: matches!(kind, "CB" | "TS" | "HIU").then(|| dice.chance(0.5)),
        warranty_until: None,
        note: String::new(),
    }
}

/// What a resident loses when a part fails.
pub fn function_lost(kind: &str, part: Option<&str>) -> &'static str {
    let Some(part) = part else { return "heating" };
    let says = |words: &[&str]| words.iter().any(|w| part.contains(w));
    match kind {
        _ if says(&["leak", "relief", "gasket", "body", "overflow", "float"]) => "leak",
        "TS" | "VC" | "UV" | "TMV" => "hot_water",
        _ if says(&["diverter", "dhw", "flow_sensor", "hw_"]) => "hot_water",
        _ if says(&["pump", "room_controls", "heat_valve", "motor"]) => "heating",
        _ => "heating_and_hot_water",
    }
}

/// The duties a yearly visit to a unit of this kind meets, by rule.
pub fn met_at_service(kind: &str) -> &'static [&'static str] {
    match kind {
        "CB" => &["G1", "G4", "H1"],
        "HIU" => &["N5"],
        "TS" => &["Y2", "H1"],
        "VC" => &["Y3"],
        "CP" => &["Y4"],
        "PX" => &["Y5"],
        "PB" => &["G5", "P3", "H5"],
        "PS" => &["P3"],
        "CT" => &["L7", "L6"],
        "TMV" => &["V2"],
        "WT" => &["H2", "H3", "H4"],
        _ => &[],
    }
}

/// How finely an instrument of the trade shows a quantity: steps to one unit of measure (common practice, no source).
fn steps_a_unit(unit: &str) -> f64 {
    match unit {
        "ppm" | "l/h" | "kPa" | "s" => 1.0,
        _ => 10.0,
    }
}

/// Checks that fall between two services: rule and how many months apart.
pub fn met_between(kind: &str) -> &'static [(&'static str, u32)] {
    match kind {
        "CT" => &[("L6", 6)],
        "PB" => &[("H5", 3)],
        _ => &[],
    }
}

/// The values an engineer writes down at a service, within their limits: code, value, unit of measure.
pub fn readings(dice: &mut Dice, kind: &str) -> Vec<(String, f64, String)> {
    let mut list: Vec<(&str, f64, f64, &str)> = Vec::new();
    match kind {
        "CB" => list.extend([
            ("working_mbar", 19.0, 21.0, "mbar"),
            ("co_ppm", 15.0, 90.0, "ppm"),
            ("co2_percent", 8.7, 9.4, "%"),
            ("flow_c", 70.0, 76.0, "°C"),
            ("return_c", 53.0, 60.0, "°C"),
            ("cold_c", 9.0, 12.0, "°C"),
            ("hot_c", 47.0, 50.0, "°C"),
            ("flow_lpm", 9.4, 11.5, "l/min"),
            ("cold_bar", 1.1, 1.5, "bar"),
            ("hot_bar", 1.7, 2.3, "bar"),
            ("charge_bar", 0.72, 0.8, "bar"),
            ("inhibitor_ppm", 900.0, 1400.0, "ppm"),
        ]),
        "HIU" => list.extend([
            ("prim_flow_c", 67.0, 71.0, "°C"),
            ("prim_return_draw_c", 22.0, 29.0, "°C"),
            ("prim_return_idle_c", 36.0, 44.0, "°C"),
            ("prim_flow_idle_l_h", 10.0, 28.0, "l/h"),
            ("dp_kpa", 42.0, 110.0, "kPa"),
            ("hot_c_45s", 48.0, 53.0, "°C"),
            ("flow_lpm", 10.0, 12.5, "l/min"),
            ("seconds_to_45", 18.0, 42.0, "s"),
            ("cold_bar", 1.1, 1.5, "bar"),
        ]),
        "TS" => list.extend([
            ("store_top_c", 71.0, 76.0, "°C"),
            ("store_bottom_c", 48.0, 60.0, "°C"),
            ("hot_c", 50.0, 55.0, "°C"),
            ("flow_lpm", 11.0, 14.0, "l/min"),
            ("cold_c", 9.0, 12.0, "°C"),
            ("blended_c", 46.0, 48.0, "°C"),
            ("mohm", 5.0, 60.0, "MΩ"),
        ]),
        "VC" => list.extend([("stored_c", 61.5, 64.5, "°C"), ("tap_c", 53.0, 58.0, "°C")]),
        "CT" => list.extend([
            ("inlet_c", 11.0, 17.0, "°C"),
            ("remote_c", 12.0, 18.0, "°C"),
        ]),
        "TMV" => list.extend([
            ("hot_c", 56.0, 61.0, "°C"),
            ("cold_c", 9.0, 13.0, "°C"),
            ("mix_c", 40.4, 41.6, "°C"),
        ]),
        _ => {}
    }
    list.into_iter()
        .map(|(code, low, high, unit)| {
            let steps = steps_a_unit(unit);
            let value = (dice.within(low, high) * steps).round() / steps;
            (code.to_owned(), value, unit.to_owned())
        })
        .collect()
}
