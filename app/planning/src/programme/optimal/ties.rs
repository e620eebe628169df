//! Rows that tie buildings' units and years: sets, balances, caps.
use super::formulation::Room;
use super::rows::Rows;
use crate::solver::Var;

impl Rows<'_, '_> {
    /// Rule 7 of the sets whose first unit stands in `b`.
    pub fn sets(&mut self, b: usize) {
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
    pub fn funds(&mut self, rooms: &[Room]) {
        for room in rooms {
            let mut so_far: Vec<(Var, f64)> = Vec::new();
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
                so_far.extend(paid);
                let row = self
                    .done
                    .model
                    .at_most(room.headroom[t], so_far.iter().copied());
                self.done.balance_rows.push((room.fund, t, row));
            }
        }
    }
}
