//! Whether the size of an option would do for whoever lives there. Draws and sizes are common practice, no source; a
//! survey decides.
use inspection::formulas::evaluate;
use inspection::{InspectionError, RuleBook, Value, Values};
use serde::{Deserialize, Serialize};
use serde_json::json;

use super::needs::is_known;
use crate::Error;

/// Set where the size of an option is known, so that its draw can be held against the supply.
pub(super) const SIZE_KNOWN: &str = "size_known";
/// Set where nothing hangs on whether the supply can be made larger, or somebody said.
pub(super) const UPGRADE_KNOWN: &str = "upgrade_known";
/// Facts stated in words that the rules ask as yes or no.
const YES_OR_NO: [&str; 2] = ["supply_upgrade_possible", "reducer_fitted"];
/// An electric boiler for a flat on the list, kW.
const ELECTRIC_KW: f64 = 9.0;

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

/// Output of an instant heater on the list, kW. An electric boiler gives what it draws: a larger draw that was stated is
/// its size, a smaller one was stated of something else.
fn instant_kw(site: &Values, option: &str) -> Option<f64> {
    match option {
        "CB" => Some(28.0),
        "EB" => {
            let stated = site.number("electric_kw_needed");
            Some(stated.unwrap_or(ELECTRIC_KW).max(ELECTRIC_KW))
        }
        "HIU" => Some(35.0),
        _ => None,
    }
}

/// What the immersion heaters of a vessel draw when nobody stated it, kW.
fn vessel_kw(option: &str) -> Option<f64> {
    vessel(option).map(|(_, _, _, _, kw)| kw)
}

/// What is known of an option's size.
#[derive(Debug, Default)]
pub(super) struct Size {
    /// Sentences on it.
    pub said: Vec<String>,
    /// Its size on the list and the one that would do, where the list's is too little.
    pub too_little: Option<TooLittle>,
    /// It has a size, and who lives there is not known: whether it would do is not known either.
    pub unknown: bool,
}

/// A size on the list that is too little, and the least that would do, rounded up: kW, or litres of a vessel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TooLittle {
    /// As priced.
    pub listed: f64,
    /// The least that would do.
    pub would_do: f64,
    /// Litres, not kW.
    pub litres: bool,
}

/// The size of an option, and whether it would do for whoever lives there.
///
/// # Errors
/// A formula of the rule book that cannot be worked out.
pub(super) fn size_of(rules: &RuleBook, site: &Values, option: &str) -> Result<Size, Error> {
    let instant_kw = instant_kw(site, option);
    if vessel(option).is_none() && instant_kw.is_none() {
        return Ok(Size::default());
    }
    let Some(people) = site.number("people").filter(|n| *n > 0.0) else {
        return Ok(Size {
            said: vec![
                "Its size is not reckoned: how many people live there is not known.".to_owned(),
            ],
            too_little: None,
            unknown: true,
        });
    };
    let baths = site.number("baths").unwrap_or(0.0);
    let reckoned = match vessel(option) {
        Some(vessel) => store(rules, (people, baths), vessel),
        None => instant(rules, people, instant_kw.unwrap_or_default()),
    };
    let (sentence, too_little) = reckoned.map_err(|e| Error::Internal(e.to_string()))?;
    let mut said = vec![sentence];
    if option != "VC" {
        said.push(pipe(rules, demand(people)).map_err(|e| Error::Internal(e.to_string()))?);
    }
    Ok(Size {
        said,
        too_little,
        unknown: false,
    })
}

/// The site as the rules are asked about an option at the size that would do: what is known of the supply, the gas pipe
/// and the space holds for the size it was stated or measured at, and no further.
pub(super) fn at_size(site: &Values, option: &str, size: &Size) -> Values {
    let mut asked = site.clone();
    for field in YES_OR_NO {
        let said = site.get(field);
        if said == Value::from("yes") || said == Value::from("no") {
            asked.set(field, said == Value::from("yes"));
        }
    }
    let stated = site.number("electric_kw_needed");
    // One draw is stated for whatever comes; an electric boiler draws what it gives.
    let draws = match size.too_little {
        Some(more) if option == "EB" => Some(more.would_do),
        None if option == "EB" => instant_kw(site, option),
        _ => stated.or_else(|| vessel_kw(option)),
    };
    if let Some(kw) = draws {
        asked.set("electric_kw_needed", kw);
    }
    if option == "EB" && (!size.unknown || stated.is_some_and(|kw| kw >= ELECTRIC_KW)) {
        asked.set(SIZE_KNOWN, true);
    }
    // Too little to spare rules out only where somebody said that there cannot be more.
    let short = draws
        .zip(site.number("electric_kw_spare"))
        .is_some_and(|(kw, spare)| kw > spare);
    if short && !is_known(site, "supply_upgrade_possible") {
        asked.set("supply_upgrade_possible", true);
    } else {
        asked.set(UPGRADE_KNOWN, true);
    }
    let Some(more) = size.too_little else {
        // Room stated in litres holds for the listed vessel too: where it is short a smaller one may do, a survey says.
        let short = vessel(option).zip(site.number("space_litres"));
        if short.is_some_and(|((litres, ..), room)| room < litres) {
            asked.set("space_for_vessel", Value::Unknown);
        }
        return asked;
    };
    if more.litres {
        let told_yes = site.get("space_for_vessel") == Value::from("yes");
        let room = site.number("space_litres");
        if room.is_some_and(|litres| litres < more.would_do) {
            asked.set("space_for_vessel", "no");
        } else if room.is_none() && told_yes {
            asked.set("space_for_vessel", Value::Unknown);
        }
    } else if let Some(drop) = site.number("gas_drop_mbar") {
        // Pressure lost in a pipe grows with the square of what flows.
        let times = more.would_do / more.listed;
        asked.set("gas_drop_mbar", drop * times * times);
    }
    asked
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
) -> Result<(String, Option<TooLittle>), InspectionError> {
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
    let too_little = (litres < least).then(|| TooLittle {
        listed: litres,
        would_do: least.ceil(),
        litres: true,
    });
    let verdict = match too_little {
        None => "enough",
        Some(_) => "too small",
    };
    let said = format!(
        "The busiest hour of {people:.0} there needs {:.1} kWh; {litres:.0} l at {store_c:.0} °C with {reheat:.0} kW of reheat have {:.1}: {verdict}, {:.0} l are the least.",
        number("need_kwh"),
        number("available_kwh"),
        least.ceil()
    );
    Ok((said, too_little))
}

fn instant(
    rules: &RuleBook,
    people: f64,
    kw: f64,
) -> Result<(String, Option<TooLittle>), InspectionError> {
    let inputs = json!({"rated_kw": kw, "rise_k": RISE, "outlets_lpm": demand(people)});
    let values = inputs
        .as_object()
        .map(Values::from_json)
        .unwrap_or_default();
    let found = evaluate(rules, "size.instant", &values)?;
    let number = |name: &str| found.number(name).unwrap_or_default();
    let (flow, wanted) = (number("flow_lpm"), number("demand_lpm"));
    let would_do = number("kw_for_demand").ceil();
    let too_little = (flow < wanted).then_some(TooLittle {
        listed: kw,
        would_do,
        litres: false,
    });
    let verdict = match too_little {
        None => "enough",
        Some(_) => "too little",
    };
    let said = format!(
        "{kw:.0} kW give {flow:.1} l/min at a rise of {RISE:.0} K, and {people:.0} there want {wanted:.0} l/min at once: {verdict}; {would_do:.0} kW would do."
    );
    Ok((said, too_little))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_electric_boiler_draws_the_size_that_would_do_and_never_what_was_stated_of_less() {
        let rules = RuleBook::shipped().unwrap();
        let draws = |site: &Values| {
            let size = size_of(rules, site, "EB").unwrap();
            let asked = at_size(site, "EB", &size);
            (asked.number("electric_kw_needed"), asked.has(SIZE_KNOWN))
        };
        let two = Values::new().with("people", 2.0);
        // By hand: 9 l/min at a rise of 35 K take 9 / 60 × 4.186 × 35 = 21.98 kW.
        assert_eq!(draws(&two), (Some(22.0), true));
        let stated = |kw: f64| two.clone().with("electric_kw_needed", kw);
        assert_eq!(draws(&stated(6.0)), (Some(22.0), true));
        assert_eq!(draws(&stated(24.0)), (Some(24.0), true));
        // Who lives there is not known: only a draw that can be an electric boiler's says its size.
        let nobody = |kw: f64| Values::new().with("electric_kw_needed", kw);
        assert_eq!(draws(&nobody(6.0)), (Some(9.0), false));
        assert_eq!(draws(&nobody(12.0)), (Some(12.0), true));
    }

    #[test]
    fn what_was_measured_for_a_smaller_one_is_asked_at_the_size_that_would_do() {
        let rules = RuleBook::shipped().unwrap();
        let site = Values::new()
            .with("people", 4.0)
            .with("baths", 1.0)
            .with("gas_drop_mbar", 0.7)
            .with("space_for_vessel", "yes");
        let size = size_of(rules, &site, "CB").unwrap();
        // By hand: 14 l/min at 35 K take 34.2 kW; 0.7 mbar × (35 ÷ 28)² = 1.09 mbar.
        let more = size.too_little.unwrap();
        assert_eq!((more.listed, more.would_do), (28.0, 35.0));
        let drop = at_size(&site, "CB", &size).number("gas_drop_mbar").unwrap();
        assert!((drop - 1.093_75).abs() < 1e-9, "{drop}");
        let size = size_of(rules, &site, "VC").unwrap();
        let least = size.too_little.unwrap().would_do;
        let space = |site: &Values| at_size(site, "VC", &size).get("space_for_vessel");
        assert_eq!(space(&site), Value::Unknown);
        let told = |litres: f64| site.clone().with("space_litres", litres);
        assert_eq!(space(&told(least)), Value::from("yes"));
        assert_eq!(space(&told(least - 1.0)), Value::from("no"));
        // One person: the listed vessel is large enough, and the room is still looked at.
        let alone = told(50.0).with("people", 1.0).with("baths", 0.0);
        let size = size_of(rules, &alone, "TS").unwrap();
        assert!(size.too_little.is_none());
        let asked = at_size(&alone, "TS", &size).get("space_for_vessel");
        assert_eq!(asked, Value::Unknown);
    }
}
