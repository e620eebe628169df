//! Weibull scale from a median life, and what ageing costs in fuel.
use serde::Serialize;
use statrs::function::gamma::gamma;

use super::{finite, positive};
use crate::InspectionError;

/// Scale and mean of a Weibull life.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WeibullScale {
    /// η, in the unit of the median.
    pub eta: f64,
    /// Mean life.
    pub mean: f64,
}

/// η = median / (ln 2)^(1/β), mean = η · Γ(1 + 1/β).
///
/// # Errors
/// Median or β not above 0.
pub fn weibull_scale(median: f64, beta: f64) -> Result<WeibullScale, InspectionError> {
    let (median, beta) = (positive("median", median)?, positive("beta", beta)?);
    let eta = finite("eta", median / 2.0_f64.ln().powf(1.0 / beta))?;
    Ok(WeibullScale {
        eta,
        mean: finite("mean", eta * gamma(1.0 + 1.0 / beta))?,
    })
}

/// Fuel for the same need at two efficiencies, kWh.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AgedEfficiency {
    /// Input at the first efficiency.
    pub input_before_kwh: f64,
    /// Input at the second.
    pub input_after_kwh: f64,
    /// The difference.
    pub saved_kwh: f64,
}

/// Input = need / efficiency.
///
/// # Errors
/// An efficiency not above 0.
pub fn aged_efficiency(
    need_kwh: f64,
    from_percent: f64,
    to_percent: f64,
) -> Result<AgedEfficiency, InspectionError> {
    let before = need_kwh * 100.0 / positive("from_percent", from_percent)?;
    let after = need_kwh * 100.0 / positive("to_percent", to_percent)?;
    Ok(AgedEfficiency {
        input_before_kwh: finite("input", before)?,
        input_after_kwh: finite("input", after)?,
        saved_kwh: before - after,
    })
}
