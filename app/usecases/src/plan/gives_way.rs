//! What would have to give way for a unit that is left out: found when the plan is made, by the same search that its own page
//! makes, and kept with the plan.
use planning::programme::LeftOut;
use planning::programme::optimal::{Clashing, Proven, Verdict};
use serde::{Deserialize, Serialize};
use terms::{Pence, UnitId};

use super::asking::Asked;
use super::making::allowance;
use super::unit_year::{Moves, alone, first_asked, others_of};

/// Units of which it is sought, those that lose most by being left out; of the others their own pages say.
const MOST: usize = 8;
/// Seconds for one of them.
const SECONDS: f64 = 1.5;
/// With less than this left none is begun.
const LEAST: f64 = 0.05;

/// What would give way for a unit that is left out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GivesWay {
    /// The unit.
    pub unit: UnitId,
    /// The calendar year it would cost least in by itself.
    pub year: i32,
    /// What the best plan with it there costs more, which is proven; `None` = there is no plan.
    pub costs: Option<Pence>,
    /// Others that would have another year.
    pub others: Moves,
    /// Limits that clash where there is no plan.
    pub clash: Vec<Clashing>,
}

/// Of the plan's units that are left out though a year would cost less. What the time does not settle is not said.
pub(super) fn gives_way(asked: &Asked, proven: &Proven, seconds: f64) -> Vec<GivesWay> {
    let clock = allowance(seconds);
    let left_out = proven.programme.left_out.iter();
    let mut out: Vec<(i64, UnitId)> = left_out
        .filter_map(|(unit, why)| match why {
            LeftOut::WorthLess { loses, .. } => Some((-loses, *unit)),
            _ => None,
        })
        .collect();
    out.sort_unstable();
    let mut found = Vec::new();
    for (_, unit) in out.into_iter().take(MOST) {
        let left = clock();
        let course = asked.input.units.iter().find(|u| u.unit == unit);
        let Some(place) = course.and_then(|u| first_asked(&asked.input, u)) else {
            continue;
        };
        if left < LEAST {
            break;
        }
        let there = alone(asked, (unit, place), left.min(SECONDS));
        let year = asked.input.first_year + place as i32;
        match there.verdict {
            Verdict::Optimal => found.push(GivesWay {
                unit,
                year,
                costs: Some(Pence(there.cost.0 - proven.cost.0)),
                others: others_of(&asked.input, unit, (&proven.programme, &there.programme)),
                clash: Vec::new(),
            }),
            Verdict::Infeasible => found.push(GivesWay {
                unit,
                year,
                costs: None,
                others: Vec::new(),
                clash: there.clash,
            }),
            _ => {}
        }
    }
    found
}
