//! Heating elements (F12). Physics.
use serde::Serialize;

use super::{finite, positive};
use crate::InspectionError;

/// F12: what an element should measure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Element {
    /// V²/W, Ω.
    pub ohms: f64,
    /// W/V, A, single phase.
    pub amps: f64,
    /// W/(√3 · 400), A per phase, three-phase.
    pub amps_three_phase: f64,
}

/// F12 for an element of `watts` at `volts` (230 in the United Kingdom).
///
/// # Errors
/// Watts or volts not above 0.
pub fn element(watts: f64, volts: f64) -> Result<Element, InspectionError> {
    let watts = positive("watts", watts)?;
    let volts = positive("volts", volts)?;
    Ok(Element {
        ohms: finite("ohms", volts * volts / watts)?,
        amps: finite("amps", watts / volts)?,
        amps_three_phase: watts / (3.0_f64.sqrt() * 400.0),
    })
}
