//! What keeps a unit from the year in which it would cost least, found by letting one limit go after the other and
//! making the whole plan again.
use planning::ProgrammeInput;
use planning::programme::ProgrammeLimits;
use planning::programme::optimal::{OptimalProgramme, Settings};
use terms::{Pence, UnitId};

use super::making::allowance;
use super::programme::PlanCard;

/// Seconds for all of it, so that a page is not kept waiting.
const SECONDS: f64 = 4.0;
/// A difference in expected cost that counts as none.
const NONE: i64 = 100;

/// A sort of limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Binds {
    /// The floor of the reserve: with none there would be room.
    Floor,
    /// The money there is.
    Purse,
    /// The most that may be paid in a year.
    Cap,
    /// The most replacements in a year.
    Homes,
    /// Coming to the building and setting up at a stair, paid once for all that is done in a year.
    SettingUp,
    /// Consultation: what it costs, or the first year it can be finished by.
    Consultation,
    /// Plant that must not all be out at once.
    Apart,
    /// It goes together with another.
    Together,
    /// A person keeps it out of that year.
    Forbidden,
    /// It must go by a year.
    Latest,
}

const ALL: [Binds; 10] = [
    Binds::Forbidden,
    Binds::Latest,
    Binds::Together,
    Binds::Apart,
    Binds::Homes,
    Binds::Cap,
    Binds::Floor,
    Binds::Purse,
    Binds::Consultation,
    Binds::SettingUp,
];

/// What keeps the unit from `target` (place of a year; `None` = kept beyond): every sort of limit that suffices alone,
/// else a set of them of which none can be left out. `None` where the time did not settle it.
pub(super) fn what_binds(plan: &PlanCard, unit: UnitId, target: Option<u32>) -> Option<Vec<Binds>> {
    let left = allowance(SECONDS);
    let asked = (&plan.asked.input, &plan.asked.limits);
    let there: Vec<Binds> = ALL
        .into_iter()
        .filter(|sort| *sort != Binds::Purse || !plan.asked.unlimited)
        .filter(|sort| {
            let (input, limits) = without(asked, unit, target, &[*sort]);
            (&input, &limits) != asked
        })
        .collect();
    let free = |gone: &[Binds]| -> Option<bool> {
        let (input, limits) = without(asked, unit, target, gone);
        let prove = |limits: &ProgrammeLimits| {
            let planner = OptimalProgramme {
                limits,
                settings: Settings::default(),
                allowance: &left,
            };
            planner.prove(&input)
        };
        let there = prove(&held(&limits, &input, unit, target));
        if left() <= 0.0 {
            return None;
        }
        if !there.stands() {
            return Some(false);
        }
        let best = prove(&limits);
        (left() > 0.0).then_some(best.stands() && there.cost.0 - best.cost.0 < NONE)
    };
    let mut alone = Vec::new();
    for sort in &there {
        if free(&[*sort])? {
            alone.push(*sort);
        }
    }
    // A lower floor is money too: where the floor suffices it is the floor.
    if alone.contains(&Binds::Floor) {
        alone.retain(|sort| *sort != Binds::Purse);
    }
    if !alone.is_empty() {
        return Some(alone);
    }
    let mut set = there;
    if !free(&set)? {
        return Some(Vec::new());
    }
    let mut at = 0;
    while at < set.len() {
        let fewer: Vec<Binds> = set.iter().copied().filter(|s| *s != set[at]).collect();
        if free(&fewer)? {
            set = fewer;
        } else {
            at += 1;
        }
    }
    Some(set)
}

/// What is asked with these sorts of limit let go.
fn without(
    (input, limits): (&ProgrammeInput, &ProgrammeLimits),
    unit: UnitId,
    target: Option<u32>,
    gone: &[Binds],
) -> (ProgrammeInput, ProgrammeLimits) {
    let (mut input, mut limits) = (input.clone(), limits.clone());
    let dearest = |u: &planning::programme::ProgrammeUnit| {
        let all = u.choices().into_iter().map(|c| c.cash.0);
        all.max().unwrap_or(0).max(0)
    };
    let enough: i64 = input.units.iter().map(dearest).sum::<i64>()
        + (limits.set_up.0 + limits.stair_set_up.0 * input.units.len() as i64)
            * input.years.len() as i64;
    for sort in gone {
        match sort {
            Binds::Floor => input.floor = Pence(input.floor.0.min(0)),
            Binds::Purse => input.opening.0 += enough,
            Binds::Cap => {
                for year in &mut input.years {
                    year.cap = None;
                }
            }
            Binds::Homes => limits.homes_a_year = None,
            Binds::SettingUp => (limits.set_up, limits.stair_set_up) = (Pence(0), Pence(0)),
            Binds::Consultation => limits.consultation = None,
            Binds::Apart => limits.apart.retain(|set| !set.units.contains(&unit)),
            Binds::Together => limits.together.retain(|set| !set.contains(&unit)),
            Binds::Forbidden => limits
                .forbidden
                .retain(|(id, year)| *id != unit || Some(*year) != target),
            Binds::Latest => {
                for one in input.units.iter_mut().filter(|u| u.unit == unit) {
                    one.latest = None;
                }
            }
        }
    }
    (input, limits)
}

/// The limits with the unit held to its target.
fn held(
    limits: &ProgrammeLimits,
    input: &ProgrammeInput,
    unit: UnitId,
    target: Option<u32>,
) -> ProgrammeLimits {
    let mut held = limits.clone();
    if let Some(year) = target {
        held.pinned.push((unit, year));
    } else {
        let years = 0..input.years.len() as u32;
        held.forbidden.extend(years.map(|year| (unit, year)));
    }
    held
}
