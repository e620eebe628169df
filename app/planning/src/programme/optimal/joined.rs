//! Several buildings that pay from one purse, each perhaps from one of its own besides: one problem, planned at once
//! (blocks at prices of the shared purse where it is large), and a programme for each building back.
use serde::{Deserialize, Serialize};
use terms::Pence;

use super::Settings;
use super::asked::problem_of;
use super::clash::clash;
use super::estate::Estate;
use super::limits::Limit;
use super::model::{Fund, Plan, Problem, Unit};
use super::outcome::{outcome, years_of};
use super::plain::{at_failure, oldest_first};
use super::planner::{Clashing, OptimalProgramme, PlainWay};
use super::solve::{Verdict, solve};
use super::told::programme_of;
use crate::Allowance;
use crate::programme::{Programme, ProgrammeInput, ProgrammeLimits};

/// What several buildings share.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SharedPurse {
    /// In it at the start.
    pub opening: Pence,
    /// It may not end a year below this.
    pub floor: Pence,
    /// Comes in, a year.
    pub comes_in: Vec<Pence>,
    /// Most that may be spent on replacements in a year, all buildings together; `None` = what there is.
    pub cap: Option<Pence>,
    /// What buildings that keep their plan take from it, a year; empty = there are none.
    pub held: Vec<Taken>,
}

/// What a building that keeps its plan takes from a shared purse in a year.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Taken {
    /// Paid for replacements and besides: it counts under the most that may be paid in a year.
    pub paid: Pence,
    /// Set aside for likely failures.
    pub set_aside: Pence,
}

impl SharedPurse {
    /// What the buildings that keep their plan take in a year.
    fn taken(&self, t: usize) -> Taken {
        self.held.get(t).copied().unwrap_or_default()
    }

    /// The purse as the optimiser takes it, less what is set aside for the buildings it plans.
    fn fund(&self, aside: &dyn Fn(usize) -> i64) -> Fund {
        let years = self.comes_in.len();
        let left = |t: usize, pence: &Pence| {
            let taken = self.taken(t);
            pence.0 - aside(t) - taken.paid.0 - taken.set_aside.0
        };
        let add = self.comes_in.iter().enumerate().map(|(t, p)| left(t, p));
        let capped = |cap: Pence| -> Vec<Option<i64>> {
            (0..years)
                .map(|t| Some((cap.0 - self.taken(t).paid.0).max(0)))
                .collect()
        };
        Fund {
            opening: self.opening.0,
            add: add.collect(),
            floor: self.floor.0,
            spend_cap: self.cap.map(capped),
        }
    }
}

/// One building of several.
#[derive(Clone, Debug)]
pub struct Part<'a> {
    /// Its units, and its own purse where it has one.
    pub input: &'a ProgrammeInput,
    /// What binds it besides.
    pub limits: &'a ProgrammeLimits,
    /// Whether its own purse binds too.
    pub own_purse: bool,
}

/// A limit of a clash.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JointClash {
    /// The floor of the shared purse.
    SharedFloor,
    /// What may be spent of it in a year.
    SharedCap,
    /// A limit of one building, by its place.
    Of(usize, Clashing),
}

/// One building's part of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct JointPart {
    /// Its programme; its purse is its own input's, which says nothing where it has none.
    pub programme: Programme,
    /// Expected cost, pence.
    pub cost: Pence,
    /// What no plan of it can cost less than, whatever the others do.
    pub at_least: Pence,
}

/// A plan of all of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// By building, in order; empty where there is no plan.
    pub parts: Vec<JointPart>,
    /// Paid from the shared purse, by year: replacements and what is paid besides.
    pub paid: Vec<Pence>,
    /// How the search ended.
    pub verdict: Verdict,
    /// Expected cost of all, pence.
    pub cost: Pence,
    /// No plan of all of them costs less.
    pub bound: Pence,
    /// What it would cost if every unit had its best year and nothing bound.
    pub unbound: Pence,
    /// Limits that clash.
    pub clash: Vec<JointClash>,
    /// Whether it is proven that no smaller set of them clashes.
    pub fewest: bool,
}

/// The problem of all, with the place of each building's first unit, and each building's own.
struct Joined {
    all: Problem,
    alone: Vec<Problem>,
    first: Vec<usize>,
}

fn joined(parts: &[Part<'_>], purse: &SharedPurse) -> Joined {
    let aside = |t: usize| -> i64 {
        let years = parts.iter().filter_map(|p| p.input.years.get(t));
        years.map(|y| y.set_aside.0).sum()
    };
    let mut all = Problem {
        years: purse.comes_in.len(),
        funds: vec![purse.fund(&aside)],
        buildings: Vec::new(),
        groups: Vec::new(),
        units: Vec::new(),
        together: Vec::new(),
        redundancy: Vec::new(),
    };
    let (mut alone, mut first) = (Vec::new(), Vec::new());
    for (b, part) in parts.iter().enumerate() {
        let own = problem_of(part.input, part.limits);
        let (unit, group) = (all.units.len(), all.groups.len());
        first.push(unit);
        for building in &own.buildings {
            let mut building = building.clone();
            building.funds = vec![0];
            if part.own_purse {
                building.funds.push(all.funds.len());
                all.funds.extend(own.funds.iter().cloned());
            } else if let Some(capped) = cap_alone(&own) {
                building.funds.push(all.funds.len());
                all.funds.push(capped);
            }
            all.buildings.push(building);
        }
        all.groups.extend(own.groups.iter().cloned().map(|mut g| {
            g.building = b;
            g
        }));
        all.units.extend(own.units.iter().cloned().map(|mut u| {
            (u.building, u.group) = (b, u.group + group);
            u
        }));
        let moved = |set: &Vec<usize>| set.iter().map(|u| u + unit).collect::<Vec<usize>>();
        all.together.extend(own.together.iter().map(moved));
        all.redundancy
            .extend(own.redundancy.iter().cloned().map(|mut set| {
                set.units = moved(&set.units);
                set
            }));
        alone.push(own);
    }
    Joined { all, alone, first }
}

/// A building's own most in a year, which holds whoever's purse it pays from; `None` where it states none. A fund that
/// holds all the building could ever pay, so that nothing but its cap binds.
fn cap_alone(own: &Problem) -> Option<Fund> {
    let capped = own.funds.first()?;
    let spend_cap = capped.spend_cap.clone()?;
    let dearest = |unit: &Unit| unit.options.iter().flat_map(|o| &o.cash).max().copied();
    let units: i64 = own.units.iter().filter_map(dearest).sum();
    let groups: i64 = own.groups.iter().map(|g| g.mobilise).sum();
    let besides = own.buildings.iter().map(|b| b.mobilise + b.consultation);
    let a_year = groups + besides.sum::<i64>();
    Some(Fund {
        opening: units.max(0) + a_year.max(0) * own.years as i64,
        add: vec![0; own.years],
        floor: 0,
        spend_cap: Some(spend_cap),
    })
}

/// Plans all of them at once. Every building's programme has as many years as the purse.
pub fn prove_jointly(
    parts: &[Part<'_>],
    purse: &SharedPurse,
    settings: Settings,
    allowance: &dyn Allowance,
) -> Joint {
    let joined = joined(parts, purse);
    let answer = solve(&joined.all, settings, allowance);
    let mut joint = Joint {
        parts: Vec::new(),
        paid: Vec::new(),
        verdict: answer.verdict,
        cost: Pence(answer.cost),
        bound: Pence(answer.bound),
        unbound: Pence(joined.all.unavoidable()),
        clash: Vec::new(),
        fewest: false,
    };
    if let Some(plan) = &answer.plan {
        (joint.parts, joint.paid) = apart(parts, &joined, plan);
    } else if answer.verdict == Verdict::Infeasible {
        let found = clash(&joined.all, true, allowance);
        joint.fewest = found.as_ref().is_some_and(|c| c.fewest);
        let limits = found.map(|c| c.limits).unwrap_or_default();
        let named = limits
            .iter()
            .flat_map(|l| stated(parts, &joined, *l, allowance));
        joint.clash = named.collect();
    }
    joint
}

/// What a plain way of doing it comes to for all of them, pence, and how many units it leaves undone that must be done.
pub fn plain_jointly(parts: &[Part<'_>], purse: &SharedPurse, way: PlainWay) -> (Pence, u32) {
    let joined = joined(parts, purse);
    let plan: Plan = match way {
        PlainWay::OldestFirst => oldest_first(&joined.all),
        PlainWay::OnFailure => {
            let units = parts.iter().flat_map(|p| &p.input.units);
            let fails: Vec<Option<usize>> = units.map(|u| u.fails.map(|t| t as usize)).collect();
            at_failure(&joined.all, &fails)
        }
        PlainWay::Nothing => vec![None; joined.all.units.len()],
    };
    let undone = joined.all.units.iter().zip(&plan);
    let undone = undone.filter(|(unit, entry)| unit.never.is_none() && entry.is_none());
    let undone = undone.count() as u32;
    let estate = Estate::of(&joined.all);
    let buildings: Vec<usize> = (0..parts.len()).collect();
    (Pence(outcome(&estate, &buildings, &plan).cost), undone)
}

/// Each building's programme, and what all pay by year.
fn apart(parts: &[Part<'_>], joined: &Joined, plan: &Plan) -> (Vec<JointPart>, Vec<Pence>) {
    let mut paid = vec![Pence(0); joined.all.years];
    let mut told = Vec::new();
    for ((part, own), first) in parts.iter().zip(&joined.alone).zip(&joined.first) {
        let mine: Plan = plan[*first..*first + own.units.len()].to_vec();
        let estate = Estate::of(own);
        for (sum, year) in paid.iter_mut().zip(years_of(&estate, 0, &mine)) {
            sum.0 += year.paid;
        }
        told.push(JointPart {
            programme: programme_of(part.input, part.limits, &estate, &mine, None),
            cost: Pence(outcome(&estate, &[0], &mine).cost),
            at_least: Pence(own.unavoidable()),
        });
    }
    (told, paid)
}

/// A limit of the whole as its building states it.
fn stated(
    parts: &[Part<'_>],
    joined: &Joined,
    limit: Limit,
    allowance: &dyn Allowance,
) -> Vec<JointClash> {
    match limit {
        Limit::Fund(0, _) => return vec![JointClash::SharedFloor],
        Limit::SpendCap(0, _) => return vec![JointClash::SharedCap],
        _ => {}
    }
    let found = of_building(joined, parts.len(), limit).and_then(|(b, local)| {
        let part = parts.get(b)?;
        let planner = OptimalProgramme {
            limits: part.limits,
            settings: Settings::default(),
            allowance,
        };
        let named = planner.as_stated(part.input, joined.alone.get(b)?, local);
        Some(named.into_iter().map(move |one| JointClash::Of(b, one)))
    });
    found.into_iter().flatten().collect()
}

/// The building a limit of the whole is of, and the limit as it stands in that building's own problem.
fn of_building(joined: &Joined, buildings: usize, limit: Limit) -> Option<(usize, Limit)> {
    let home = |u: usize| joined.first.iter().rposition(|first| *first <= u);
    match limit {
        Limit::Fund(f, t) | Limit::SpendCap(f, t) => {
            let owner = (0..buildings).find(|b| joined.all.buildings[*b].funds.contains(&f))?;
            let capped = matches!(limit, Limit::SpendCap(..));
            let local = if capped {
                Limit::SpendCap(0, t)
            } else {
                Limit::Fund(0, t)
            };
            Some((owner, local))
        }
        Limit::Hours(b, t) => Some((b, Limit::Hours(0, t))),
        Limit::Lead(b) => Some((b, Limit::Lead(0))),
        Limit::Due(u) => {
            let b = home(u)?;
            Some((b, Limit::Due(u - joined.first[b])))
        }
        Limit::Together(k) => {
            let b = home(*joined.all.together.get(k)?.first()?)?;
            let before: usize = joined.alone[..b].iter().map(|p| p.together.len()).sum();
            Some((b, Limit::Together(k - before)))
        }
        Limit::Redundancy(k) => {
            let b = home(*joined.all.redundancy.get(k)?.units.first()?)?;
            let before: usize = joined.alone[..b].iter().map(|p| p.redundancy.len()).sum();
            Some((b, Limit::Redundancy(k - before)))
        }
    }
}
