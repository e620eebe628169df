//! `formula`
use inspection::formulas as f;
use serde::Deserialize;
use serde_json::{Value as Json, json};

use super::Answer;
use super::inputs::{say, show, take};

pub fn answer(i: &Json) -> Answer {
    let name: String = take(i, "formula")?;
    match name.as_str() {
        "F1" | "F2" | "F5" | "F13" | "F14" | "energy_in_store" => heat(&name, i),
        "F3" | "F4" => exchange(&name, i),
        "F6" | "F7" | "F8" | "F21" => meter(&name, i),
        "F9" | "F10" | "F11" | "F12" => gas_and_electric(&name, i),
        "F15" | "F15_unvented" | "F16" | "F17" | "F18" => vessel(&name, i),
        _ => water_and_wear(&name, i),
    }
}

fn heat(name: &str, i: &Json) -> Answer {
    match name {
        "F1" => {
            let rise = take::<f64>(i, "hot_c")? - take::<f64>(i, "cold_c")?;
            let power = f::hot_water_power_kw(take(i, "flow_lpm")?, rise);
            Ok(json!({ "power_kw": power, "rise_k": rise }))
        }
        "F2" => {
            let flow = f::expected_flow_lpm(take(i, "rated_kw")?, take(i, "rise_k")?);
            Ok(json!({ "flow_lpm": flow.map_err(say)? }))
        }
        "F5" => {
            let flow = f::circulation_lps(take(i, "power_kw")?, take(i, "dt_k")?).map_err(say)?;
            Ok(json!({ "flow_lps": flow, "flow_lpm": flow * 60.0 }))
        }
        "F13" => show(
            &f::heat_up(
                take(i, "litres")?,
                take(i, "rise_k")?,
                take(i, "power_kw")?,
                take(i, "measured_hours")?,
            )
            .map_err(say)?,
        ),
        "F14" => show(
            &f::standing_loss(
                take(i, "litres")?,
                take(i, "drop_k")?,
                take(i, "hours")?,
                take(i, "declared_kwh_24h")?,
            )
            .map_err(say)?,
        ),
        _ => {
            let cold: f64 = take(i, "cold_c")?;
            let drop = take::<f64>(i, "from_c")? - take::<f64>(i, "to_c")?;
            let store = f::store_energy_kwh(take(i, "litres")?, drop);
            let bath = f::store_energy_kwh(take(i, "bath_l")?, take::<f64>(i, "bath_c")? - cold);
            Ok(json!({ "store_kwh": store, "bath_kwh": bath, "baths": store / bath }))
        }
    }
}

fn exchange(name: &str, i: &Json) -> Answer {
    if name == "F3" {
        let (now, index) = f::effectiveness(
            take(i, "hot_out_c")?,
            take(i, "cold_in_c")?,
            take(i, "source_c")?,
            take(i, "commissioned")?,
        )
        .map_err(say)?;
        return Ok(json!({ "effectiveness": now, "index": index }));
    }
    let ends = f::exchanger(
        (take(i, "t1_in_c")?, take(i, "t1_out_c")?),
        (take(i, "t2_in_c")?, take(i, "t2_out_c")?),
        take(i, "power_kw")?,
        take(i, "ua_commissioned")?,
    );
    show(&ends.map_err(say)?)
}

#[derive(Deserialize)]
struct MeteredDraw {
    volume_m3: f64,
    return_c: f64,
}

fn meter(name: &str, i: &Json) -> Answer {
    match name {
        "F6" => Ok(json!({
            "heat_kwh": f::metered_heat_kwh(take(i, "volume_m3")?, take(i, "dt_k")?)
        })),
        "F7" => {
            let draws: Option<Vec<MeteredDraw>> = take(i, "draws")?;
            let vwart = if let Some(draws) = draws {
                let pairs: Vec<_> = draws.iter().map(|d| (d.volume_m3, d.return_c)).collect();
                f::volume_weighted_return_c(&pairs)
            } else {
                let (heat, volume) = (take(i, "heat_kwh")?, take(i, "volume_m3")?);
                f::return_from_meter_c(take(i, "flow_vw_c")?, heat, volume)
            };
            Ok(json!({ "vwart_c": vwart.map_err(say)? }))
        }
        "F8" => {
            let loss = f::network_loss(
                take(i, "heat_in_kwh")?,
                take(i, "heat_metered_kwh")?,
                take(i, "homes")?,
            );
            show(&loss.map_err(say)?)
        }
        _ => {
            let error = f::permitted_error(
                take(i, "accuracy_class")?,
                (take(i, "qp_m3h")?, take(i, "q_m3h")?),
                take(i, "dt_min_k")?,
                take(i, "dt_k")?,
            );
            show(&error.map_err(say)?)
        }
    }
}

fn gas_and_electric(name: &str, i: &Json) -> Answer {
    match name {
        "F9" => {
            let (gross, net) = f::gas_rate_kw(
                take(i, "gas_m3")?,
                take(i, "cv_mj_per_m3")?,
                take(i, "seconds")?,
            )
            .map_err(say)?;
            Ok(json!({ "gross_kw": gross, "net_kw": net }))
        }
        "F10" => {
            let ratio = f::co_ratio(take(i, "co_ppm")?, take(i, "co2_percent")?);
            Ok(json!({ "ratio": ratio.map_err(say)? }))
        }
        "F11" => {
            let loss = f::flue_loss_percent(
                take(i, "flue_c")?,
                take(i, "air_c")?,
                take(i, "co2_percent")?,
            )
            .map_err(say)?;
            Ok(json!({ "net_flue_loss_percent": loss, "net_efficiency_percent": 100.0 - loss }))
        }
        _ => {
            let volts: Option<f64> = take(i, "volts")?;
            show(&f::element(take(i, "watts")?, volts.unwrap_or(230.0)).map_err(say)?)
        }
    }
}

fn vessel(name: &str, i: &Json) -> Answer {
    match name {
        "F15" => show(
            &f::vessel(
                take(i, "system_l")?,
                take(i, "expansion")?,
                take(i, "p0_bar")?,
                take(i, "pe_bar")?,
            )
            .map_err(say)?,
        ),
        "F15_unvented" => show(
            &f::unvented_vessel(
                take(i, "stored_l")?,
                take(i, "expansion")?,
                take(i, "p0_bar")?,
                take(i, "valve_bar")?,
            )
            .map_err(say)?,
        ),
        "F16" => Ok(json!({
            "vessel_l": f::vessel_quick_l(take(i, "system_l")?, take(i, "cold_bar")?)
        })),
        "F17" => {
            let hot = f::hot_pressure(
                take(i, "vessel_l")?,
                take(i, "charge_bar")?,
                take(i, "fill_bar")?,
                (take(i, "system_l")?, take(i, "expansion")?),
            );
            show(&hot.map_err(say)?)
        }
        _ => {
            let (vessel, charge) = (take(i, "vessel_l")?, take(i, "charge_bar")?);
            let water = |at: f64| f::vessel_water_l(vessel, charge, at);
            Ok(json!({ "lost_l": water(take(i, "from_bar")?) - water(take(i, "to_bar")?) }))
        }
    }
}

fn water_and_wear(name: &str, i: &Json) -> Answer {
    match name {
        "F19" => {
            let share = f::hot_share(take(i, "mix_c")?, take(i, "hot_c")?, take(i, "cold_c")?);
            Ok(json!({ "hot_share": share.map_err(say)? }))
        }
        "F20" => {
            let speed = f::pipe_speed_m_s(take(i, "flow_lpm")?, take(i, "bore_mm")?);
            Ok(json!({ "speed_m_s": speed.map_err(say)? }))
        }
        "expansion" => {
            let share = f::expansion_share(take(i, "cold_c")?, take(i, "hot_c")?);
            Ok(json!({ "expansion": share.map_err(say)? }))
        }
        "density" => {
            let density = f::density_kg_m3(take(i, "temp_c")?);
            Ok(json!({ "density_kg_m3": density.map_err(say)? }))
        }
        "hardness" => show(&f::hardness_degrees(take(i, "mg_per_l")?)),
        "weibull_scale" => {
            show(&f::weibull_scale(take(i, "median")?, take(i, "beta")?).map_err(say)?)
        }
        "aged_efficiency" => {
            let saved = f::aged_efficiency(
                take(i, "need_kwh")?,
                take(i, "from_percent")?,
                take(i, "to_percent")?,
            );
            show(&saved.map_err(say)?)
        }
        _ => Err(format!("there is no formula '{name}'")),
    }
}
