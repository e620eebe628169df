//! The parts' shares of a kind's failures: a Dirichlet prior around the trade's, moved by what failed (DESIGN §6).
use numerics::root::brent;

use crate::history::{Node, UnitHistory, subject};
use crate::kind_fit::posterior;
use crate::prior::{KindPrior, PARTS_SHARE, SHARES_WEIGHT, T0};
use crate::record::{ALPHA, GAMMA, dot, node_weights};

/// Parameters with weights summing to 1: one for each node of a building's effect.
pub(crate) type Points = Vec<(f64, Vec<f64>)>;

/// The shares that maximise the target given the other parameters: with n_c failures and E_c expected per unit of
/// share (at each unit's posterior mean of z, and of its building's effect), w_c = (n_c + 20 w⁰_c)/(E_c + λ), λ such that
/// they sum to 1. `of` says which of `points` each unit has.
pub(crate) fn update_shares(
    prior: &KindPrior,
    (used, of): (&[(&UnitHistory, Vec<Node>)], &[usize]),
    shares: &[f64],
    points: &[Points],
) -> Vec<f64> {
    let centre = prior.shares();
    if centre.len() < 2 {
        return centre;
    }
    let mut seen = vec![0.0; centre.len()];
    let mut expected = vec![0.0; centre.len()];
    for ((history, nodes), place) in used.iter().zip(of) {
        for failure in history.counted() {
            if let Some(n) = seen.get_mut(prior.clock_of(failure.part.as_deref())) {
                *n += 1.0;
            }
        }
        add_expected(
            prior,
            (history, nodes),
            shares,
            &points[*place],
            &mut expected,
        );
    }
    let top: Vec<f64> = seen
        .iter()
        .zip(&centre)
        .map(|(n, w)| n + SHARES_WEIGHT * w)
        .collect();
    let excess = |lambda: f64| {
        top.iter()
            .zip(&expected)
            .map(|(t, e)| t / (e + lambda))
            .sum::<f64>()
            - 1.0
    };
    let total: f64 = top.iter().sum();
    let least = -expected.iter().copied().fold(f64::INFINITY, f64::min);
    let Some(lambda) = brent(least + 1e-9 * (1.0 + least.abs()), total, excess) else {
        return shares.to_vec();
    };
    let raw: Vec<f64> = top
        .iter()
        .zip(&expected)
        .map(|(t, e)| t / (e + lambda))
        .collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|w| w / sum).collect()
}

fn add_expected(
    prior: &KindPrior,
    (history, nodes): (&UnitHistory, &[Node]),
    shares: &[f64],
    points: &Points,
    expected: &mut [f64],
) {
    let unit = subject(history, prior, shares, nodes);
    for (share, p) in points {
        let weights = node_weights(&unit, p, T0);
        for ((node, (_, record)), weight) in nodes.iter().zip(&unit.nodes).zip(weights) {
            let z = posterior(record, p).mean();
            for (window, spells) in history.windows.iter().zip(&node.spells) {
                let rate = (p[ALPHA] + dot(&p[GAMMA..], &window.x)).exp();
                let scale = share * weight * z * rate * PARTS_SHARE;
                expected
                    .iter_mut()
                    .zip(spells)
                    .for_each(|(e, spell)| *e += scale * spell);
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::history::{Failure, Installed, Renewal, Window, nodes};
    use crate::kind_fit::{fit_kind, subjects};
    use crate::prior::{PartClock, PartPrior};
    use crate::record::{LN_THETA, log_likelihood};
    use crate::rests_on::priors;
    use crate::verdict::Verdict;

    pub(crate) fn prior() -> KindPrior {
        let part = |code: &str, share: f64, shape: f64, clock: PartClock| PartPrior {
            code: code.to_owned(),
            share,
            shape,
            clock,
        };
        KindPrior::around(
            0.18,
            0.7,
            vec![
                part("pump", 0.5, 2.0, PartClock::Part),
                part("board", 0.3, 1.2, PartClock::Part),
                part("body", 0.2, 3.0, PartClock::Unit),
            ],
        )
    }

    fn fleet() -> Vec<UnitHistory> {
        (0..30)
            .map(|i| {
                let i = f64::from(i);
                let faults = ["board", "board", "pump", "body", "other"];
                let failures: Vec<Failure> = faults[..(i as usize % 6).min(5)]
                    .iter()
                    .enumerate()
                    .map(|(k, part)| Failure {
                        part: Some((*part).to_owned()),
                        at: 15.3 + 1.1 * k as f64 + 0.01 * i,
                        between: None,
                    })
                    .collect();
                UnitHistory {
                    installed: Installed {
                        earliest: i * 0.3,
                        latest: i * 0.3 + (i % 3.0),
                    },
                    windows: vec![Window {
                        from: 15.0,
                        until: 22.0,
                        x: Vec::new(),
                    }],
                    renewals: vec![Renewal {
                        part: "pump".to_owned(),
                        at: 16.0,
                    }],
                    failures,
                    present: Vec::new(),
                    merged: 0,
                    written_off: false,
                }
            })
            .collect()
    }

    /// Level and shares are found in turn; the pair must be the maximum of the whole target, not of each alone.
    #[test]
    fn no_step_in_level_frailty_or_shares_raises_the_target() {
        let (prior, fleet) = (prior(), fleet());
        let fit = fit_kind(&prior, &fleet).unwrap();
        assert_eq!(fit.verdict, Verdict::Converged);
        let used: Vec<(&UnitHistory, Vec<Node>)> =
            fleet.iter().map(|h| (h, nodes(h, &prior))).collect();
        let target = |p: &[f64], shares: &[f64]| {
            let priors = priors(&prior);
            let level: f64 = [ALPHA, LN_THETA]
                .iter()
                .map(|&i| -0.5 * ((p[i] - priors[i].mean) / priors[i].sd).powi(2))
                .sum();
            let dirichlet: f64 = prior
                .shares()
                .iter()
                .zip(shares)
                .map(|(w, s)| SHARES_WEIGHT * w * s.ln())
                .sum();
            log_likelihood(&subjects(&prior, &used, shares), p, T0).value + level + dirichlet
        };
        let best = target(&fit.parameters, &fit.shares);
        for i in [ALPHA, LN_THETA] {
            for step in [-1e-3, 1e-3] {
                let mut p = fit.parameters.clone();
                p[i] += step;
                assert!(target(&p, &fit.shares) < best, "parameter {i}");
            }
        }
        for (from, to) in [(0, 1), (1, 0), (1, 2), (2, 1), (0, 2), (2, 0)] {
            let mut shares = fit.shares.clone();
            shares[from] -= 1e-4;
            shares[to] += 1e-4;
            assert!(
                target(&fit.parameters, &shares) < best,
                "share {from} to {to}"
            );
        }
        // Boards failed more often than their share would have it.
        assert!(fit.shares[1] > 0.3);
    }
}
