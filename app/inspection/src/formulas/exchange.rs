//! Coils and plates (F3, F4). Physics.
use serde::Serialize;

use super::{finite, positive};
use crate::InspectionError;
use crate::expr::round6;

/// F3: effectiveness ε = (T_hot out − T_cold in) / (T_source − T_cold in), and its index against
/// commissioning if that is known, at the commissioning flow.
///
/// # Errors
/// A source no warmer than the cold main; a commissioning figure not above 0.
pub fn effectiveness(
    hot_out_c: f64,
    cold_in_c: f64,
    source_c: f64,
    commissioned: Option<f64>,
) -> Result<(f64, Option<f64>), InspectionError> {
    let head = positive("source above cold", source_c - cold_in_c)?;
    let now = finite("effectiveness", (hot_out_c - cold_in_c) / head)?;
    let index = commissioned
        .map(|then| Ok::<f64, InspectionError>(now / positive("commissioned", then)?))
        .transpose()?;
    Ok((now, index))
}

/// F4: an exchanger in counterflow.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Exchanger {
    /// Log mean temperature difference, K.
    pub lmtd_k: f64,
    /// UA, kW/K.
    pub ua_kw_per_k: f64,
    /// UA over UA at commissioning, if that is known.
    pub ratio: Option<f64>,
}

/// F4: LMTD = (a − b) / ln(a/b) with a = T1in − T2out, b = T1out − T2in; equal ends give that
/// difference. UA = P / LMTD. Sides are `(in, out)`, °C; side 1 gives heat to side 2.
///
/// # Errors
/// Ends that are not both above 0; a commissioning figure not above 0.
pub fn exchanger(
    side_1_c: (f64, f64),
    side_2_c: (f64, f64),
    power_kw: f64,
    ua_commissioned: Option<f64>,
) -> Result<Exchanger, InspectionError> {
    let a = positive("hot end difference", side_1_c.0 - side_2_c.1)?;
    let b = positive("cold end difference", side_1_c.1 - side_2_c.0)?;
    let lmtd_k = if round6(a) == round6(b) {
        a
    } else {
        (a - b) / (a / b).ln()
    };
    let ua_kw_per_k = finite("UA", power_kw / lmtd_k)?;
    let ratio = ua_commissioned
        .map(|then| Ok::<f64, InspectionError>(ua_kw_per_k / positive("ua_commissioned", then)?))
        .transpose()?;
    Ok(Exchanger {
        lmtd_k,
        ua_kw_per_k,
        ratio,
    })
}
