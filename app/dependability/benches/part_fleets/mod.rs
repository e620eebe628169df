//! Fleets of the production model with known truth: part clocks that restart, one frailty, drawn on their own.
use dependability::{
    Failure, Installed, KindPrior, PartClock, PartPrior, Renewal, UnitHistory, Window,
};
use rand_distr::{Distribution, Gamma};

use crate::fleets::{Draws, Size};

const PARTS: [(&str, f64, f64, PartClock); 5] = [
    ("pump", 0.3, 2.0, PartClock::Part),
    ("plate", 0.2, 2.5, PartClock::Part),
    ("board", 0.3, 1.2, PartClock::Part),
    ("drain", 0.1, 1.0, PartClock::Event),
    ("exchanger", 0.1, 3.0, PartClock::Unit),
];
/// Weight of the Dirichlet prior on the shares (DESIGN §6).
const WEIGHT: f64 = 20.0;

/// The kind.
pub fn prior() -> KindPrior {
    let part = |(code, share, shape, clock): (&str, f64, f64, PartClock)| PartPrior {
        code: code.to_owned(),
        share,
        shape,
        clock,
    };
    KindPrior::around(0.18, 0.7, PARTS.map(part).to_vec())
}

/// Shares drawn from their prior.
pub fn shares(draws: &mut Draws) -> Vec<f64> {
    let drawn = PARTS.map(|(_, share, _, _)| {
        let law = Gamma::new(WEIGHT * share, 1.0).ok();
        law.map_or(share, |law| law.sample(draws.source()))
    });
    let sum: f64 = drawn.iter().sum();
    drawn.iter().map(|share| share / sum).collect()
}

/// Units installed up to 18 years before the register opened at 0, and their failures to expect in the year after it.
pub fn fleet(
    draws: &mut Draws,
    (rate, theta): (f64, f64),
    shares: &[f64],
    size: Size,
) -> Vec<(UnitHistory, f64)> {
    let frailty = Gamma::new(1.0 / theta, theta).ok();
    let mut one = || {
        let installed = -18.0 * draws.even();
        let z: f64 = frailty.map_or(1.0, |law| law.sample(draws.source()));
        let mut history = UnitHistory {
            installed: Installed {
                earliest: installed,
                latest: installed,
            },
            windows: vec![Window {
                from: 0.0,
                until: size.years,
                x: Vec::new(),
            }],
            renewals: Vec::new(),
            failures: Vec::new(),
            present: Vec::new(),
            merged: 0,
            written_off: false,
        };
        let clocks = PARTS.iter().zip(shares);
        let clocks = clocks.map(|(p, share)| (Some(p.0), 0.9 * share, p.2, p.3 == PartClock::Part));
        let mut ahead = 0.0;
        for (part, share, shape, restarts) in clocks.chain([(None, 0.1, 1.4, false)]) {
            let level = z * rate * share;
            let (mut start, mut spent) = (installed, 0.0);
            loop {
                spent -= draws.even().ln();
                let at = start + 10.0 * (spent * shape / (10.0 * level)).powf(1.0 / shape);
                if at > size.years || history.failures.len() > 5_000 {
                    break;
                }
                if at > 0.0 {
                    let part = part.map(str::to_owned);
                    history.failures.push(Failure {
                        part,
                        at,
                        between: None,
                    });
                }
                if let (Some(part), true) = (part, restarts) {
                    let part = part.to_owned();
                    history.renewals.push(Renewal { part, at });
                    (start, spent) = (at, 0.0);
                }
            }
            let gone = |t: f64| 10.0 / shape * ((t - start) / 10.0).powf(shape);
            ahead += level * (gone(size.years + 1.0) - gone(size.years));
        }
        (history, ahead)
    };
    (0..size.units).map(|_| one()).collect()
}
