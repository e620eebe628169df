//! The multiplier nearest 1 at which an advantage changes sign, by walking outward from 1 in small steps; where more is known of
//! the ground than its height, as far as the sign is certain is gone in one stride.
//!
//! Both ways from 1 the same marks are met, [`STEP`] apart in logarithm. Between two marks of one sign a dip towards nought is
//! looked into, since two changes can lie close together. A stride only leaves out marks between which nothing can change, so
//! it finds what walking every step would find.
use numerics::root::brent;

/// Multipliers are searched inside these two.
pub(crate) const LEAST: f64 = 0.1;
/// See [`LEAST`].
pub(crate) const MOST: f64 = 5.0;
/// Step of the search in the logarithm of the multiplier.
pub(crate) const STEP: f64 = 0.01;

/// What is walked over.
pub(crate) trait Ground {
    /// The advantage of replacing now at a multiplier, pounds.
    fn advantage(&mut self, by: f64) -> Option<f64>;

    /// The multiplier up to which, from `by` on, the advantage certainly keeps the sign it has there; `by` where nothing is
    /// certain.
    fn certain_to(&mut self, by: f64, advantage: f64, up: bool) -> f64 {
        let _ = (advantage, up);
        by
    }
}

/// The multiplier in [0.1, 5] nearest 1 in logarithm at which the answer turns; at 1 the advantage is `middle`.
pub(crate) fn switch_multiplier(
    marks: &Marks,
    middle: f64,
    ground: &mut impl Ground,
) -> Option<f64> {
    let up = marks.up.walk(ground, middle, usize::MAX);
    let most = up.map_or(usize::MAX, |(step, _)| step);
    let down = marks.down.walk(ground, middle, most);
    match (up, down) {
        (Some((after, up)), Some((before, down))) if before < after || nearer(down, up) => {
            Some(down)
        }
        (Some((_, up)), _) => Some(up),
        (None, down) => down.map(|(_, by)| by),
    }
}

/// Whether `a` is nearer 1 in logarithm than `b`.
pub(crate) fn nearer(a: f64, b: f64) -> bool {
    a.ln().abs() < b.ln().abs()
}

/// Whether replacing now is the cheaper course.
pub(crate) fn positive(advantage: f64) -> bool {
    advantage > 0.0
}

/// The place between two multipliers of different signs at which the sign changes.
pub(crate) fn root(
    start: f64,
    end: f64,
    mut advantage: impl FnMut(f64) -> Option<f64>,
) -> Option<f64> {
    brent(start, end, |by| advantage(by).unwrap_or(f64::NAN))
}

/// Every mark, made once for as many walks as there are.
pub(crate) struct Marks {
    up: Side,
    down: Side,
}

impl Marks {
    pub fn new() -> Self {
        Self {
            up: Side::new(true),
            down: Side::new(false),
        }
    }
}

/// One direction of the walk.
struct Side {
    up: bool,
    /// Size of the logarithm at each step, the first 0.
    marks: Vec<f64>,
}

impl Side {
    fn new(up: bool) -> Self {
        let reach = if up { MOST.ln() } else { -LEAST.ln() };
        let mut marks = vec![0.0];
        let mut here = 0.0;
        while here < reach {
            here = f64::min(here + STEP, reach);
            marks.push(here);
        }
        Self { up, marks }
    }

    fn by(&self, mark: usize) -> f64 {
        let log = self.marks[mark];
        (if self.up { log } else { -log }).exp()
    }

    /// The step in which a change of sign is met, and where it is; not looked for after `most` steps.
    fn walk(&self, ground: &mut impl Ground, middle: f64, most: usize) -> Option<(usize, f64)> {
        let last = most.min(self.marks.len() - 1);
        let mut here = (0, middle);
        // The mark before this one where the way between them was not certain.
        let mut before: Option<(usize, f64)> = None;
        while here.0 < last {
            let sure = self.certain(ground, here).min(last);
            if sure > here.0 && before.is_none() {
                let there = ground.advantage(self.by(sure))?;
                if positive(there) == positive(here.1) {
                    here = (sure, there);
                    continue;
                }
            }
            let next = here.0 + 1;
            let value = ground.advantage(self.by(next))?;
            if positive(value) != positive(here.1) {
                let found = root(self.by(here.0), self.by(next), |by| ground.advantage(by))?;
                return Some((next, found));
            }
            if before.is_none() && here.0 > 0 {
                before = Some((here.0 - 1, ground.advantage(self.by(here.0 - 1))?));
            }
            if let Some(start) = before
                && dips(start.1, here.1, value)
                && let Some(found) = self.dip(ground, start.0, next)
            {
                return Some((next, found));
            }
            before = (sure <= here.0).then_some(here);
            here = (next, value);
        }
        None
    }

    /// The farthest mark up to which the sign is certain.
    fn certain(&self, ground: &mut impl Ground, (mark, advantage): (usize, f64)) -> usize {
        let by = self.by(mark);
        let far = ground.certain_to(by, advantage, self.up).ln().abs();
        let near = self.marks[mark];
        let steps = ((far - near) / STEP).floor();
        if steps >= 1.0 {
            mark + steps as usize
        } else {
            mark
        }
    }

    /// Looks for the bottom of a dip of |advantage| by golden section; a change of sign on the way is gone after.
    fn dip(&self, ground: &mut impl Ground, start: usize, end: usize) -> Option<f64> {
        const GOLD: f64 = 0.618_033_988_749_894_9;
        let sign = if self.up { 1.0 } else { -1.0 };
        let mut at = |log: f64| ground.advantage((sign * log).exp());
        let (begin, first) = (
            self.marks[start],
            at(self.marks[start]).is_some_and(positive),
        );
        let (mut low, mut high) = (begin, self.marks[end]);
        for _ in 0..40 {
            let (left, right) = (high - GOLD * (high - low), low + GOLD * (high - low));
            let (a, b) = (at(left)?, at(right)?);
            for (point, value) in [(left, a), (right, b)] {
                if positive(value) != first {
                    let ends = ((sign * begin).exp(), (sign * point).exp());
                    return root(ends.0, ends.1, |by| at(sign * by.ln()));
                }
            }
            if a.abs() < b.abs() {
                high = right;
            } else {
                low = left;
            }
        }
        None
    }
}

/// Whether three heights in a row show a dip that could reach nought: the middle one lowest, and near nought by the slopes
/// around it.
fn dips(left: f64, middle: f64, right: f64) -> bool {
    let (left, middle, right) = (left.abs(), middle.abs(), right.abs());
    middle <= left && middle <= right && middle < 4.0 * (left - middle).max(right - middle)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A parabola in the multiplier with changes of sign at two places, walked with and without knowing its steepest slope.
    struct Bowl {
        roots: (f64, f64),
        /// Its slope is nowhere steeper; nothing is certain without it.
        steepest: Option<f64>,
        asked: usize,
    }

    impl Ground for Bowl {
        fn advantage(&mut self, by: f64) -> Option<f64> {
            self.asked += 1;
            Some((by - self.roots.0) * (by - self.roots.1))
        }

        fn certain_to(&mut self, by: f64, advantage: f64, up: bool) -> f64 {
            let far = self.steepest.map_or(0.0, |slope| advantage.abs() / slope);
            if up { by + far } else { by - far }.max(LEAST)
        }
    }

    #[test]
    fn strides_find_what_steps_find_and_ask_less() {
        let (mut all, mut asked) = (0, 0);
        // Roots two to fifteen in a hundred apart; the one nearest 1 is the answer (arithmetic).
        for (roots, known) in [
            ((3.0, 3.06), 3.0),
            ((0.4, 0.46), 0.46),
            ((0.7, 4.0), 0.7),
            ((0.5, 1.5), 1.5),
            ((7.0, 8.0), f64::NAN),
        ] {
            let bowl = |steepest| {
                let mut bowl = Bowl {
                    roots,
                    steepest,
                    asked: 0,
                };
                let middle = (1.0 - roots.0) * (1.0 - roots.1);
                let found = switch_multiplier(&Marks::new(), middle, &mut bowl);
                (found, bowl.asked)
            };
            // |2 by − (a + b)| ≤ 2 · 5 + 15 on [0.1, 5].
            let ((steps, many), (strides, few)) = (bowl(None), bowl(Some(25.0)));
            match steps {
                Some(found) => assert!((found - known).abs() < 1e-12, "{found} for {known}"),
                None => assert!(known.is_nan(), "{known} was not found"),
            }
            match (steps, strides) {
                (Some(a), Some(b)) => assert!((a - b).abs() < 1e-14, "{a} {b}"),
                (a, b) => assert_eq!(a, b),
            }
            (all, asked) = (all + many, asked + few);
        }
        assert!(2 * asked < all, "{asked} of {all}");
    }
}
