//! How many failures over a long stretch, parts put in new as they fail: the closed form lets clocks run on and so counts
//! too many (FORECAST §6: simulate when the horizon is longer than two years).
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::forecast::Horizon;
use crate::kind_fit::posterior;
use crate::prepared::Prepared;
use crate::prior::T0;
use crate::record::{ALPHA, GAMMA, dot, node_weights};

/// Years from which the number is simulated.
const LONG: f64 = 2.0;
/// Lives simulated for each parameter draw.
const LIVES: usize = 16;
/// Above this many failures expected the closed form stands: no unit of any trade fails so often.
const TOO_MANY: f64 = 100.0;

/// Numbers of failures in simulated futures of the unit, rising; `None` where the closed form stands: a short or uneven
/// horizon, one clock that never restarts, or more failures than can be meant. The numbers drawn are the same on every
/// call, so that a page does not flicker.
pub(crate) fn futures(
    unit: &Prepared<'_>,
    horizon: &Horizon,
    draws: &[Vec<f64>],
    expected: f64,
) -> Option<Vec<u64>> {
    let [(from, until, weight)] = horizon.pieces.as_slice() else {
        return None;
    };
    let years = until - from;
    if years <= LONG || *weight != 1.0 || unit.prior.parts.is_empty() || expected > TOO_MANY {
        return None;
    }
    let mut rng = ChaCha8Rng::seed_from_u64(0);
    let ages: Vec<Vec<f64>> = unit
        .nodes
        .iter()
        .map(|node| clock_ages(unit, node.installed, *from))
        .collect();
    let mut counts = Vec::with_capacity(draws.len() * LIVES);
    for p in draws {
        let weights = node_weights(&unit.subject, p, T0);
        let rate = (p[ALPHA] + dot(&p[GAMMA..], &unit.history.present)).exp();
        for _ in 0..LIVES {
            let place = pick(&weights, uniform(&mut rng));
            let z = posterior(&unit.subject.nodes[place].1, p).quantile(uniform(&mut rng));
            counts.push(one_future(unit, (&ages[place], z * rate), years, &mut rng));
        }
    }
    counts.sort_unstable();
    Some(counts)
}

/// Age of every clock at a moment.
fn clock_ages(unit: &Prepared<'_>, installed: f64, now: f64) -> Vec<f64> {
    (0..=unit.prior.parts.len())
        .map(|place| {
            let restarts = unit.prior.restarting(place);
            let start = unit.history.clock_start(restarts, installed, now.next_up());
            (now - start).max(0.0)
        })
        .collect()
}

fn pick(weights: &[f64], u: f64) -> usize {
    let mut sum = 0.0;
    let found = weights.iter().position(|w| {
        sum += w;
        sum >= u
    });
    found.unwrap_or(weights.len().saturating_sub(1))
}

/// Failures of one future: each clock fails at rate · weight · (age/10)^(shape − 1), by inverting its cumulative hazard.
fn one_future(
    unit: &Prepared<'_>,
    (ages, rate): (&[f64], f64),
    years: f64,
    rng: &mut ChaCha8Rng,
) -> u64 {
    let mut count = 0;
    let clocks = unit.prior.clocks(Some(&unit.fit.shares));
    for (place, (clock, age)) in clocks.iter().zip(ages).enumerate() {
        let level = rate * clock.weight * T0 / clock.shape;
        let restarts = unit.prior.restarting(place).is_some();
        let (mut age, mut left) = (*age, years);
        // A clock that fails a thousand times in the stretch is stopped: it cannot be meant.
        for _ in 0..1_000 {
            let spent = -uniform(rng).ln() / level;
            let next = T0 * ((age / T0).powf(clock.shape) + spent).powf(1.0 / clock.shape);
            left -= next - age;
            if left.is_nan() || left < 0.0 {
                break;
            }
            count += 1;
            age = if restarts { 0.0 } else { next };
        }
    }
    count
}

fn uniform(rng: &mut ChaCha8Rng) -> f64 {
    (f64::from(rng.next_u32()) + 0.5) / 4_294_967_296.0
}
