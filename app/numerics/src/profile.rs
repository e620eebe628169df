//! Intervals from the profile of a target: all other parameters re-optimised at each value of one.
use crate::newton::{End, Local, Optimum, maximise};
use crate::root::brent;

/// 95 % point of chi-squared with one degree of freedom.
pub const CHI2_95: f64 = 3.841_458_820_694_124;

/// Where 2(max − profile) = `level` below and above the optimum, on the working scale; `None` where the profile stays
/// above it up to the edge of the box.
pub fn interval(
    best: &Optimum,
    free: &[bool],
    bounds: &[(f64, f64)],
    place: usize,
    level: f64,
    mut target: impl FnMut(&[f64]) -> Option<Local>,
) -> (Option<f64>, Option<f64>) {
    let mut fixed = free.to_vec();
    fixed[place] = false;
    let mut excess = |value: f64| {
        let mut start = best.at.clone();
        start[place] = value;
        let found = maximise(&start, &fixed, bounds, &mut target);
        match found.end {
            End::Failed(_) => f64::NAN,
            _ => 2.0 * (best.local.value - found.local.value) - level,
        }
    };
    let centre = best.at[place];
    let step = (-best.local.hessian[(place, place)]).recip().sqrt();
    let step = if step.is_finite() {
        step.clamp(1e-3, 2.0)
    } else {
        0.1
    };
    let mut side = |edge: f64| {
        let mut near = centre;
        let mut reach = step;
        loop {
            let far = if edge < centre {
                (centre - reach).max(edge)
            } else {
                (centre + reach).min(edge)
            };
            if excess(far) > 0.0 {
                return brent(near, far, &mut excess);
            }
            if far == edge {
                return None;
            }
            near = far;
            reach *= 1.7;
        }
    };
    let (low, high) = bounds[place];
    (side(low), side(high))
}
