//! Water itself: density, expansion, hardness, mixing, speed in a pipe (F19, F20).
use std::f64::consts::PI;

use serde::Serialize;

use super::{finite, positive};
use crate::InspectionError;

/// Density of water at `temp_c`, kg/m³, at normal pressure, 0–150 °C: the rational fit of Kell
/// (J. Chem. Eng. Data 20, 1975, p. 97; from memory). At 3 bar it lies 0.1 kg/m³ higher.
///
/// # Errors
/// A temperature outside 0–150 °C.
pub fn density_kg_m3(temp_c: f64) -> Result<f64, InspectionError> {
    if !(0.0..=150.0).contains(&temp_c) {
        return Err(InspectionError::impossible(
            "temp_c",
            "must lie between 0 and 150",
        ));
    }
    let t = temp_c;
    let top = 999.83952
        + t * (16.945176
            + t * (-7.987_040_1e-3
                + t * (-46.170461e-6 + t * (105.56302e-9 + t * -280.54253e-12))));
    Ok(top / (1.0 + 16.879850e-3 * t))
}

/// Share by which water grows from `cold_c` to `hot_c`: ρ(cold)/ρ(hot) − 1.
///
/// # Errors
/// As [`density_kg_m3`].
pub fn expansion_share(cold_c: f64, hot_c: f64) -> Result<f64, InspectionError> {
    Ok(density_kg_m3(cold_c)? / density_kg_m3(hot_c)? - 1.0)
}

/// Hardness in the three degrees.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hardness {
    /// Clark degrees, 14.254 mg/l each.
    pub clark: f64,
    /// German degrees, 17.848 mg/l each.
    pub german: f64,
    /// French degrees, 10 mg/l each.
    pub french: f64,
}

/// Degrees of hardness for `mg_per_l` of calcium carbonate (published page).
pub fn hardness_degrees(mg_per_l: f64) -> Hardness {
    Hardness {
        clark: mg_per_l / 14.254,
        german: mg_per_l / 17.848,
        french: mg_per_l / 10.0,
    }
}

/// F19: hot share of a mix, (T_mix − T_cold)/(T_hot − T_cold). Physics.
///
/// # Errors
/// Hot no warmer than cold.
pub fn hot_share(mix_c: f64, hot_c: f64, cold_c: f64) -> Result<f64, InspectionError> {
    finite(
        "hot_share",
        (mix_c - cold_c) / positive("hot above cold", hot_c - cold_c)?,
    )
}

/// F20: speed in a pipe of bore d, v = q / 60000 / (π d²/4), m/s, for q in l/min and d in mm.
///
/// # Errors
/// A bore not above 0.
pub fn pipe_speed_m_s(flow_lpm: f64, bore_mm: f64) -> Result<f64, InspectionError> {
    let d = positive("bore_mm", bore_mm)? / 1000.0;
    finite("speed", flow_lpm / 60_000.0 / (PI * d * d / 4.0))
}
