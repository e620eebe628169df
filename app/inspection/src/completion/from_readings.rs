//! Fills the parts of a sheet that completion looks at from the readings of the visit, so that
//! nobody is asked twice.
use chrono::NaiveDate;

use super::{Cylinder, Electrical, Gas, Tmv};
use crate::expr::{Value, Values};
use crate::findings::VisitFindings;

fn yes_no(values: &Values, name: &str) -> Option<bool> {
    match values.get(name) {
        Value::Bool(answer) => Some(answer),
        _ => None,
    }
}

/// Gas and combustion: pressure (A8) and rate (A10) as judged at the visit, combustion as read.
/// `makers` are the maker's limits of row A6.
pub fn gas_part(
    found: &VisitFindings,
    readings: &Values,
    makers: Option<&Values>,
    analyser_calibrated_until: Option<NaiveDate>,
) -> Gas {
    let inside = |row: &str, good: &[&str]| {
        found
            .judged
            .get(row)
            .map(|code| good.contains(&code.as_str()))
    };
    let maker = |name: &str| makers.and_then(|m| m.number(name));
    Gas {
        working_pressure_ok: inside("A8", &["OK", "A8_HIGH_WATCH"]),
        gas_rate_ok: inside("A10", &["OK"]),
        co_ppm: readings.number("co_ppm"),
        co2_percent: readings.number("co2_percent"),
        maker_ratio_max: maker("ratio_max"),
        maker_co_max_ppm: maker("co_max_ppm"),
        analyser_calibrated_until,
        lawful_alternative: None,
    }
}

/// A cylinder: the tundish tells a hot discharge; whether the relief route was seen is asked.
pub fn cylinder_part(readings: &Values, relief_route_seen: Option<bool>) -> Cylinder {
    let hot_discharge = match readings.get("tundish") {
        Value::Text(found) => Some(found == "hot"),
        _ => None,
    };
    Cylinder {
        relief_route_seen,
        hot_discharge,
        cutout_proved: yes_no(readings, "cutout_proved"),
    }
}

/// A mixing valve on `outlet` (basin, shower, bath, bath_assisted, bidet).
pub fn tmv_part(readings: &Values, outlet: Option<&str>) -> Tmv {
    Tmv {
        outlet: outlet.map(str::to_owned),
        mix_c: readings.number("mix_c"),
        cold_shut_max_c: readings.number("cold_shut_max_c"),
        shut_off_fails: yes_no(readings, "shut_off_fails"),
    }
}

/// Electrical work: insulation as read, the rest asked.
pub fn electrical_part(
    readings: &Values,
    part_fitted: bool,
    isolated_and_proved_dead: Option<bool>,
) -> Electrical {
    Electrical {
        part_fitted: Some(part_fitted),
        isolated_and_proved_dead,
        mohm: readings.number("mohm"),
    }
}
