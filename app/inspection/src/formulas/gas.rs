//! Gas rate and combustion (F9, F10, F11). For planning and recording only: gas work and its
//! judgement belong to an engineer on the official register.
use super::{GROSS_TO_NET, finite, positive};
use crate::InspectionError;

/// F9: heat input from timing the meter, gross = V · CV · 1000 / t, kW; returns gross and net =
/// gross / 1.11 (standard from memory: the trade's formula).
///
/// # Errors
/// A time not above 0.
pub fn gas_rate_kw(
    gas_m3: f64,
    cv_mj_per_m3: f64,
    seconds: f64,
) -> Result<(f64, f64), InspectionError> {
    let gross = finite(
        "gas rate",
        gas_m3 * cv_mj_per_m3 * 1000.0 / positive("seconds", seconds)?,
    )?;
    Ok((gross, gross / GROSS_TO_NET))
}

/// F10: CO/CO₂ ratio = CO ppm / (CO₂ % · 10 000) (published page).
///
/// # Errors
/// CO₂ not above 0: the reading is not valid.
pub fn co_ratio(co_ppm: f64, co2_percent: f64) -> Result<f64, InspectionError> {
    finite(
        "ratio",
        co_ppm / (positive("co2_percent", co2_percent)? * 10_000.0),
    )
}

/// F11: net flue loss, % ≈ (T_flue − T_air) · (0.37/CO₂ + 0.009), natural gas (Siegert; standard
/// from memory).
///
/// # Errors
/// CO₂ not above 0.
pub fn flue_loss_percent(
    flue_c: f64,
    air_c: f64,
    co2_percent: f64,
) -> Result<f64, InspectionError> {
    let co2 = positive("co2_percent", co2_percent)?;
    finite("flue loss", (flue_c - air_c) * (0.37 / co2 + 0.009))
}
