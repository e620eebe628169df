//! The mixed-integer model of some buildings, in pounds.
//!
//! x(u,o,t), z(g,t), y(b,t), w(b,t), v(b,t) as in [`super::model`], with the rows of
//! `reference/planning/README.md` §1 in the tight form of its "Lower bounds" (a): x ≤ z ≤ y per unit and
//! year, and s ≤ S·y + (M − S)·v where M is the most that can be spent inside the hours cap. Funds that
//! belong to these buildings alone (or whose remaining room is given) are rows; the others are prices:
//! a pound paid by building b in year t costs `price(b,t)` more.
use super::estate::Estate;
use super::model::Plan;
use super::outcome::years_of;
use super::rows::Rows;
use crate::solver::{Model, Solved, Var};

/// What may still be spent from a fund.
#[derive(Clone, Debug)]
pub struct Room {
    /// Its index.
    pub fund: usize,
    /// Most that these buildings may have spent by the end of each year, pounds.
    pub headroom: Vec<f64>,
    /// Most in each year, pounds.
    pub caps: Vec<Option<f64>>,
}

impl Room {
    /// The whole fund.
    pub fn whole(estate: &Estate<'_>, fund: usize) -> Self {
        let card = &estate.problem.funds[fund];
        Self {
            fund,
            headroom: card.headroom().iter().map(|p| pounds(*p)).collect(),
            caps: (0..estate.problem.years)
                .map(|t| card.cap(t).map(pounds))
                .collect(),
        }
    }

    /// What others paying `paid[t]` pence leave of it.
    pub fn after(estate: &Estate<'_>, fund: usize, paid: &[i64]) -> Self {
        let mut room = Self::whole(estate, fund);
        let mut sum = 0;
        for (t, pence) in paid.iter().enumerate() {
            sum += pence;
            room.headroom[t] -= pounds(sum);
            if let Some(cap) = &mut room.caps[t] {
                *cap -= pounds(*pence);
            }
        }
        room
    }
}

/// Pence in pounds, the unit of the solver.
pub fn pounds(pence: i64) -> f64 {
    pence as f64 / 100.0
}

/// The columns that decide.
#[derive(Clone, Debug)]
pub struct Decision {
    /// The unit.
    pub unit: usize,
    /// With which option.
    pub option: usize,
    /// In which year.
    pub year: usize,
    /// 1 if done so.
    pub var: Var,
}

/// The 0/1 columns of a building's year that follow from the decisions.
#[derive(Clone, Debug, Default)]
pub struct Flags {
    /// y(b,t).
    pub visit: Option<Var>,
    /// w(b,t).
    pub bulk: Option<Var>,
    /// v(b,t).
    pub consulted: Option<Var>,
    /// z(g,t).
    pub groups: Vec<(usize, Var)>,
}

fn on(is: bool) -> f64 {
    f64::from(u8::from(is))
}

/// A model with what its columns mean.
#[derive(Clone, Debug)]
pub struct Formulation {
    /// The model.
    pub model: Model,
    /// x columns, unit by unit.
    pub decisions: Vec<Decision>,
    /// "Done by year t" columns of each unit: (unit, year, column).
    pub done_by: Vec<(usize, usize, Var)>,
    /// The columns that follow from them, building by building, year by year.
    pub flags: Vec<(usize, Vec<Flags>)>,
    /// Rows Σ of a fund's outflow up to a year: (fund, year, row).
    pub balance_rows: Vec<(usize, usize, usize)>,
    /// Rows of a fund's yearly cap: (fund, year, row).
    pub cap_rows: Vec<(usize, usize, usize)>,
}

impl Formulation {
    /// Model of `buildings` with `rooms` as rows and `price(b, t)` on every pound paid.
    pub fn new(
        estate: &Estate<'_>,
        buildings: &[usize],
        rooms: &[Room],
        price: &dyn Fn(usize, usize) -> f64,
    ) -> Self {
        let mut rows = Rows::new(estate, price);
        for &b in buildings {
            rows.write(b, rooms);
        }
        for &b in buildings {
            rows.sets(b);
        }
        rows.funds(rooms);
        rows.done
    }

    /// Reads the plan of these buildings out of a solution, into `plan`.
    pub fn read(&self, solved: &Solved, plan: &mut Plan) {
        for decision in &self.decisions {
            plan[decision.unit] = None;
        }
        for decision in &self.decisions {
            if solved.is_on(decision.var) {
                plan[decision.unit] = Some((decision.option, decision.year));
            }
        }
    }

    /// A start for the solver: every 0/1 column as `plan` has it; the solver completes the others.
    pub fn start(&self, estate: &Estate<'_>, plan: &Plan) -> Vec<f64> {
        let mut start = vec![0.0; self.model.width()];
        for d in &self.decisions {
            start[d.var.0] = on(plan[d.unit] == Some((d.option, d.year)));
        }
        for (u, t, var) in &self.done_by {
            start[var.0] = on(plan[*u].is_some_and(|entry| entry.1 <= *t));
        }
        for (b, flags) in &self.flags {
            for (year, flag) in years_of(estate, *b, plan).iter().zip(flags) {
                let set = [
                    (flag.visit, year.count > 0),
                    (flag.bulk, year.bulk),
                    (flag.consulted, year.consulted),
                ];
                for (var, is) in set {
                    if let Some(var) = var {
                        start[var.0] = on(is);
                    }
                }
                for (g, var) in &flag.groups {
                    start[var.0] = on(year.groups.contains(g));
                }
            }
        }
        start
    }
}
