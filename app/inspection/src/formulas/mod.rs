//! Formulas F1–F21 of the trade file on readings, and a few beside them. Nothing is rounded.
//!
//! Symbols stand at each formula. Constants: c = 4.186 kJ/(kg K), 1 kg/l, 1.163 kWh/(m³ K), gross
//! to net 1.11; the rule book states the same and is refused if it does not.
mod electric;
mod exchange;
mod gas;
mod heat;
mod meter;
mod vessel;
mod water;
mod wear;

pub use electric::{Element, element};
pub use exchange::{Exchanger, effectiveness, exchanger};
pub use gas::{co_ratio, flue_loss_percent, gas_rate_kw};
pub use heat::{
    HeatUp, StandingLoss, circulation_lps, expected_flow_lpm, heat_up, hot_water_power_kw,
    standing_loss, standing_loss_limit_kwh_24h, store_energy_kwh,
};
pub use meter::{
    MeterError, NetworkLoss, metered_heat_kwh, network_loss, permitted_error, return_from_meter_c,
    volume_weighted_return_c,
};
pub use vessel::{
    HotPressure, Vessel, hot_pressure, unvented_vessel, valve_end_pressure_bar, vessel,
    vessel_quick_l, vessel_water_l,
};
pub use water::{
    Hardness, density_kg_m3, expansion_share, hardness_degrees, hot_share, pipe_speed_m_s,
};
pub use wear::{AgedEfficiency, WeibullScale, aged_efficiency, weibull_scale};

use crate::InspectionError;

/// Specific heat of water, kJ/(kg K); with 1 kg/l also kJ/(l K).
pub const WATER_KJ_PER_L_K: f64 = 4.186;
/// Heat of a cubic metre of water, kWh/(m³ K), at 1000 kg/m³.
pub const WATER_KWH_PER_M3_K: f64 = 1.163;
/// Gross over net heat input of natural gas.
pub const GROSS_TO_NET: f64 = 1.11;

/// Passes a finite result on, refuses any other.
pub(crate) fn finite(what: &str, value: f64) -> Result<f64, InspectionError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(InspectionError::impossible(
            what,
            "has no finite result for these values",
        ))
    }
}

/// Passes a positive, finite input on, refuses any other.
pub(crate) fn positive(what: &str, value: f64) -> Result<f64, InspectionError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(InspectionError::impossible(what, "must be above 0"))
    }
}
