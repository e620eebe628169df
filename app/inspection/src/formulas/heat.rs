//! Heat in flowing and standing water (F1, F2, F5, F13, F14). Physics.
use serde::Serialize;

use super::{WATER_KJ_PER_L_K, finite, positive};
use crate::InspectionError;

/// F1: hot-water power P = q · ΔT · c / 60, kW, for a flow q in l/min and a rise ΔT in K.
pub fn hot_water_power_kw(flow_lpm: f64, rise_k: f64) -> f64 {
    flow_lpm * rise_k * WATER_KJ_PER_L_K / 60.0
}

/// F2: flow a power can heat, q = P · 60 / (c · ΔT), l/min.
///
/// # Errors
/// A rise that is not above 0.
pub fn expected_flow_lpm(power_kw: f64, rise_k: f64) -> Result<f64, InspectionError> {
    let rise = positive("rise_k", rise_k)?;
    finite("flow_lpm", power_kw * 60.0 / (WATER_KJ_PER_L_K * rise))
}

/// F5: circulation q = P / (c · ΔT), l/s.
///
/// # Errors
/// A difference that is not above 0.
pub fn circulation_lps(power_kw: f64, dt_k: f64) -> Result<f64, InspectionError> {
    let dt = positive("dt_k", dt_k)?;
    finite("flow_lps", power_kw / (WATER_KJ_PER_L_K * dt))
}

/// Heat between two temperatures in standing water, Q = V · c · ΔT / 3600, kWh.
pub fn store_energy_kwh(litres: f64, difference_k: f64) -> f64 {
    litres * WATER_KJ_PER_L_K * difference_k / 3600.0
}

/// F13: a heat-up.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HeatUp {
    /// Heat taken up, kWh.
    pub heat_kwh: f64,
    /// Expected hours.
    pub hours: f64,
    /// Measured over expected, if measured.
    pub ratio: Option<f64>,
}

/// F13: t = V · c · ΔT / 3600 / P, hours.
///
/// # Errors
/// A power that is not above 0, or a heat-up of nothing that was measured.
pub fn heat_up(
    litres: f64,
    rise_k: f64,
    power_kw: f64,
    measured_hours: Option<f64>,
) -> Result<HeatUp, InspectionError> {
    let heat_kwh = store_energy_kwh(litres, rise_k);
    let hours = finite("hours", heat_kwh / positive("power_kw", power_kw)?)?;
    let ratio = measured_hours
        .map(|measured| finite("ratio", measured / positive("hours", hours)?))
        .transpose()?;
    Ok(HeatUp {
        heat_kwh,
        hours,
        ratio,
    })
}

/// F14: a cooling test with no draw-off.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StandingLoss {
    /// Heat lost in the test, kWh.
    pub lost_kwh: f64,
    /// The same over 24 hours, kWh.
    pub loss_kwh_24h: f64,
    /// Declared, or the general limit, kWh in 24 hours.
    pub limit_kwh_24h: f64,
    /// Loss over limit.
    pub ratio: f64,
}

/// General limit of standing loss for a cylinder or store, 1.15 · (0.2 + 0.051 · V^⅔), kWh in 24 h
/// (standard from memory: Domestic Building Services Compliance Guide).
pub fn standing_loss_limit_kwh_24h(litres: f64) -> f64 {
    1.15 * (0.2 + 0.051 * litres.max(0.0).powf(2.0 / 3.0))
}

/// F14: loss = V · c · ΔT / 3600 · 24 / t, kWh in 24 h.
///
/// # Errors
/// Hours or a declared loss not above 0.
pub fn standing_loss(
    litres: f64,
    drop_k: f64,
    hours: f64,
    declared_kwh_24h: Option<f64>,
) -> Result<StandingLoss, InspectionError> {
    let lost_kwh = store_energy_kwh(litres, drop_k);
    let loss_kwh_24h = finite("loss", lost_kwh * 24.0 / positive("hours", hours)?)?;
    let limit_kwh_24h = match declared_kwh_24h {
        Some(declared) => positive("declared_kwh_24h", declared)?,
        None => standing_loss_limit_kwh_24h(litres),
    };
    let ratio = finite("ratio", loss_kwh_24h / limit_kwh_24h)?;
    Ok(StandingLoss {
        lost_kwh,
        loss_kwh_24h,
        limit_kwh_24h,
        ratio,
    })
}
