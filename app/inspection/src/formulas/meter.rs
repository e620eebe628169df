//! Heat meters and networks (F6, F7, F8, F21).
use serde::Serialize;

use super::{WATER_KWH_PER_M3_K, finite, positive};
use crate::InspectionError;

/// F6: heat of a metered volume, Q = V · ΔT · 1.163, kWh. Physics.
pub fn metered_heat_kwh(volume_m3: f64, dt_k: f64) -> f64 {
    volume_m3 * dt_k * WATER_KWH_PER_M3_K
}

/// F7: volume-weighted average return, Σ(V · T)/ΣV, °C, over `(volume m³, return °C)`.
///
/// # Errors
/// No volume.
pub fn volume_weighted_return_c(draws: &[(f64, f64)]) -> Result<f64, InspectionError> {
    let volume = positive("volume", draws.iter().map(|d| d.0).sum())?;
    finite(
        "return",
        draws.iter().map(|d| d.0 * d.1).sum::<f64>() / volume,
    )
}

/// F7 from a meter: T_flow − Q / (1.163 · V), °C.
///
/// # Errors
/// No volume.
pub fn return_from_meter_c(
    flow_vw_c: f64,
    heat_kwh: f64,
    volume_m3: f64,
) -> Result<f64, InspectionError> {
    let volume = positive("volume_m3", volume_m3)?;
    finite(
        "return",
        flow_vw_c - heat_kwh / (WATER_KWH_PER_M3_K * volume),
    )
}

/// F8: what a network loses in a year.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NetworkLoss {
    /// W per home, mean over 8760 hours.
    pub loss_w_per_home: f64,
    /// Share of the heat sent out.
    pub loss_share: f64,
}

/// F8: (heat in − Σ metered) / 8760 / homes · 1000. Physics.
///
/// # Errors
/// No heat in, or no homes.
pub fn network_loss(
    heat_in_kwh: f64,
    heat_metered_kwh: f64,
    homes: f64,
) -> Result<NetworkLoss, InspectionError> {
    let lost = heat_in_kwh - heat_metered_kwh;
    Ok(NetworkLoss {
        loss_w_per_home: finite("loss", lost / 8760.0 / positive("homes", homes)? * 1000.0)?,
        loss_share: finite("share", lost / positive("heat_in_kwh", heat_in_kwh)?)?,
    })
}

/// F21: the error a heat meter is permitted, %.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeterError {
    /// Flow sensor.
    pub flow_part_percent: f64,
    /// Temperature pair.
    pub pair_percent: f64,
    /// Calculator.
    pub calculator_percent: f64,
    /// The sum.
    pub permitted_percent: f64,
    /// Twice that, in service.
    pub in_service_percent: f64,
}

/// F21: class 2 (2 + 0.02 qp/q, at most 5), class 3 (3 + 0.05 qp/q, at most 5), plus
/// (0.5 + 3 Δmin/Δ) + (0.5 + Δmin/Δ). Sum rule from a published page; terms standard from memory
/// (Measuring Instruments Directive, annex VI).
///
/// # Errors
/// A class other than 2 or 3; flow or difference not above 0.
pub fn permitted_error(
    accuracy_class: u8,
    flows_m3h: (f64, f64),
    dt_min_k: f64,
    dt_k: f64,
) -> Result<MeterError, InspectionError> {
    let (qp, q) = flows_m3h;
    let over = qp / positive("q_m3h", q)?;
    let flow_part_percent = match accuracy_class {
        2 => (2.0 + 0.02 * over).min(5.0),
        3 => (3.0 + 0.05 * over).min(5.0),
        _ => {
            return Err(InspectionError::impossible(
                "accuracy_class",
                "must be 2 or 3",
            ));
        }
    };
    let share = finite("difference", dt_min_k / positive("dt_k", dt_k)?)?;
    let pair_percent = 0.5 + 3.0 * share;
    let calculator_percent = 0.5 + share;
    let permitted_percent = flow_part_percent + pair_percent + calculator_percent;
    Ok(MeterError {
        flow_part_percent,
        pair_percent,
        calculator_percent,
        permitted_percent,
        in_service_percent: 2.0 * permitted_percent,
    })
}
