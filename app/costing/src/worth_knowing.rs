//! What it is worth to know something before deciding.
//!
//! The unknown turns out in one of a few ways j with chance w_j; C_d(j) is the expected cost of course d then. Without
//! knowing, only courses that are open in every way may be chosen: the best costs min_d Σ_j w_j C_d(j). Knowing first
//! costs Σ_j w_j min_d C_d(j). The difference is the expected value of perfect information (Raiffa and Schlaifer, Applied
//! Statistical Decision Theory, 1961, ch. 4, from memory): no reading or survey is worth more than it.
//!
//! Costs are those of [`crate::weigh`], relative to an endless chain at A*; the chain's own cost stands in every course
//! of a way alike and falls out of the difference.
use serde::{Deserialize, Serialize};

use crate::case::CheckedCase;
use crate::chain::start_of;
use crate::rates::Discounts;
use crate::weigh::{Levers, Weighed, weigh_at};

/// One way in which the unknown may turn out.
#[derive(Clone, Copy, Debug)]
pub struct Way<'a> {
    /// w_j; the chances are made to add up to 1.
    pub chance: f64,
    /// The case as it would then be. Horizon, rate and fault in hand are those of every other way.
    pub case: &'a CheckedCase,
}

/// A course one may take today.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Course {
    /// (Repair and) keep so many more years.
    Keep(u32),
    /// Replace now with this option.
    Replace(String),
}

/// What knowing is worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorthKnowing {
    /// Expected pounds saved by knowing before deciding; never below nought.
    pub pounds: f64,
    /// The best course without knowing.
    pub without: Course,
    /// Chance that knowing leads from keeping to replacing, from replacing to keeping, or to another option.
    pub turns: f64,
}

/// The worth of knowing which way it is. `None` without ways, with a chance that is negative or not finite, or where no
/// course is open in all of them.
pub fn worth_knowing(ways: &[Way<'_>]) -> Option<WorthKnowing> {
    let sum: f64 = ways.iter().map(|way| way.chance).sum();
    let fine = ways.iter().all(|w| w.chance >= 0.0) && sum.is_finite() && sum > 0.0;
    if !fine {
        return None;
    }
    let told: Vec<(f64, Vec<(Course, f64)>)> = ways
        .iter()
        .filter(|way| way.chance > 0.0)
        .map(|way| (way.chance / sum, courses(way.case)))
        .collect();
    let (_, first) = told.first()?;
    let blind = first
        .iter()
        .filter_map(|(course, _)| {
            let mean: Option<f64> = told
                .iter()
                .map(|(w, all)| Some(w * cost_of(all, course)?))
                .sum();
            Some((course, mean?))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let (without, blind) = blind?;
    let (mut seeing, mut turns) = (0.0, 0.0);
    for (w, all) in &told {
        let (best, cost) = all.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        seeing += w * cost;
        if !alike(best, without) {
            turns += w;
        }
    }
    Some(WorthKnowing {
        pounds: (blind - seeing).max(0.0),
        without: without.clone(),
        turns,
    })
}

fn alike(a: &Course, b: &Course) -> bool {
    matches!((a, b), (Course::Keep(_), Course::Keep(_))) || a == b
}

fn cost_of(all: &[(Course, f64)], wanted: &Course) -> Option<f64> {
    all.iter().find(|(c, _)| c == wanted).map(|(_, cost)| *cost)
}

/// Every course open in a case with its expected cost, pounds.
fn courses(checked: &CheckedCase) -> Vec<(Course, f64)> {
    let case = checked.case();
    let table = Discounts::for_case(checked, 1.0);
    let weighed: Weighed = weigh_at(checked, &Levers::default(), &table);
    let mut all: Vec<(Course, f64)> = (0u32..)
        .zip(&weighed.keep)
        .skip(1)
        .filter_map(|(k, w)| Some((Course::Keep(k), (*w)?)))
        .collect();
    let Some(least) = weighed.least_annual else {
        return all;
    };
    let wait = case.fault_in_hand.map_or(0.0, |f| f.wait_cost_replace);
    let asked = (least, &table, weighed.quote);
    for (o, option) in case.options.iter().enumerate() {
        if let Some(x) = start_of(checked, &weighed.chains, asked, (o, 0)) {
            all.push((Course::Replace(option.code.clone()), x + wait));
        }
    }
    all
}
