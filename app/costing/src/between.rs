//! The multiplier nearest 1 at which an advantage changes sign, where it is the difference F − G of two concave functions.
//!
//! Multiplying the quote, prices, energy, service or failures (with no failure beyond repair) moves every cost along a straight
//! line, and a least cost is the least of many: with e(0) what a pound a year for ever is worth and A* the cheapest chain,
//! F = min_k W\[k\] + A* e(0) and G = W\[0\] + A* e(0) are concave, for A* falls out of both (annuity(k) + D(k) e(k) = e(0), see
//! [`crate::rates`]). A concave function lies above its chord between two points and below the chord through two points on one
//! side, carried on. So a few points tell whether F − G can change sign between two of them: no step is missed, however close
//! two changes lie, and hardly any need be taken.
use crate::walk::{LEAST, MOST, STEP, nearer, positive, root};

/// Stretches of one sign are not parted further than this (in logarithm).
const FINEST: f64 = 1e-7;
/// After so many points a stretch of one sign counts as certain: where the advantage hardly leaves nought nothing ever is.
const ASKED: usize = 400;

/// Both functions at one multiplier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Seen {
    /// The multiplier.
    pub by: f64,
    /// F − G as the comparison says it, pounds.
    pub advantage: f64,
    /// F.
    pub keep: f64,
    /// G.
    pub now: f64,
}

impl Seen {
    fn of(&self, which: Which) -> f64 {
        match which {
            Which::Keep => self.keep,
            Which::Now => self.now,
        }
    }
}

/// One of the two functions.
#[derive(Clone, Copy)]
enum Which {
    Keep,
    Now,
}

/// The change of sign in [0.1, 5] nearest 1 in logarithm; `middle` is what is seen at 1.
pub(crate) fn switch_multiplier(
    middle: Seen,
    mut at: impl FnMut(f64) -> Option<Seen>,
) -> Option<f64> {
    let (low, high) = (at(LEAST)?, at(MOST)?);
    let up = outward((low, middle, high), None, &mut at);
    let down = outward((high, middle, low), up, &mut at);
    match (up, down) {
        (Some(up), Some(down)) if nearer(down, up) => Some(down),
        (up, down) => up.or(down),
    }
}

/// The first change of sign from `near` to `far`, `behind` lying on the other side of `near`; none is wanted farther from 1 than
/// `most`.
fn outward(
    (behind, near, far): (Seen, Seen, Seen),
    most: Option<f64>,
    at: &mut impl FnMut(f64) -> Option<Seen>,
) -> Option<f64> {
    let (mut behind, mut near, mut ahead) = (behind, near, vec![far]);
    let mut asked = 0;
    while let Some(&next) = ahead.last() {
        if most.is_some_and(|most| !nearer(near.by, most)) {
            return None;
        }
        let stretch = Stretch {
            behind,
            near,
            next,
            beyond: ahead.iter().rev().nth(1).copied(),
        };
        let length = (next.by / near.by).ln().abs();
        if positive(near.advantage) != positive(next.advantage) {
            if length <= STEP || stretch.turns_once() {
                return root(near.by, next.by, |by| Some(at(by)?.advantage));
            }
        } else if length <= FINEST || asked >= ASKED || stretch.keeps_its_sign() {
            (behind, near) = (near, next);
            ahead.pop();
            continue;
        }
        asked += 1;
        ahead.push(at((near.by * next.by).sqrt())?);
    }
    None
}

/// From one point to the next, with a point on either side of both.
struct Stretch {
    behind: Seen,
    near: Seen,
    next: Seen,
    beyond: Option<Seen>,
}

impl Stretch {
    /// Slope of the chord up to `near`: on the stretch the function rises no faster, going outward.
    fn before(&self, which: Which) -> f64 {
        let (a, b) = (&self.behind, &self.near);
        (b.of(which) - a.of(which)) / (b.by - a.by)
    }

    /// Slope of the chord from `next` on.
    fn after(&self, which: Which) -> Option<f64> {
        let (a, b) = (&self.next, self.beyond.as_ref()?);
        Some((b.of(which) - a.of(which)) / (b.by - a.by))
    }

    /// How far the chord behind, carried on to `next`, lies above the function there.
    fn above_next(&self, which: Which) -> f64 {
        let run = self.next.by - self.near.by;
        self.near.of(which) + self.before(which) * run - self.next.of(which)
    }

    /// The same of the chord beyond, carried back to `near`.
    fn above_near(&self, which: Which) -> Option<f64> {
        let run = self.near.by - self.next.by;
        Some(self.next.of(which) + self.after(which)? * run - self.near.of(which))
    }

    /// Both ends have one sign, and so has all between: one function lies above its chord there, the other below a chord
    /// carried on, and those two straight lines do not cross.
    fn keeps_its_sign(&self) -> bool {
        let replace = positive(self.near.advantage);
        // What must lie below its carried chord: G where replacing is cheaper, F where it is not.
        let which = if replace { Which::Now } else { Which::Keep };
        let size = |seen: &Seen| seen.advantage.abs();
        size(&self.next) > self.above_next(which).max(0.0)
            || self
                .above_near(which)
                .is_some_and(|gap| size(&self.near) > gap.max(0.0))
    }

    /// The ends differ in sign, and F − G moves one way all along.
    fn turns_once(&self) -> bool {
        let Some((keep, now)) = self.after(Which::Keep).zip(self.after(Which::Now)) else {
            return false;
        };
        // Slopes by the multiplier: going down, `before` is the least and `after` the greatest.
        let (least, greatest) = if self.next.by > self.near.by {
            (
                keep - self.before(Which::Now),
                self.before(Which::Keep) - now,
            )
        } else {
            (
                self.before(Which::Keep) - now,
                keep - self.before(Which::Now),
            )
        };
        least > 0.0 || greatest < 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The least of some straight lines a + b m.
    fn least(lines: &[(f64, f64)], by: f64) -> f64 {
        let all = lines.iter().map(|(a, b)| a + b * by);
        all.fold(f64::INFINITY, f64::min)
    }

    fn found(keep: &[(f64, f64)], now: &[(f64, f64)]) -> (Option<f64>, usize) {
        let mut asked = 0;
        let seen = |by| {
            let (keep, now) = (least(keep, by), least(now, by));
            Seen {
                by,
                advantage: keep - now,
                keep,
                now,
            }
        };
        let found = switch_multiplier(seen(1.0), |by| {
            asked += 1;
            Some(seen(by))
        });
        (found, asked)
    }

    /// Straight lines crossing where arithmetic says: 10 − m against 4 at m = 6 (out of reach), at 3 with 7, at 0.25 with 9.75.
    #[test]
    fn two_lines_cross_once() {
        let line = [(10.0, -1.0)];
        assert_eq!(found(&line, &[(4.0, 0.0)]).0, None);
        for (level, known) in [(7.0, 3.0), (9.75, 0.25)] {
            let (at, asked) = found(&line, &[(level, 0.0)]);
            assert!(at.is_some_and(|at| (at - known).abs() < 1e-12), "{at:?}");
            assert!(asked < 25, "{asked}");
        }
    }

    /// F = min(m, 4 − m) is 2 at its peak of m = 2 and crosses G = 2 − 1e-5 twice, 2e-5 apart: a step of 0.01 misses both.
    #[test]
    fn a_peak_narrower_than_any_step_is_found() {
        let peak = [(0.0, 1.0), (4.0, -1.0)];
        let (at, asked) = found(&peak, &[(2.0 - 1e-5, 0.0)]);
        assert!(
            at.is_some_and(|at| (at - (2.0 - 1e-5)).abs() < 1e-11),
            "{at:?}"
        );
        assert!(asked < 200, "{asked}");
        assert_eq!(found(&peak, &[(2.0 + 1e-5, 0.0)]).0, None);
    }
}
