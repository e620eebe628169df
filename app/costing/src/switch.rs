//! Asking a case again and again with one input multiplied: the advantage then, and the multiplier at which it turns.
//!
//! Which way is taken hangs on how the advantage moves with the input, never on what is asked of it: each gives what walking
//! from 1 outward in steps of a hundredth gives.
use crate::between::{self, Seen};
use crate::bounds::{OfFailures, OfRate};
use crate::case::CheckedCase;
use crate::rates::Discounts;
use crate::tornado::Param;
use crate::walk::{self, Ground, LEAST, MOST, Marks};
use crate::weigh::{Levers, Weighed, Weigher};

/// An advantage nearer nought than this is not told from it by a bound (pounds).
const DUST: f64 = 1e-6;

/// A case to be asked.
pub(crate) struct Asked<'a> {
    checked: &'a CheckedCase,
    weighed: &'a Weighed,
    table: &'a Discounts,
    /// Everything weighed anew.
    anew: Weigher<'a>,
    /// Options as they are, only keeping weighed anew.
    keeping: Weigher<'a>,
    /// Some part stays beside one option only: how often the old unit fails then bears on that option.
    stays_by_option: bool,
}

impl<'a> Asked<'a> {
    pub fn new(checked: &'a CheckedCase, weighed: &'a Weighed, table: &'a Discounts) -> Self {
        let mut keeping = Weigher::new(checked);
        keeping.weigh(&Levers::default(), table);
        Self {
            checked,
            weighed,
            table,
            anew: Weigher::new(checked),
            keeping,
            stays_by_option: checked.options.iter().any(|o| o.stays > 0.0),
        }
    }

    /// Whether an input leaves every option, and what starting it costs, as they are.
    fn is_of_keeping(&self, param: Param) -> bool {
        match param {
            Param::Quote => !self.checked.case.options.iter().any(|o| o.leaves_fault),
            Param::FaultsOld => !self.stays_by_option,
            Param::ServiceOld | Param::WriteOff => true,
            _ => false,
        }
    }

    fn weighed_at(&mut self, param: Param, by: f64) -> &Weighed {
        let levers = param.lever(by);
        if param == Param::Rate {
            let table = Discounts::for_case(self.checked, by);
            self.anew.weigh(&levers, &table)
        } else if self.is_of_keeping(param) {
            self.keeping.keep(&levers, self.table)
        } else {
            self.anew.weigh(&levers, self.table)
        }
    }

    /// The advantage with an input multiplied.
    pub fn advantage(&mut self, param: Param, by: f64) -> Option<f64> {
        self.weighed_at(param, by).advantage()
    }

    /// Of all multipliers in [0.1, 5] at which the answer turns, the one nearest 1 in logarithm.
    pub fn switch_multiplier(&mut self, marks: &Marks, param: Param) -> Option<f64> {
        let lost = self.checked.case.old.write_off_share > 0.0;
        let seen = (self.weighed, self.table);
        let bound = match param {
            Param::Rate => OfRate::new(self.checked, self.weighed).map(Bound::Rate),
            Param::FaultsOld if lost && self.stays_by_option => None,
            Param::FaultsOld if lost => {
                Some(Bound::Failures(OfFailures::new(self.checked, seen, false)))
            }
            Param::WriteOff => Some(Bound::Failures(OfFailures::new(self.checked, seen, true))),
            _ => {
                if let Some(for_ever) = self.table.for_ever(1.0, 0) {
                    let middle = seen_of(self.weighed, 1.0, for_ever)?;
                    return between::switch_multiplier(middle, |by| {
                        seen_of(self.weighed_at(param, by), by, for_ever)
                    });
                }
                None
            }
        };
        let middle = self.weighed.advantage()?;
        let mut walked = Walked {
            asked: self,
            param,
            bound,
        };
        walk::switch_multiplier(marks, middle, &mut walked)
    }
}

/// A comparison as F and G of [`between`]; `for_ever` is e(0).
fn seen_of(weighed: &Weighed, by: f64, for_ever: f64) -> Option<Seen> {
    let chain = weighed.least_annual? * for_ever;
    Some(Seen {
        by,
        advantage: weighed.advantage()?,
        keep: weighed.keep[weighed.best_keep?]? + chain,
        now: weighed.keep.first().copied().flatten()? + chain,
    })
}

/// What is known of how an advantage moves.
enum Bound {
    Failures(OfFailures),
    Rate(OfRate),
}

struct Walked<'b, 'a> {
    asked: &'b mut Asked<'a>,
    param: Param,
    bound: Option<Bound>,
}

impl Ground for Walked<'_, '_> {
    fn advantage(&mut self, by: f64) -> Option<f64> {
        self.asked.advantage(self.param, by)
    }

    fn certain_to(&mut self, by: f64, advantage: f64, up: bool) -> f64 {
        let size = (advantage.abs() - DUST).max(0.0);
        match &mut self.bound {
            None => by,
            Some(Bound::Rate(bound)) => bound.reach(self.asked.checked, by.ln(), size, up).exp(),
            Some(Bound::Failures(bound)) => {
                // The slope grows with the multiplier: upward it is taken a third farther on, and holds so far.
                let most = if up { f64::min(by * 1.35, MOST) } else { by };
                let far = size / bound.slope(most).max(f64::MIN_POSITIVE);
                if up {
                    f64::min(by + far, most)
                } else {
                    f64::max(by - far, LEAST)
                }
            }
        }
    }
}
