//! Whether the size of an option would do for whoever lives there. Draws and sizes are common practice, no source; a
//! survey decides.
use inspection::formulas::evaluate;
use inspection::{InspectionError, RuleBook, Values};
use serde_json::json;

use crate::Error;

/// A shower: litres drawn and its temperature; a bath; a kitchen draw.
const SHOWER: (f64, f64) = (45.0, 40.0);
const BATH: (f64, f64) = (100.0, 40.0);
const KITCHEN: (f64, f64) = (10.0, 50.0);
/// Flow of a shower and of a basin, l/min.
const OUTLETS: (f64, f64) = (9.0, 5.0);
/// Rise from the cold main to the outlet of an instant heater, K.
const RISE: f64 = 35.0;
/// Speed in a copper pipe from which noise is heard, m/s.
const SPEED: f64 = 2.0;
/// The cold main, °C.
const COLD: f64 = 10.0;

/// A vessel: litres, its temperature, the least that is useful, share usable, reheat in kW.
type Vessel = (f64, f64, f64, f64, f64);

/// What is fitted when nobody stated a size.
fn vessel(option: &str) -> Option<Vessel> {
    match option {
        "TS" => Some((180.0, 75.0, 50.0, 0.9, 6.0)),
        "UV" => Some((150.0, 60.0, 40.0, 0.9, 3.0)),
        "VC" => Some((120.0, 60.0, 40.0, 0.75, 3.0)),
        _ => None,
    }
}

/// Output of an instant heater when nobody stated it, kW.
fn instant_kw(option: &str) -> Option<f64> {
    match option {
        "CB" => Some(28.0),
        "EB" => Some(9.0),
        "HIU" => Some(35.0),
        _ => None,
    }
}

/// Sentences on the size of an option.
///
/// # Errors
/// A formula of the rule book that cannot be worked out.
pub(super) fn sizing(rules: &RuleBook, site: &Values, option: &str) -> Result<Vec<String>, Error> {
    if vessel(option).is_none() && instant_kw(option).is_none() {
        return Ok(Vec::new());
    }
    let Some(people) = site.number("people").filter(|n| *n > 0.0) else {
        return Ok(vec![
            "Its size is not reckoned: how many people live there is not known.".to_owned(),
        ]);
    };
    let baths = site.number("baths").unwrap_or(0.0);
    let reckoned = match vessel(option) {
        Some(vessel) => store(rules, (people, baths), vessel),
        None => instant(rules, people, instant_kw(option).unwrap_or_default()),
    };
    let mut said = vec![reckoned.map_err(|e| Error::Internal(e.to_string()))?];
    if option != "VC" {
        said.push(pipe(rules, demand(people)).map_err(|e| Error::Internal(e.to_string()))?);
    }
    Ok(said)
}

/// The outlets that may be open at once, l/min: a shower, and with three people or more a basin beside it.
fn demand(people: f64) -> Vec<f64> {
    if people >= 3.0 {
        vec![OUTLETS.0, OUTLETS.1]
    } else {
        vec![OUTLETS.0]
    }
}

fn store(
    rules: &RuleBook,
    (people, baths): (f64, f64),
    (litres, store_c, least_c, share, reheat): Vessel,
) -> Result<String, InspectionError> {
    let draw = |count: f64, (litres, at): (f64, f64)| json!({"count": count, "litres": litres, "at_c": at});
    let inputs = json!({
        "draws": [draw(people, SHOWER), draw(baths.min(1.0), BATH), draw(2.0, KITCHEN)],
        "cold_c": COLD, "volume_l": litres, "store_c": store_c, "least_useful_c": least_c,
        "usable_share": share, "reheat_kw": reheat,
    });
    let values = inputs
        .as_object()
        .map(Values::from_json)
        .unwrap_or_default();
    let found = evaluate(rules, "size.peak_hour", &values)?;
    let number = |name: &str| found.number(name).unwrap_or_default();
    let least = number("least_volume_l");
    let verdict = if litres >= least {
        "enough"
    } else {
        "too small"
    };
    Ok(format!(
        "The busiest hour of {people:.0} there needs {:.1} kWh; {litres:.0} l at {store_c:.0} °C with {reheat:.0} kW of reheat have {:.1}: {verdict}, {least:.0} l are the least.",
        number("need_kwh"),
        number("available_kwh"),
    ))
}

fn instant(rules: &RuleBook, people: f64, kw: f64) -> Result<String, InspectionError> {
    let inputs = json!({"rated_kw": kw, "rise_k": RISE, "outlets_lpm": demand(people)});
    let values = inputs
        .as_object()
        .map(Values::from_json)
        .unwrap_or_default();
    let found = evaluate(rules, "size.instant", &values)?;
    let number = |name: &str| found.number(name).unwrap_or_default();
    let (flow, wanted) = (number("flow_lpm"), number("demand_lpm"));
    let verdict = if flow >= wanted {
        "enough"
    } else {
        "too little"
    };
    Ok(format!(
        "{kw:.0} kW give {flow:.1} l/min at a rise of {RISE:.0} K, and {people:.0} there want {wanted:.0} l/min at once: {verdict}; {:.0} kW would do.",
        number("kw_for_demand")
    ))
}

fn pipe(rules: &RuleBook, outlets: Vec<f64>) -> Result<String, InspectionError> {
    let flow: f64 = outlets.iter().sum::<f64>().max(12.0);
    let values = Values::new()
        .with("flow_lpm", flow)
        .with("limit_m_s", SPEED);
    let found = evaluate(rules, "size.pipe", &values)?;
    Ok(match found.number("smallest_mm") {
        Some(mm) => format!(
            "By speed alone {mm:.0} mm of copper would do for {flow:.0} l/min (under {SPEED:.0} m/s); what the cold main gives when measured comes first."
        ),
        None => {
            format!("For {flow:.0} l/min no copper pipe up to 28 mm stays under {SPEED:.0} m/s.")
        }
    })
}
