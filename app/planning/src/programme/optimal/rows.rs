//! Columns and rows of the model, rule by rule.
use super::estate::Estate;
use super::formulation::{Decision, Flags, Formulation, Room, pounds};
use super::most_spent::{most_paid, most_spent};
use crate::solver::{Model, Var};

/// Writes the model of some buildings.
pub struct Rows<'a, 'b> {
    /// The estate.
    pub estate: &'b Estate<'a>,
    price: &'b dyn Fn(usize, usize) -> f64,
    /// The model so far.
    pub done: Formulation,
    /// out(b,t) as terms over columns, for buildings charged to a fund that is a row.
    pub outflow: Vec<(usize, Vec<Option<Var>>)>,
    /// First decision of each unit written, and how many.
    span: Vec<Option<(usize, usize)>>,
}

impl<'a, 'b> Rows<'a, 'b> {
    pub fn new(estate: &'b Estate<'a>, price: &'b dyn Fn(usize, usize) -> f64) -> Self {
        Self {
            estate,
            price,
            done: Formulation {
                model: Model::default(),
                decisions: Vec::new(),
                done_by: Vec::new(),
                flags: Vec::new(),
                balance_rows: Vec::new(),
                cap_rows: Vec::new(),
            },
            outflow: Vec::new(),
            span: vec![None; estate.problem.units.len()],
        }
    }

    /// Columns and rows of one building.
    pub fn write(&mut self, b: usize, rooms: &[Room]) {
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
            self.done_by(u, begun);
        } else {
            self.done.model.equal(1.0, terms);
        }
    }

    /// 0/1 columns "done by year t" = Σ_{τ≤t} x: branching on them parts the years evenly, which x alone
    /// does not.
    fn done_by(&mut self, u: usize, begun: usize) {
        let mut before: Option<Var> = None;
        for t in 0..self.estate.problem.years {
            let decisions = self.done.decisions[begun..].iter().filter(|d| d.year == t);
            let now: Vec<(Var, f64)> = decisions.map(|d| (d.var, 1.0)).collect();
            if now.is_empty() {
                continue;
            }
            let by = self.done.model.binary(0.0);
            let carried = before.map(|var| (var, 1.0));
            self.done
                .model
                .equal(0.0, now.into_iter().chain(carried).chain([(by, -1.0)]));
            self.done.done_by.push((u, t, by));
            before = Some(by);
        }
    }

    /// The x columns of a unit.
    pub fn decisions_of(&self, u: usize) -> &[Decision] {
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
        let cost = pounds(card.mobilise_pv[t]) + price * pounds(card.mobilise);
        // y and z are 0 or 1 of themselves once the x are: each is the largest of them, and costs.
        let y = self.done.model.continuous(cost, 0.0, 1.0);
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
        let z = self.done.model.continuous(cost, 0.0, 1.0);
        for row in rows {
            self.done
                .model
                .at_most(0.0, row.into_iter().chain([(z, -1.0)]));
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
        self.threshold_covers(b, t, y, v);
        Some(v)
    }
}
