//! The mixed-integer model of some buildings, in pounds.
//!
//! x(u,o,t), z(g,t), y(b,t), w(b,t), v(b,t) as in [`super::model`], with the rows of
//! `reference/planning/README.md` §1 in the tight form of its "Lower bounds" (a): x ≤ z ≤ y per unit and
//! year, and s ≤ S·y + (M − S)·v where M is the most that can be spent inside the hours cap. Funds that
//! belong to these buildings alone (or whose remaining room is given) are rows; the others are prices:
//! a pound paid by building b in year t costs `price(b,t)` more.
use super::estate::Estate;
use super::model::Plan;
use super::most_spent::{most_paid, most_spent};
use super::outcome::years_of;
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
    visit: Option<Var>,
    bulk: Option<Var>,
    consulted: Option<Var>,
    groups: Vec<(usize, Var)>,
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
        let mut building = Writer::new(estate, price);
        for &b in buildings {
            building.write(b, rooms);
        }
        for &b in buildings {
            building.sets(b);
        }
        building.funds(rooms);
        building.done
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

struct Writer<'a, 'b> {
    estate: &'b Estate<'a>,
    price: &'b dyn Fn(usize, usize) -> f64,
    done: Formulation,
    /// out(b,t) as terms over columns, for buildings charged to a fund that is a row.
    outflow: Vec<(usize, Vec<Option<Var>>)>,
    /// First decision of each unit written, and how many.
    span: Vec<Option<(usize, usize)>>,
}

impl<'a, 'b> Writer<'a, 'b> {
    fn new(estate: &'b Estate<'a>, price: &'b dyn Fn(usize, usize) -> f64) -> Self {
        Self {
            estate,
            price,
            done: Formulation {
                model: Model::default(),
                decisions: Vec::new(),
                flags: Vec::new(),
                balance_rows: Vec::new(),
                cap_rows: Vec::new(),
            },
            outflow: Vec::new(),
            span: vec![None; estate.problem.units.len()],
        }
    }

    /// Columns and rows of one building.
    fn write(&mut self, b: usize, rooms: &[Room]) {
        let years = self.estate.problem.years;
        for &u in &self.estate.units[b] {
            self.unit(u);
        }
        let charged = rooms
            .iter()
            .any(|r| self.estate.problem.buildings[b].funds.contains(&r.fund));
        let mut outflow = vec![None; years];
        let mut flags = vec![Flags::default(); years];
        for (t, slot) in outflow.iter_mut().enumerate() {
            *slot = self.year(b, t, charged, rooms, &mut flags[t]);
        }
        self.done.flags.push((b, flags));
        if charged {
            self.outflow.push((b, outflow));
        }
    }

    /// x columns of a unit and rule 1.
    fn unit(&mut self, u: usize) {
        let unit = &self.estate.problem.units[u];
        let begun = self.done.decisions.len();
        let kept = unit.never.map(pounds);
        self.done.model.constant += kept.unwrap_or(0.0);
        for &(o, t) in &self.estate.choices[u] {
            let option = &unit.options[o];
            let cost = pounds(option.pv[t].unwrap_or(0)) - kept.unwrap_or(0.0)
                + (self.price)(unit.building, t) * pounds(option.cash[t]);
            let var = self.done.model.binary(cost);
            self.done.decisions.push(Decision {
                unit: u,
                option: o,
                year: t,
                var,
            });
        }
        let terms: Vec<_> = self.done.decisions[begun..]
            .iter()
            .map(|d| (d.var, 1.0))
            .collect();
        self.span[u] = Some((begun, terms.len()));
        if kept.is_some() {
            self.done.model.at_most(1.0, terms);
        } else {
            self.done.model.equal(1.0, terms);
        }
    }

    fn decisions_of(&self, u: usize) -> &[Decision] {
        match self.span[u] {
            Some((begun, count)) => &self.done.decisions[begun..begun + count],
            None => &[],
        }
    }

    /// z, y, w, v, out of one year, rules 2 to 6; the outflow column if it is `charged` to a room.
    fn year(
        &mut self,
        b: usize,
        t: usize,
        charged: bool,
        rooms: &[Room],
        flags: &mut Flags,
    ) -> Option<Var> {
        let estate = self.estate;
        let card = &estate.problem.buildings[b];
        let price = (self.price)(b, t);
        let mut spend: Vec<(Var, f64)> = Vec::new();
        let mut hours: Vec<(Var, f64)> = Vec::new();
        let mut count: Vec<(Var, f64)> = Vec::new();
        let y = self
            .done
            .model
            .binary(pounds(card.mobilise_pv[t]) + price * pounds(card.mobilise));
        for &g in &estate.groups[b] {
            let members: Vec<usize> = estate.units[b]
                .iter()
                .copied()
                .filter(|u| estate.problem.units[*u].group == g)
                .collect();
            if let Some(z) = self.group(g, t, y, &members) {
                spend.push((z, pounds(estate.problem.groups[g].mobilise)));
                flags.groups.push((g, z));
            }
        }
        for &u in &estate.units[b] {
            for d in self.decisions_of(u).iter().filter(|d| d.year == t) {
                let option = &estate.problem.units[u].options[d.option];
                spend.push((d.var, pounds(option.cash[t])));
                hours.push((d.var, option.hours as f64));
                count.push((d.var, 1.0));
            }
        }
        flags.visit = Some(y);
        if count.is_empty() {
            self.done.model.fix(y, 0.0);
            return None;
        }
        spend.push((y, pounds(card.mobilise)));
        hours.push((y, -(card.hours_cap as f64)));
        self.done.model.at_most(0.0, hours);
        if card.bulk_rebate > 0 && card.bulk_min <= count.len() {
            let gain = pounds(card.bulk_rebate_pv[t]) + price * pounds(card.bulk_rebate);
            let w = self.done.model.binary(-gain);
            let enough = count.iter().map(|(var, one)| (*var, -one));
            self.done
                .model
                .at_most(0.0, enough.chain([(w, card.bulk_min as f64)]));
            self.done.model.at_most(0.0, [(w, 1.0), (y, -1.0)]);
            spend.push((w, -pounds(card.bulk_rebate)));
            flags.bulk = Some(w);
        }
        let v = self.consultation(b, t, y, &spend, rooms);
        flags.consulted = v;
        charged.then(|| {
            let out = self
                .done
                .model
                .continuous(0.0, f64::NEG_INFINITY, f64::INFINITY);
            let consulted = v.map(|v| (v, pounds(card.consultation)));
            let terms = spend.into_iter().chain(consulted).chain([(out, -1.0)]);
            self.done.model.equal(0.0, terms);
            out
        })
    }

    /// z(g,t) between its units and y(b,t).
    fn group(&mut self, g: usize, t: usize, y: Var, members: &[usize]) -> Option<Var> {
        let group = &self.estate.problem.groups[g];
        let price = (self.price)(group.building, t);
        let rows: Vec<Vec<(Var, f64)>> = members
            .iter()
            .map(|u| {
                let on = self.decisions_of(*u).iter().filter(|d| d.year == t);
                on.map(|d| (d.var, 1.0)).collect::<Vec<_>>()
            })
            .filter(|row| !row.is_empty())
            .collect();
        if rows.is_empty() {
            return None;
        }
        let cost = pounds(group.mobilise_pv[t]) + price * pounds(group.mobilise);
        let z = self.done.model.binary(cost);
        for row in rows {
            self.done.model.at_most(0.0, row.into_iter().chain([(z, -1.0)]));
        }
        self.done.model.at_most(0.0, [(z, 1.0), (y, -1.0)]);
        Some(z)
    }

    /// v(b,t) and s ≤ S·y + (M − S)·v; `None` when no consultation can be needed or none is allowed.
    fn consultation(
        &mut self,
        b: usize,
        t: usize,
        y: Var,
        spend: &[(Var, f64)],
        rooms: &[Room],
    ) -> Option<Var> {
        let card = &self.estate.problem.buildings[b];
        let limit = pounds(card.consultation_above);
        let most = most_spent(self.estate, b, t);
        if most <= limit {
            return None;
        }
        let spend = spend.iter().copied();
        let affordable = most_paid(self.estate, b, t, rooms) - pounds(card.consultation);
        let most = most.min(affordable);
        if t < card.consultation_from || most <= limit {
            self.done.model.at_most(0.0, spend.chain([(y, -limit)]));
            return None;
        }
        let cost = pounds(card.consultation_pv[t]) + (self.price)(b, t) * pounds(card.consultation);
        let v = self.done.model.binary(cost);
        self.done
            .model
            .at_most(0.0, spend.chain([(y, -limit), (v, limit - most)]));
        self.done.model.at_most(0.0, [(v, 1.0), (y, -1.0)]);
        Some(v)
    }

    /// Rule 7 of the sets whose first unit stands in `b`.
    fn sets(&mut self, b: usize) {
        let estate = self.estate;
        for &k in &estate.together[b] {
            for pair in estate.problem.together[k].windows(2) {
                for t in 0..estate.problem.years {
                    let on = |u: usize, sign: f64| {
                        self.decisions_of(u)
                            .iter()
                            .filter(move |d| d.year == t)
                            .map(move |d| (d.var, sign))
                    };
                    let terms: Vec<_> = on(pair[0], 1.0).chain(on(pair[1], -1.0)).collect();
                    if !terms.is_empty() {
                        self.done.model.equal(0.0, terms);
                    }
                }
            }
        }
        for &k in &estate.redundancy[b] {
            let set = &estate.problem.redundancy[k];
            for t in 0..estate.problem.years {
                let terms: Vec<_> = set
                    .units
                    .iter()
                    .flat_map(|u| self.decisions_of(*u))
                    .filter(|d| d.year == t)
                    .map(|d| (d.var, 1.0))
                    .collect();
                if terms.len() > set.at_once {
                    self.done.model.at_most(set.at_once as f64, terms);
                }
            }
        }
    }

    /// Balance and cap rows of the funds given room in.
    fn funds(&mut self, rooms: &[Room]) {
        for room in rooms {
            let mut before: Option<Var> = None;
            for t in 0..self.estate.problem.years {
                let paid: Vec<(Var, f64)> = self
                    .outflow
                    .iter()
                    .filter(|(b, _)| self.estate.problem.buildings[*b].funds.contains(&room.fund))
                    .filter_map(|(_, out)| out[t].map(|var| (var, 1.0)))
                    .collect();
                if let Some(cap) = room.caps[t] {
                    let row = self.done.model.at_most(cap, paid.iter().copied());
                    self.done.cap_rows.push((room.fund, t, row));
                }
                let sum = self
                    .done
                    .model
                    .continuous(0.0, f64::NEG_INFINITY, f64::INFINITY);
                let carried = before.map(|var| (var, 1.0));
                self.done
                    .model
                    .equal(0.0, paid.into_iter().chain(carried).chain([(sum, -1.0)]));
                let row = self.done.model.at_most(room.headroom[t], [(sum, 1.0)]);
                self.done.balance_rows.push((room.fund, t, row));
                before = Some(sum);
            }
        }
    }
}
