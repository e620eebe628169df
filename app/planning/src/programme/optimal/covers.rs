//! Cover inequalities of the consultation threshold: they cut what s ≤ S·y + (M − S)·v leaves fractional.
use super::rows::Rows;
use crate::solver::Var;

/// What the units of a building can cost and disturb at least in one year.
struct Faces {
    /// Least cash of each unit, ascending, pence.
    cash: Vec<i64>,
    /// Least hours of each unit, ascending.
    hours: Vec<i64>,
}

impl Rows<'_, '_> {
    /// Without v at most κ units fit under S, with it at most as many as the hours allow:
    /// N ≤ κ·y + (n − κ)·v; and a unit that alone spends more than S needs v: Σ_o x(u,o,t) ≤ v.
    pub fn threshold_covers(&mut self, b: usize, t: usize, y: Var, v: Var) {
        let faces = self.faces(b, t);
        let (small, most) = self.counts(b, &faces);
        let estate = self.estate;
        if small < most {
            let mut terms: Vec<(Var, f64)> = Vec::new();
            for u in &estate.units[b] {
                let open = self.decisions_of(*u).iter().filter(|d| d.year == t);
                terms.extend(open.map(|d| (d.var, 1.0)));
            }
            terms.push((y, -(small as f64)));
            terms.push((v, small as f64 - most as f64));
            self.done.model.at_most(0.0, terms);
        }
        for &u in &estate.units[b] {
            let mut heavy: Vec<(Var, f64)> = Vec::new();
            for d in self.decisions_of(u).iter().filter(|d| d.year == t) {
                let cash = estate.problem.units[u].options[d.option].cash[t];
                if self.alone(u, cash, &faces) > estate.problem.buildings[b].consultation_above {
                    heavy.push((d.var, 1.0));
                }
            }
            if !heavy.is_empty() {
                heavy.push((v, -1.0));
                self.done.model.at_most(0.0, heavy);
            }
        }
    }

    fn faces(&self, b: usize, t: usize) -> Faces {
        let problem = self.estate.problem;
        let (mut cash, mut hours) = (Vec::new(), Vec::new());
        for &u in &self.estate.units[b] {
            let open = self.decisions_of(u).iter().filter(|d| d.year == t);
            let options = open.map(|d| &problem.units[u].options[d.option]);
            cash.extend(options.clone().map(|o| o.cash[t]).min());
            hours.extend(options.map(|o| o.hours).min());
        }
        cash.sort_unstable();
        hours.sort_unstable();
        Faces { cash, hours }
    }

    /// κ, the most units whose spend can stay at or under S, and the most the hours cap allows.
    fn counts(&self, b: usize, faces: &Faces) -> (usize, usize) {
        let problem = self.estate.problem;
        let card = &problem.buildings[b];
        let groups = self.estate.groups[b].iter();
        let group = groups.map(|g| problem.groups[*g].mobilise).min();
        let set_up = group.unwrap_or(0) + card.mobilise;
        let fits = |n: &usize| {
            let bulk = card.bulk_rebate > 0 && *n >= card.bulk_min;
            let rebate = if bulk { card.bulk_rebate } else { 0 };
            faces.cash[..*n].iter().sum::<i64>() + set_up - rebate <= card.consultation_above
        };
        let small = (1..=faces.cash.len()).rev().find(fits).unwrap_or(0);
        let mut left = card.hours_cap;
        let allowed = faces.hours.iter().take_while(|h| {
            left -= **h;
            left >= 0
        });
        (small, allowed.count())
    }

    /// Least spend of a year in which this unit is done for `cash`; with the rebate come at least
    /// bulk_min − 1 more units.
    fn alone(&self, u: usize, cash: i64, faces: &Faces) -> i64 {
        let problem = self.estate.problem;
        let unit = &problem.units[u];
        let card = &problem.buildings[unit.building];
        let own = cash + problem.groups[unit.group].mobilise + card.mobilise;
        if card.bulk_rebate <= 0 {
            return own;
        }
        let others = card.bulk_min.saturating_sub(1);
        let bulk: i64 = faces.cash.iter().take(others).sum();
        own.min(own + bulk - card.bulk_rebate)
    }
}
