//! The optimiser behind the programme's seam: a plan with its verdict, its certified bound, and where no
//! plan exists the smallest set of limits that clash.
use serde::{Deserialize, Serialize};
use terms::{Pence, UnitId};

use super::Settings;
use super::asked::{dry_years, is_most_replacements, problem_of};
use super::clash::clash;
use super::estate::Estate;
use super::limits::Limit;
use super::model::{Plan, Problem};
use super::outcome::outcome;
use super::plain::{at_failure, oldest_first};
use super::solve::{Answer, Verdict, solve};
use super::told::programme_of;
use crate::Allowance;
use crate::programme::{
    PlainProgramme, Programme, ProgrammeInput, ProgrammeLimits, ProgrammePlanner,
};

/// A limit of a clash, as a person stated it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Clashing {
    /// The unit has a year it must have, or a last one (place in the programme).
    MustBy {
        /// The unit.
        unit: UnitId,
        /// Its year.
        year: Option<u32>,
        /// Whether a person pinned it there.
        pinned: bool,
    },
    /// The floor of the reserve; with nothing replaced at all it does not hold in these years.
    Reserve {
        /// Places of the years that fail whatever is planned; empty = it holds alone.
        dry: Vec<u32>,
    },
    /// The most that may be spent in a year.
    Cap,
    /// The most replacements in a year.
    Homes,
    /// The most home-hours of disruption in a year.
    Hours,
    /// The first year in which works that need consultation can happen.
    Consultation,
    /// Units bound together.
    Together(Vec<UnitId>),
    /// Plant that must not all be out at once, by its place in the limits.
    Apart(usize),
}

/// A programme and what is proven about it. Money in whole pence of expected, discounted cost.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Proven {
    /// The programme; the plain way's where the limits clash.
    pub programme: Programme,
    /// How the search ended.
    pub verdict: Verdict,
    /// Expected cost of the plan.
    pub cost: Pence,
    /// No plan that keeps the limits costs less.
    pub bound: Pence,
    /// What it would cost if every unit had its best year and nothing else bound.
    pub unbound: Pence,
    /// Limits that clash; empty when a plan exists.
    pub clash: Vec<Clashing>,
    /// Whether it is proven that no smaller set of them clashes; what was kept before this was asked is not.
    #[serde(default)]
    pub fewest: bool,
}

impl Proven {
    /// What another plan could save at most.
    pub fn could_save(&self) -> Pence {
        Pence((self.cost.0 - self.bound.0).max(0))
    }

    /// Whether there is a plan.
    pub fn stands(&self) -> bool {
        matches!(self.verdict, Verdict::Optimal | Verdict::WithinGap)
    }
}

/// The plain ways to compare with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlainWay {
    /// Every unit from the year it is 15, oldest first, as far as the limits allow.
    OldestFirst,
    /// Nothing before it fails: each unit in the year by whose end one failure is expected, or as soon after as the limits
    /// allow; what has a last year as late as they allow.
    OnFailure,
    /// Nothing at all, also what ought to be done.
    Nothing,
}

/// A plain way and what it comes to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlainResult {
    /// The programme.
    pub programme: Programme,
    /// Expected cost, pence.
    pub cost: Pence,
    /// Units that ought to have a year and have none this way.
    pub undone: Vec<UnitId>,
}

/// The optimiser.
#[derive(Clone, Copy)]
pub struct OptimalProgramme<'a> {
    /// What binds beside the purse.
    pub limits: &'a ProgrammeLimits,
    /// How to search.
    pub settings: Settings,
    /// How long.
    pub allowance: &'a dyn Allowance,
}

impl OptimalProgramme<'_> {
    /// The plan with what is proven about it.
    pub fn prove(&self, input: &ProgrammeInput) -> Proven {
        let problem = problem_of(input, self.limits);
        let dry = dry_years(input);
        let estate = Estate::of(&problem);
        if !dry.is_empty() {
            let clash = vec![Clashing::Reserve { dry }];
            return without(input, Verdict::Infeasible, &problem, (clash, true));
        }
        let answer = solve(&problem, self.settings, self.allowance);
        match &answer.plan {
            Some(plan) => Proven {
                programme: programme_of(input, self.limits, &estate, plan, Some(answer.bound)),
                verdict: answer.verdict,
                cost: Pence(answer.cost),
                bound: Pence(answer.bound),
                unbound: Pence(answer.unavoidable),
                clash: Vec::new(),
                fewest: false,
            },
            None => self.no_plan(input, &problem, &answer),
        }
    }

    fn no_plan(&self, input: &ProgrammeInput, problem: &Problem, answer: &Answer) -> Proven {
        let found = if answer.verdict == Verdict::Infeasible {
            clash(problem, true, self.allowance)
        } else {
            None
        };
        let fewest = found.as_ref().is_some_and(|c| c.fewest);
        let limits = found.map(|c| c.limits).unwrap_or_default();
        let clash = limits
            .iter()
            .flat_map(|l| self.as_stated(input, problem, *l))
            .collect();
        without(input, answer.verdict, problem, (clash, fewest))
    }

    /// A limit of the problem as people stated it: what one unit must may be two of them.
    pub(super) fn as_stated(
        &self,
        input: &ProgrammeInput,
        problem: &Problem,
        limit: Limit,
    ) -> Vec<Clashing> {
        let id = |u: usize| input.units.get(u).map(|unit| unit.unit);
        let one = match limit {
            Limit::Due(u) => return self.must(input, u),
            Limit::Fund(..) => Clashing::Reserve { dry: Vec::new() },
            Limit::SpendCap(..) => Clashing::Cap,
            Limit::Hours(..) if self.limits.hours_a_year.is_some() => Clashing::Hours,
            Limit::Hours(..) => Clashing::Homes,
            Limit::Lead(_) => Clashing::Consultation,
            Limit::Together(k) => {
                let set = problem.together.get(k).cloned().unwrap_or_default();
                Clashing::Together(set.into_iter().filter_map(id).collect())
            }
            Limit::Redundancy(k) if is_most_replacements(self.limits, problem, k) => {
                Clashing::Homes
            }
            Limit::Redundancy(k) => {
                let set: Vec<UnitId> = problem
                    .redundancy
                    .get(k)
                    .map(|r| r.units.iter().filter_map(|u| id(*u)).collect())
                    .unwrap_or_default();
                let same =
                    |apart: &crate::programme::Apart| set.iter().all(|u| apart.units.contains(u));
                Clashing::Apart(self.limits.apart.iter().position(same).unwrap_or(k))
            }
        };
        vec![one]
    }

    /// The year a unit must have, its last one, or both where the pin lies after it.
    fn must(&self, input: &ProgrammeInput, u: usize) -> Vec<Clashing> {
        let Some(card) = input.units.get(u) else {
            return Vec::new();
        };
        let must = |year: Option<u32>, pinned: bool| Clashing::MustBy {
            unit: card.unit,
            year,
            pinned,
        };
        let pin = self.limits.pinned.iter().find(|(p, _)| *p == card.unit);
        match (pin.map(|(_, year)| *year), card.latest) {
            (Some(pin), Some(latest)) if pin > latest => {
                vec![must(Some(pin), true), must(Some(latest), false)]
            }
            (Some(pin), _) => vec![must(Some(pin), true)],
            (None, latest) => vec![must(latest, false)],
        }
    }

    /// What a plain way comes to under the same limits.
    pub fn plain_way(&self, input: &ProgrammeInput, way: PlainWay) -> PlainResult {
        let problem = problem_of(input, self.limits);
        let estate = Estate::of(&problem);
        let plan: Plan = match way {
            PlainWay::OldestFirst => oldest_first(&problem),
            PlainWay::OnFailure => {
                let fails = |u: &crate::programme::ProgrammeUnit| u.fails.map(|t| t as usize);
                let fails: Vec<Option<usize>> = input.units.iter().map(fails).collect();
                at_failure(&problem, &fails)
            }
            PlainWay::Nothing => vec![None; problem.units.len()],
        };
        let undone = input.units.iter().zip(&problem.units).zip(&plan);
        let undone = undone.filter(|((_, unit), entry)| unit.never.is_none() && entry.is_none());
        PlainResult {
            programme: programme_of(input, self.limits, &estate, &plan, None),
            cost: Pence(outcome(&estate, &[0], &plan).cost),
            undone: undone.map(|((unit, _), _)| unit.unit).collect(),
        }
    }
}

impl ProgrammePlanner for OptimalProgramme<'_> {
    fn plan(&self, input: &ProgrammeInput) -> Programme {
        self.prove(input).programme
    }
}

/// Where there is no plan: the plain way's, and why.
fn without(
    input: &ProgrammeInput,
    verdict: Verdict,
    problem: &Problem,
    (clash, fewest): (Vec<Clashing>, bool),
) -> Proven {
    let free = Pence(problem.unavoidable());
    Proven {
        programme: PlainProgramme.plan(input),
        verdict,
        cost: free,
        bound: free,
        unbound: free,
        clash,
        fewest,
    }
}
