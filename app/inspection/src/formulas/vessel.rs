//! Expansion vessels (F15–F18). Sizing is a check of what is fitted; a survey decides.
use serde::Serialize;

use super::{finite, positive};
use crate::InspectionError;

/// F15: a vessel and what it is made of, litres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Vessel {
    /// Water pushed out by heating.
    pub expansion_l: f64,
    /// Water held in reserve; none for an unvented cylinder.
    pub reserve_l: Option<f64>,
    /// The vessel.
    pub vessel_l: f64,
}

/// (pe + 1)/(pe − p0): the acceptance factor of a vessel, absolute over usable pressure.
fn factor(p0_bar: f64, pe_bar: f64) -> Result<f64, InspectionError> {
    let usable = positive("pe_bar above p0_bar", pe_bar - p0_bar)?;
    finite("vessel", (pe_bar + 1.0) / usable)
}

/// F15, sealed heating. f = (pe+1)/(pe−p0); Ve = V·e; big = (Ve + max(0.5 % V, 3 l))·f. If big is
/// under 15 l the reserve is a fifth of the vessel: Ve·f/(1 − 0.2 f), or 15 l if that is smaller.
/// Standard from memory (EN 12828 annex D); the reserve rule agrees with a published page.
///
/// # Errors
/// An end pressure not above the charge; volumes below 0.
pub fn vessel(
    system_l: f64,
    expansion: f64,
    p0_bar: f64,
    pe_bar: f64,
) -> Result<Vessel, InspectionError> {
    let system = positive("system_l", system_l)?;
    let f = factor(p0_bar, pe_bar)?;
    let expansion_l = system * expansion;
    let reserve = (0.005 * system).max(3.0);
    let big = (expansion_l + reserve) * f;
    if big >= 15.0 {
        return Ok(Vessel {
            expansion_l,
            reserve_l: Some(reserve),
            vessel_l: big,
        });
    }
    let room = 1.0 - 0.2 * f;
    let small = if room > 0.0 {
        expansion_l * f / room
    } else {
        f64::INFINITY
    };
    if small < 15.0 {
        Ok(Vessel {
            expansion_l,
            reserve_l: Some(0.2 * small),
            vessel_l: small,
        })
    } else {
        Ok(Vessel {
            expansion_l,
            reserve_l: Some(3.0),
            vessel_l: 15.0,
        })
    }
}

/// The end pressure a safety valve allows: valve − 0.5 up to 5 bar, 0.9 · valve above.
pub fn valve_end_pressure_bar(valve_bar: f64) -> f64 {
    if valve_bar <= 5.0 {
        valve_bar - 0.5
    } else {
        0.9 * valve_bar
    }
}

/// F15 for an unvented cylinder: Ve · f, no reserve, pe from the valve.
///
/// # Errors
/// As [`vessel`].
pub fn unvented_vessel(
    stored_l: f64,
    expansion: f64,
    p0_bar: f64,
    valve_bar: f64,
) -> Result<Vessel, InspectionError> {
    let expansion_l = positive("stored_l", stored_l)? * expansion;
    let vessel_l = expansion_l * factor(p0_bar, valve_end_pressure_bar(valve_bar))?;
    Ok(Vessel {
        expansion_l,
        reserve_l: None,
        vessel_l,
    })
}

/// F16: quick factor for a 3 bar valve, 0.109 at 1.0 bar and 0.156 at 1.5 bar cold, litres
/// (published page); none for other cold pressures.
pub fn vessel_quick_l(system_l: f64, cold_bar: f64) -> Option<f64> {
    if cold_bar == 1.0 {
        Some(system_l * 0.109)
    } else if cold_bar == 1.5 {
        Some(system_l * 0.156)
    } else {
        None
    }
}

/// F18: water in a vessel of `vessel_l` charged to p0 at pressure p, W = Vn · (1 − (p0+1)/(p+1));
/// 0 at or under the charge. Boyle.
pub fn vessel_water_l(vessel_l: f64, charge_bar: f64, at_bar: f64) -> f64 {
    if at_bar <= charge_bar || at_bar <= -1.0 {
        return 0.0;
    }
    vessel_l * (1.0 - (charge_bar + 1.0) / (at_bar + 1.0))
}

/// F17: a vessel when the system is hot.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HotPressure {
    /// Water in the vessel when cold, litres.
    pub water_cold_l: f64,
    /// Pressure when hot, bar; none when the vessel is full of water.
    pub hot_bar: Option<f64>,
    /// Full of water: the relief valve will lift.
    pub full: bool,
}

/// F17: gas = Vn − W0 − Ve; p_hot = (p0+1) · Vn/gas − 1. Boyle. `system` is litres and the share
/// its water expands by.
///
/// # Errors
/// A vessel not above 0.
pub fn hot_pressure(
    vessel_l: f64,
    charge_bar: f64,
    fill_bar: f64,
    system: (f64, f64),
) -> Result<HotPressure, InspectionError> {
    let vessel = positive("vessel_l", vessel_l)?;
    let water_cold_l = vessel_water_l(vessel, charge_bar, fill_bar);
    let gas = finite("gas", vessel - water_cold_l - system.0 * system.1)?;
    if gas <= 0.0 {
        return Ok(HotPressure {
            water_cold_l,
            hot_bar: None,
            full: true,
        });
    }
    let hot = finite("hot_bar", (charge_bar + 1.0) * vessel / gas - 1.0)?;
    Ok(HotPressure {
        water_cold_l,
        hot_bar: Some(hot),
        full: false,
    })
}
