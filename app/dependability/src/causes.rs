//! Several causes that end a life: chances over a horizon, by quadrature of the fitted laws.
use numerics::quadrature::gauss_legendre;
use numerics::root::brent;

use crate::lives::Weibull;
use crate::prior::{InputError, within};

/// Panels a horizon is cut into; with 16 nodes each the chance is exact to about 1e-12 for shapes of 0.5 and more.
const PANELS: u32 = 64;
/// How nearly the chances must add up to 1.
const ADDS_UP: f64 = 1e-3;

/// Chances over the next `h` of a unit running at `age`: per cause, and still in service; they add up to 1.
///
/// P_k = ∫_0^h h_k(age + s) exp(−Σ [H(age + s) − H(age)]) ds. The panels shrink towards the start, where a shape below 1
/// has its steepest hazard.
///
/// # Errors
/// Laws or times that cannot be meant, or so extreme that the chances do not add up to 1.
pub fn cause_chances(laws: &[Weibull], age: f64, h: f64) -> Result<(Vec<f64>, f64), InputError> {
    for law in laws {
        within("shape of a life", law.beta, 1e-3, 1e3)?;
        within("scale of a life", law.eta, 1e-9, 1e12)?;
    }
    within("age", age, 0.0, 1e9)?;
    within("horizon", h, 0.0, 1e9)?;
    let in_service = |s: f64| (-laws.iter().map(|l| l.ahead(age, s)).sum::<f64>()).exp();
    let nodes = gauss_legendre(16);
    let mut chances = vec![0.0; laws.len()];
    let edge = |i: u32| h * (f64::from(i) / f64::from(PANELS)).powi(3);
    for i in 0..PANELS {
        let (low, high) = (edge(i), edge(i + 1));
        for (x, w) in &nodes {
            let s = low + (high - low) * 0.5 * (1.0 + x);
            let weight = 0.5 * (high - low) * w * in_service(s);
            let here = laws.iter().map(|law| weight * law.hazard(age + s));
            chances
                .iter_mut()
                .zip(here)
                .for_each(|(sum, part)| *sum += part);
        }
    }
    let left = in_service(h);
    within(
        "sum of the chances of the ways out",
        chances.iter().sum::<f64>() + left,
        1.0 - ADDS_UP,
        1.0 + ADDS_UP,
    )?;
    Ok((chances, left))
}

/// Time until the chance of being in service is one half; `None` where no cause ever ends it.
pub fn median_in_service(laws: &[Weibull], age: f64) -> Option<f64> {
    let spent = |s: f64| laws.iter().map(|l| l.ahead(age, s)).sum::<f64>() - std::f64::consts::LN_2;
    let mut high = 1.0;
    while spent(high) < 0.0 {
        high *= 2.0;
        if high > 1e12 {
            return None;
        }
    }
    brent(0.0, high, spent)
}
