//! The doubt of the parts' shares, carried into the level and the spread.
//!
//! A fit's curvature is taken at given shares. Shares that are not known make the level less sure too, where parts age
//! unlike one another: with B the mixed second derivatives and D those of the shares (negative, on their logarithms'
//! ratios to the last), the marginal covariance of the other parameters is C + C B (D − BᵀCB)⁻¹ BᵀC. Measured over 1,000
//! fleets of 40 units the 80 % interval of the level held 75.9 % without it.
use nalgebra::DMatrix;

use crate::frailty::{CountTable, UnitTerm};
use crate::history::{Node, UnitHistory, subject};
use crate::prior::{KindPrior, PARTS_SHARE, SHARES_WEIGHT, T0};
use crate::record::{ALPHA, GAMMA, LN_BETA, LN_THETA, dot, node_weights, theta_of};

/// Second derivatives of the target: parameters by shares, and shares by shares.
struct Bends {
    mixed: DMatrix<f64>,
    shares: DMatrix<f64>,
}

/// The covariance with the shares' doubt in it; as it was where there is nothing to add, or nothing usable.
pub(crate) fn widened(
    prior: &KindPrior,
    used: &[(&UnitHistory, Vec<Node>)],
    shares: &[f64],
    p: &[f64],
    covariance: &DMatrix<f64>,
) -> DMatrix<f64> {
    let free = shares.len().saturating_sub(1);
    if free == 0 {
        return covariance.clone();
    }
    let bends = bends(prior, used, shares, p);
    let through = covariance * -&bends.mixed;
    let left = -&bends.shares + bends.mixed.transpose() * &through;
    match left.cholesky() {
        Some(factor) => covariance + &through * factor.solve(&through.transpose()),
        None => covariance.clone(),
    }
}

fn bends(
    prior: &KindPrior,
    used: &[(&UnitHistory, Vec<Node>)],
    shares: &[f64],
    p: &[f64],
) -> Bends {
    let free = shares.len() - 1;
    let mut bends = Bends {
        mixed: DMatrix::zeros(p.len(), free),
        shares: DMatrix::zeros(free, free),
    };
    let failures = |h: &UnitHistory| h.counted().count() as u32 + u32::from(h.written_off);
    let most = used.iter().map(|(h, _)| failures(h)).max().unwrap_or(0);
    let table = CountTable::new(theta_of(p), most);
    let mut counted = SHARES_WEIGHT;
    for (history, nodes) in used {
        let of_parts = history
            .counted()
            .filter(|f| prior.clock_of(f.part.as_deref()) < shares.len());
        counted += of_parts.count() as f64;
        let unit = subject(history, prior, shares, nodes);
        let weights = node_weights(&unit, p, T0);
        for ((node, (_, record)), weight) in nodes.iter().zip(&unit.nodes).zip(weights) {
            let term = record.term(&table, record.mu(p, T0));
            bends.add((history, node), shares, p, (&term, weight));
        }
    }
    // The failures told by part, and the Dirichlet prior's.
    for k in 0..free {
        for l in 0..free {
            let same = f64::from(u8::from(k == l));
            bends.shares[(k, l)] -= counted * (shares[k] * same - shares[k] * shares[l]);
        }
    }
    bends
}

impl Bends {
    fn add(
        &mut self,
        (history, node): (&UnitHistory, &Node),
        shares: &[f64],
        p: &[f64],
        (term, weight): (&UnitTerm, f64),
    ) {
        let free = shares.len() - 1;
        // Expected of each part, over all windows; and what moves them with each parameter.
        let mut parts = vec![0.0; shares.len()];
        let mut moved = DMatrix::zeros(p.len(), shares.len());
        let mut first = vec![0.0; p.len()];
        for (window, spells) in history.windows.iter().zip(&node.spells) {
            let rate = (p[ALPHA] + dot(&p[GAMMA..], &window.x)).exp();
            let rest = spells.last().copied().unwrap_or(0.0) * (1.0 - PARTS_SHARE) * rate;
            let mut here = rest;
            for (k, share) in shares.iter().enumerate() {
                let own = rate * PARTS_SHARE * share * spells[k];
                parts[k] += own;
                here += own;
                moved[(ALPHA, k)] += own;
                for (i, x) in window.x.iter().enumerate() {
                    moved[(GAMMA + i, k)] += own * x;
                }
            }
            first[ALPHA] += here;
            for (i, x) in window.x.iter().enumerate() {
                first[GAMMA + i] += here * x;
            }
        }
        let whole: f64 = parts.iter().sum();
        let slope: Vec<f64> = (0..free).map(|k| parts[k] - shares[k] * whole).collect();
        let theta = theta_of(p);
        for k in 0..free {
            for i in (0..p.len()).filter(|&i| i != LN_BETA && i != LN_THETA) {
                let row: f64 = moved.row(i).iter().sum();
                let both = moved[(i, k)] - shares[k] * row;
                self.mixed[(i, k)] +=
                    weight * (term.d_mu * both + term.d_mu_mu * first[i] * slope[k]);
            }
            self.mixed[(LN_THETA, k)] += weight * theta * term.d_mu_theta * slope[k];
            for l in 0..free {
                let same = f64::from(u8::from(k == l));
                let both = same * slope[k] - shares[k] * parts[l] - shares[l] * parts[k]
                    + 2.0 * shares[k] * shares[l] * whole;
                self.shares[(k, l)] +=
                    weight * (term.d_mu * both + term.d_mu_mu * slope[k] * slope[l]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::{Failure, Installed, Renewal, Window, nodes};
    use crate::kind_fit::subjects;
    use crate::record::log_likelihood;
    use crate::shares::tests::prior;

    fn fleet() -> Vec<UnitHistory> {
        let one = |i: usize| {
            let age = i as f64;
            let faults = ["board", "pump", "body", "other"];
            let told = faults.iter().take(i % 5).enumerate();
            UnitHistory {
                installed: Installed {
                    earliest: -age,
                    latest: -age,
                },
                windows: vec![Window {
                    from: 0.0,
                    until: 6.0,
                    x: Vec::new(),
                }],
                renewals: vec![Renewal {
                    part: "pump".to_owned(),
                    at: 1.5,
                }],
                failures: told
                    .map(|(k, part)| Failure {
                        part: Some((*part).to_owned()),
                        at: 0.7 + 1.3 * k as f64,
                        between: None,
                    })
                    .collect(),
                present: Vec::new(),
                merged: 0,
                written_off: false,
            }
        };
        (0..20).map(one).collect()
    }

    fn shares_of(v: [f64; 2]) -> Vec<f64> {
        let raw = [v[0].exp(), v[1].exp(), 1.0];
        let sum: f64 = raw.iter().sum();
        raw.iter().map(|w| w / sum).collect()
    }

    #[test]
    fn second_derivatives_meet_differences_and_doubt_only_widens() {
        let (prior, fleet) = (prior(), fleet());
        let used: Vec<(&UnitHistory, Vec<Node>)> =
            fleet.iter().map(|h| (h, nodes(h, &prior))).collect();
        let (v, p) = ([0.4, -0.2], [-1.1, 0.0, -0.5]);
        let target = |v: [f64; 2]| {
            let shares = shares_of(v);
            let mut local = log_likelihood(&subjects(&prior, &used, &shares), &p, T0);
            let told = prior.shares();
            let told = told.iter().zip(&shares);
            local.value += told.map(|(a, w)| SHARES_WEIGHT * a * w.ln()).sum::<f64>();
            local
        };
        let found = bends(&prior, &used, &shares_of(v), &p);
        let h = 1e-4;
        for k in 0..2 {
            let moved = |by: f64| {
                let mut at = v;
                at[k] += by;
                target(at)
            };
            let (up, mid, down) = (moved(h), moved(0.0), moved(-h));
            let mixed = (&up.gradient - &down.gradient) / (2.0 * h);
            for i in [ALPHA, LN_THETA] {
                let own = found.mixed[(i, k)];
                assert!((own - mixed[i]).abs() < 1e-5 * (1.0 + own.abs()), "{i} {k}");
            }
            let bend = (up.value - 2.0 * mid.value + down.value) / (h * h);
            let own = found.shares[(k, k)];
            assert!((own - bend).abs() < 1e-4 * own.abs(), "{own} {bend}");
        }
        let covariance = DMatrix::from_diagonal(&[0.04, 0.0, 0.09].to_vec().into());
        let wide = widened(&prior, &used, &shares_of(v), &p, &covariance);
        assert!(wide[(ALPHA, ALPHA)] > 0.04 && wide[(LN_THETA, LN_THETA)] >= 0.09);
        assert_eq!(wide[(LN_BETA, LN_BETA)], 0.0);
    }
}
