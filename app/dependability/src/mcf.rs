//! Mean cumulative function with robust variance (Nelson; Lawless and Nadeau), FORECAST §8.
//!
//! M(t) = Σ_{t_k ≤ t} d_k/R_k. Robust variance Σ_u (Σ_{t_k ≤ t} Y_u(t_k)/R_k (d_u(t_k) − d_k/R_k))².
//! Where nobody is at risk the curve breaks; it is never bridged.
use serde::Serialize;

use crate::observed::Observed;
use crate::prior::InputError;

/// One step of the curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Time of the step.
    pub time: f64,
    /// Units at risk there.
    pub at_risk: u32,
    /// M(t).
    pub mean: f64,
    /// Square root of Σ d/R², for comparison only: it assumes identical units without memory.
    pub se_poisson: f64,
    /// Square root of the robust variance.
    pub se_robust: f64,
}

/// The curve over all units; equal times are one step, steps without anybody at risk are left out.
///
/// # Errors
/// A window or an event that cannot be meant.
pub fn mean_cumulative(units: &[Observed]) -> Result<Vec<Step>, InputError> {
    units.iter().try_for_each(Observed::check)?;
    let mut events: Vec<(f64, usize, f64)> = units
        .iter()
        .enumerate()
        .flat_map(|(u, unit)| unit.events.iter().map(move |&(t, d)| (t, u, d)))
        .collect();
    events.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut influence = vec![0.0; units.len()];
    let (mut mean, mut poisson) = (0.0, 0.0);
    let mut steps = Vec::new();
    for same in events.chunk_by(|a, b| a.0 == b.0) {
        let time = same[0].0;
        let here: Vec<usize> = (0..units.len())
            .filter(|&u| units[u].at_risk(time))
            .collect();
        if here.is_empty() {
            continue;
        }
        let risk = here.len() as f64;
        let amount: f64 = same
            .iter()
            .filter(|e| units[e.1].at_risk(time))
            .map(|e| e.2)
            .sum();
        mean += amount / risk;
        poisson += amount / (risk * risk);
        for &u in &here {
            influence[u] -= amount / (risk * risk);
        }
        for (_, u, d) in same.iter().filter(|e| units[e.1].at_risk(time)) {
            influence[*u] += d / risk;
        }
        steps.push(Step {
            time,
            at_risk: here.len() as u32,
            mean,
            se_poisson: poisson.max(0.0).sqrt(),
            se_robust: influence.iter().map(|v| v * v).sum::<f64>().sqrt(),
        });
    }
    Ok(steps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_counts_only_who_is_watched() {
        let unit = |windows: &[(f64, f64)], times: &[f64]| Observed {
            windows: windows.to_vec(),
            events: times.iter().map(|t| (*t, 1.0)).collect(),
        };
        let steps = mean_cumulative(&[
            unit(&[(0.0, 10.0)], &[2.0, 8.0]),
            unit(&[(0.0, 1.0), (5.0, 10.0)], &[8.0]),
            unit(&[(9.0, 10.0)], &[]),
        ])
        .unwrap();
        let seen: Vec<(f64, u32, f64)> =
            steps.iter().map(|s| (s.time, s.at_risk, s.mean)).collect();
        assert_eq!(seen, [(2.0, 1, 1.0), (8.0, 2, 2.0)]);
    }
}
