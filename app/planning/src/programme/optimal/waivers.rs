//! The model in which any limit can be waived.
use super::estate::Estate;
use super::formulation::pounds;
use super::limits::Limit;
use crate::solver::{Effort, Ending, Model, Var};

/// What a trial found.
pub enum Trial {
    /// With the limits kept there is a plan; these others had to be waived for it, as few as possible
    /// (or as were found in time).
    Waived(Vec<Limit>),
    /// With the limits kept there is no plan.
    Clash,
    /// Not settled in time.
    Unknown,
}

/// Whether any plan keeps all of `kept`; of the other `all` limits as few as possible are waived.
pub fn trial(estate: &Estate<'_>, all: &[Limit], kept: &[Limit], seconds: f64) -> Trial {
    let mut elastic = Elastic {
        estate,
        model: Model::default(),
        done: Vec::new(),
    };
    let waivers: Vec<(Limit, Option<Var>)> = all
        .iter()
        .map(|l| (*l, (!kept.contains(l)).then(|| elastic.model.binary(1.0))))
        .collect();
    elastic.decide();
    elastic.buildings(&waivers);
    elastic.sets(&waivers);
    let solved = elastic.model.solve(Effort::exact(seconds), None);
    match solved.ending {
        Ending::Infeasible => Trial::Clash,
        _ if !solved.values.is_empty() => Trial::Waived(
            waivers
                .iter()
                .filter(|(_, waiver)| waiver.is_some_and(|w| solved.is_on(w)))
                .map(|(limit, _)| *limit)
                .collect(),
        ),
        _ => Trial::Unknown,
    }
}

/// The column that waives a limit; none where it is kept.
#[derive(Clone, Copy)]
struct Waiver(Option<Var>);

impl Waiver {
    /// As a term of a row.
    fn times(self, factor: f64) -> Option<(Var, f64)> {
        self.0.map(|var| (var, factor))
    }
}

/// How one of these limits may be waived; `None` where neither is among those looked at.
fn waiver(waivers: &[(Limit, Option<Var>)], limits: [Limit; 2]) -> Option<Waiver> {
    let found = waivers.iter().find(|(l, _)| limits.contains(l));
    found.map(|(_, var)| Waiver(*var))
}

struct Elastic<'a, 'b> {
    estate: &'b Estate<'a>,
    model: Model,
    /// (unit, option, year, column).
    done: Vec<Vec<(usize, usize, Var)>>,
}

impl Elastic<'_, '_> {
    /// x of every offer, latest years aside; at most one a unit.
    fn decide(&mut self) {
        for unit in &self.estate.problem.units {
            let mut mine = Vec::new();
            for (o, option) in unit.options.iter().enumerate() {
                for (t, pv) in option.pv.iter().enumerate() {
                    if pv.is_some() {
                        mine.push((o, t, self.model.binary(0.0)));
                    }
                }
            }
            let all = mine.iter().map(|d| (d.2, 1.0));
            self.model.at_most(1.0, all);
            self.done.push(mine);
        }
    }

    /// Due dates.
    fn due(&mut self, u: usize, waivers: &[(Limit, Option<Var>)]) {
        let unit = &self.estate.problem.units[u];
        let Some(waived) = waiver(waivers, [Limit::Due(u); 2]) else {
            return;
        };
        let latest = unit.latest.unwrap_or(usize::MAX);
        if unit.never.is_none() {
            let inside = self.done[u].iter().filter(|d| d.1 <= latest);
            let terms: Vec<_> = inside.map(|d| (d.2, 1.0)).collect();
            let free = waived.times(1.0);
            self.model.at_least(1.0, terms.into_iter().chain(free));
        } else {
            let late = self.done[u].iter().filter(|d| d.1 > latest);
            let terms: Vec<_> = late.map(|d| (d.2, 1.0)).collect();
            let free = waived.times(-1.0);
            self.model.at_most(0.0, terms.into_iter().chain(free));
        }
    }

    fn buildings(&mut self, waivers: &[(Limit, Option<Var>)]) {
        let problem = self.estate.problem;
        for u in 0..problem.units.len() {
            self.due(u, waivers);
        }
        let mut spend: Vec<Vec<(usize, Var)>> = vec![Vec::new(); problem.years];
        for b in 0..problem.buildings.len() {
            for (t, spend) in spend.iter_mut().enumerate() {
                if let Some(out) = self.year(b, t, waivers) {
                    spend.push((b, out));
                }
            }
        }
        self.funds(&spend, waivers);
    }

    /// Rules 2 to 6 of one building's year; the outflow's column.
    fn year(&mut self, b: usize, t: usize, waivers: &[(Limit, Option<Var>)]) -> Option<Var> {
        let problem = self.estate.problem;
        let card = &problem.buildings[b];
        let (mut spend, mut hours, mut count) = (Vec::new(), Vec::new(), Vec::new());
        let (mut all_cash, mut all_hours) = (pounds(card.mobilise), 0.0);
        let y = self.model.binary(0.0);
        spend.push((y, pounds(card.mobilise)));
        for &g in &self.estate.groups[b] {
            let z = self.model.binary(0.0);
            spend.push((z, pounds(problem.groups[g].mobilise)));
            all_cash += pounds(problem.groups[g].mobilise);
            self.model.at_most(0.0, [(z, 1.0), (y, -1.0)]);
            for &u in &self.estate.units[b] {
                if problem.units[u].group != g {
                    continue;
                }
                let now = self.done[u].iter().filter(|d| d.1 == t);
                let terms: Vec<_> = now.clone().map(|d| (d.2, 1.0)).collect();
                self.model
                    .at_most(0.0, terms.into_iter().chain([(z, -1.0)]));
                for (o, _, var) in self.done[u].iter().filter(|d| d.1 == t) {
                    let option = &problem.units[u].options[*o];
                    spend.push((*var, pounds(option.cash[t])));
                    hours.push((*var, option.hours as f64));
                    count.push((*var, -1.0));
                    all_cash += pounds(option.cash[t]);
                    all_hours += option.hours as f64;
                }
            }
        }
        if count.is_empty() {
            return None;
        }
        if let Some(waived) = waiver(waivers, [Limit::Hours(b, Some(t)), Limit::Hours(b, None)]) {
            let cap = card.hours_cap as f64;
            let free = waived.times(-(all_hours - cap).max(0.0));
            self.model.at_most(cap, hours.into_iter().chain(free));
        }
        if card.bulk_rebate > 0 && card.bulk_min <= count.len() {
            let w = self.model.binary(0.0);
            let enough = count.into_iter().chain([(w, card.bulk_min as f64)]);
            self.model.at_most(0.0, enough);
            spend.push((w, -pounds(card.bulk_rebate)));
        }
        let limit = pounds(card.consultation_above);
        if all_cash > limit {
            let v = self.model.binary(0.0);
            let over = spend.iter().copied().chain([(v, limit - all_cash)]);
            self.model.at_most(limit, over);
            spend.push((v, pounds(card.consultation)));
            if t < card.consultation_from
                && let Some(waived) = waiver(waivers, [Limit::Lead(b); 2])
            {
                let free = waived.times(-1.0);
                self.model.at_most(0.0, [(v, 1.0)].into_iter().chain(free));
            }
        }
        let out = self.model.continuous(0.0, f64::NEG_INFINITY, f64::INFINITY);
        spend.push((out, -1.0));
        self.model.equal(0.0, spend);
        Some(out)
    }

    fn funds(&mut self, spend: &[Vec<(usize, Var)>], waivers: &[(Limit, Option<Var>)]) {
        let problem = self.estate.problem;
        let most: f64 = problem.units.iter().map(dearest).sum::<f64>()
            + problem
                .groups
                .iter()
                .map(|g| pounds(g.mobilise))
                .sum::<f64>()
                * problem.years as f64
            + problem
                .buildings
                .iter()
                .map(|b| pounds(b.mobilise + b.consultation))
                .sum::<f64>()
                * problem.years as f64;
        for (f, fund) in problem.funds.iter().enumerate() {
            let mut so_far: Vec<(Var, f64)> = Vec::new();
            for (t, headroom) in fund.headroom().into_iter().enumerate() {
                let mine = spend[t]
                    .iter()
                    .filter(|(b, _)| self.estate.members[f].contains(b));
                let now: Vec<_> = mine.map(|(_, out)| (*out, 1.0)).collect();
                so_far.extend(&now);
                let limits = [Limit::Fund(f, Some(t)), Limit::Fund(f, None)];
                if let Some(waived) = waiver(waivers, limits) {
                    let headroom = pounds(headroom);
                    let free = waived.times(-(most - headroom).max(0.0));
                    self.model
                        .at_most(headroom, so_far.iter().copied().chain(free));
                }
                let limits = [Limit::SpendCap(f, Some(t)), Limit::SpendCap(f, None)];
                if let Some(cap) = fund.cap(t)
                    && let Some(waived) = waiver(waivers, limits)
                {
                    let cap = pounds(cap);
                    let free = waived.times(-(most - cap).max(0.0));
                    self.model.at_most(cap, now.into_iter().chain(free));
                }
            }
        }
    }

    fn sets(&mut self, waivers: &[(Limit, Option<Var>)]) {
        let problem = self.estate.problem;
        let on = |done: &[Vec<(usize, usize, Var)>], u: usize, t: usize, sign: f64| {
            let now = done[u].iter().filter(move |d| d.1 == t);
            now.map(|d| (d.2, sign)).collect::<Vec<_>>()
        };
        for (k, set) in problem.together.iter().enumerate() {
            let Some(waived) = waiver(waivers, [Limit::Together(k); 2]) else {
                continue;
            };
            for pair in set.windows(2) {
                for t in 0..problem.years {
                    let mut terms = on(&self.done, pair[0], t, 1.0);
                    terms.extend(on(&self.done, pair[1], t, -1.0));
                    let up = terms.iter().copied().chain(waived.times(-1.0));
                    self.model.at_most(0.0, up.collect::<Vec<_>>());
                    let down = terms.iter().copied().chain(waived.times(1.0));
                    self.model.at_least(0.0, down.collect::<Vec<_>>());
                }
            }
        }
        for (k, set) in problem.redundancy.iter().enumerate() {
            let Some(waived) = waiver(waivers, [Limit::Redundancy(k); 2]) else {
                continue;
            };
            let free = set.units.len() as f64 - set.at_once as f64;
            for t in 0..problem.years {
                let units = set.units.iter();
                let terms: Vec<_> = units.flat_map(|u| on(&self.done, *u, t, 1.0)).collect();
                let waived = waived.times(-free.max(0.0));
                self.model
                    .at_most(set.at_once as f64, terms.into_iter().chain(waived));
            }
        }
    }
}

/// Most a unit can cost, pounds.
fn dearest(unit: &super::model::Unit) -> f64 {
    let cash = unit.options.iter().flat_map(|o| o.cash.iter());
    pounds(cash.max().copied().unwrap_or(0).max(0))
}
