//! Another year of a unit whose building pays from a purse with others: with those others kept to their plan, its own building
//! planned again; and with all of them planned anew.
use std::collections::BTreeMap;

use planning::programme::ProgrammeLimits;
use planning::programme::optimal::{
    Joint, JointClash, Part, Proven, Settings, SharedPurse, Taken, Verdict, prove_jointly,
};
use store::Tx;
use terms::{Pence, UnitId};

use super::asking::Asked;
use super::figures::years_of;
use super::jointly::purse;
use super::making::{AT_ONCE, Made, allowance};
use super::programme::PlanCard;
use super::shared::SharedMade;
use crate::{Error, Seat};

/// Seconds for one year that is tried with all buildings planned anew.
const SECONDS: f64 = 2.0;

/// What becomes of the others of a shared purse when a unit has another year.
#[derive(Clone, Debug)]
pub struct WithOthers {
    /// Limits that clash while the other buildings keep their plan; empty where there is a plan.
    pub clash: Vec<JointClash>,
    /// Whether it is proven that no smaller set of them clashes.
    pub fewest: bool,
    /// All buildings planned anew; `None` where that was not tried: there are too many units for a page, or buildings outside
    /// the reader's reach.
    pub anew: Option<Anew>,
}

/// All buildings of a shared purse planned anew with a unit in another year.
#[derive(Clone, Debug)]
pub struct Anew {
    /// What the best plan of all of them costs more, pence; `None` where there is no plan, or none was found.
    pub costs: Option<Pence>,
    /// No plan of all of them costs less than so much more, pence.
    pub at_least: Pence,
    /// How the search ended.
    pub verdict: Verdict,
    /// Units that would have another year then, by building.
    pub others: Vec<(String, u32)>,
}

/// One building of the purse.
struct Member {
    name: String,
    asked: Asked,
    own_purse: bool,
    years: BTreeMap<UnitId, i32>,
}

/// The shared programme a plan is a part of.
pub(super) struct SharedPlan {
    made: SharedMade,
    /// Place of the plan's building.
    here: usize,
    own_purse: bool,
    /// Every building, in order; empty where not all are in reach or they are too large for a page.
    all: Vec<Member>,
}

impl SharedPlan {
    /// Reads what the other buildings were planned from, as far as the seat reaches them.
    pub fn of(
        tx: &mut Tx<'_>,
        seat: &Seat,
        (made, plan): (SharedMade, &PlanCard),
    ) -> Result<Self, Error> {
        let here = made.parts.iter().position(|part| part.plan == plan.id);
        let here = here.ok_or(Error::NotFound("plan"))?;
        let reached = |part: &super::shared::SharedPart| seat.grant().reaches(part.building);
        let mut all = Vec::new();
        if made.parts.iter().all(reached) {
            for part in &made.parts {
                let kept = tx.plan(part.plan)?;
                let asked = serde_json::from_value::<Asked>(kept.asked);
                let answer = serde_json::from_value::<Made>(kept.answer);
                let (Ok(asked), Ok(answer)) = (asked, answer) else {
                    continue;
                };
                all.push(Member {
                    name: tx.building(part.building)?.name,
                    asked,
                    own_purse: part.own_purse,
                    years: years_of(&answer.proven.programme),
                });
            }
        }
        let units: usize = all.iter().map(|m| m.asked.input.units.len()).sum();
        if units > AT_ONCE || all.len() < made.parts.len() {
            all.clear();
        }
        Ok(Self {
            own_purse: made.parts[here].own_purse,
            made,
            here,
            all,
        })
    }

    /// How many other buildings pay from the purse.
    pub fn others(&self) -> u32 {
        self.made.parts.len().saturating_sub(1) as u32
    }

    /// The purse with what the other buildings take of it by their plan.
    pub fn left(&self, plan: &PlanCard) -> SharedPurse {
        let mine = &self.made.parts[self.here].paid;
        let own = &plan.asked.input.years;
        let taken = self.made.years.iter().enumerate().map(|(t, line)| Taken {
            paid: Pence(line.paid.0 - mine.get(t).map_or(0, |p| p.0)),
            set_aside: Pence(line.set_aside.0 - own.get(t).map_or(0, |y| y.set_aside.0)),
        });
        SharedPurse {
            held: taken.collect(),
            ..purse(&self.made.wish)
        }
    }

    /// The best plan of the unit's building with the unit in a year (a place), the other buildings kept to theirs; and that of
    /// all of them.
    pub fn moved(
        &self,
        plan: &PlanCard,
        (unit, place): (UnitId, u32),
        seconds: f64,
    ) -> (Proven, WithOthers) {
        let limits = pinned(&plan.asked, (unit, place));
        let alone = Part {
            input: &plan.asked.input,
            limits: &limits,
            own_purse: self.own_purse,
        };
        let left = allowance(seconds);
        let kept = prove_jointly(&[alone], &self.left(plan), Settings::default(), &left);
        let more = (!kept.parts.is_empty()).then(|| kept.cost.0 - plan.made.proven.cost.0);
        let beside = WithOthers {
            clash: kept.clash.clone(),
            fewest: kept.fewest,
            anew: (!self.all.is_empty()).then(|| self.anew((unit, place), more)),
        };
        (proven_of(kept, plan), beside)
    }

    /// All of them planned anew; `more` is what it costs with the others kept to their plan, which is one of those plans.
    fn anew(&self, (unit, place): (UnitId, u32), more: Option<i64>) -> Anew {
        let limits: Vec<_> = self
            .all
            .iter()
            .enumerate()
            .map(|(b, member)| {
                if b == self.here {
                    pinned(&member.asked, (unit, place))
                } else {
                    member.asked.limits.clone()
                }
            })
            .collect();
        let parts: Vec<Part<'_>> = self
            .all
            .iter()
            .zip(&limits)
            .map(|(member, limits)| Part {
                input: &member.asked.input,
                limits,
                own_purse: member.own_purse,
            })
            .collect();
        let left = allowance(SECONDS);
        let joint = prove_jointly(&parts, &purse(&self.made.wish), Settings::default(), &left);
        let base = self.made.cost.0;
        let found = (!joint.parts.is_empty()).then(|| joint.cost.0 - base);
        let others = match (found, more) {
            (Some(found), more) if more.is_none_or(|more| found < more) => {
                self.differs(&joint, unit)
            }
            _ => Vec::new(),
        };
        let costs = found.into_iter().chain(more).min();
        Anew {
            costs: costs.map(Pence),
            at_least: Pence(joint.bound.0 - base),
            verdict: joint.verdict,
            others,
        }
    }

    /// Units that would have another year, by building; the one that is moved is not counted.
    fn differs(&self, joint: &Joint, unit: UnitId) -> Vec<(String, u32)> {
        let counted = self.all.iter().zip(&joint.parts).map(|(member, part)| {
            let then = years_of(&part.programme);
            let units = member.asked.input.units.iter().map(|u| u.unit);
            let differ = units
                .filter(|id| *id != unit)
                .filter(|id| member.years.get(id) != then.get(id));
            (member.name.clone(), differ.count() as u32)
        });
        counted.filter(|(_, n)| *n > 0).collect()
    }
}

/// What was asked, with the unit held to a year.
pub(super) fn pinned(asked: &Asked, (unit, place): (UnitId, u32)) -> ProgrammeLimits {
    let mut limits = asked.limits.clone();
    limits.pinned.retain(|(id, _)| *id != unit);
    limits.forbidden.retain(|(id, _)| *id != unit);
    limits.pinned.push((unit, place));
    limits
}

/// A plan of one building of a shared purse as a plan of its own; what clashes stands beside it.
fn proven_of(joint: Joint, plan: &PlanCard) -> Proven {
    let (verdict, cost, bound) = (joint.verdict, joint.cost, joint.bound);
    let part = joint.parts.into_iter().next();
    Proven {
        programme: part.map_or_else(|| plan.made.proven.programme.clone(), |p| p.programme),
        verdict,
        cost,
        bound,
        unbound: joint.unbound,
        clash: Vec::new(),
        fewest: false,
    }
}
