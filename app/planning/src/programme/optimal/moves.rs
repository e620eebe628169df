//! The moves of a descent and the shaking between them.
use super::descent::Descent;
use super::menu::UNDONE;
use super::model::Plan;
use crate::dice::Dice;

impl Descent<'_, '_> {
    /// Makes a change of several items if it is better; its value then.
    fn try_change(&mut self, change: &[(usize, Option<usize>)], value: f64) -> Option<f64> {
        let undo: Vec<(usize, Option<usize>)> =
            change.iter().map(|(i, _)| (*i, self.chosen[*i])).collect();
        for (i, at) in change {
            self.put(*i, *at);
        }
        let fresh = self.value();
        if fresh < value - 1e-6 {
            return Some(fresh);
        }
        for (i, at) in undo {
            self.put(i, at);
        }
        None
    }

    /// Descends until no move is better.
    fn descend(&mut self, dice: &mut Dice) -> f64 {
        let mut value = self.value();
        loop {
            let before = value;
            let mut order: Vec<usize> = (0..self.items.len()).collect();
            dice.shuffle(&mut order);
            for i in order {
                let count = self.items[i].choices.len();
                for at in (0..count).map(Some).chain([None]) {
                    if at != self.chosen[i] {
                        value = self.try_change(&[(i, at)], value).unwrap_or(value);
                    }
                }
            }
            for change in self.years_moved() {
                value = self.try_change(&change, value).unwrap_or(value);
            }
            if value >= before - 1e-6 {
                return value;
            }
        }
    }

    /// Everything a building does in one year, in another year or never.
    fn years_moved(&self) -> Vec<Vec<(usize, Option<usize>)>> {
        let years = self.estate.problem.years;
        let mut out = Vec::new();
        for from in 0..years {
            let there: Vec<usize> = (0..self.items.len())
                .filter(|i| {
                    self.chosen[*i].is_some_and(|at| self.items[*i].choices[at].year == from)
                })
                .collect();
            if there.is_empty() {
                continue;
            }
            for to in (0..years).filter(|to| *to != from) {
                let moved: Vec<_> = there
                    .iter()
                    .filter_map(|i| Some((*i, Some(self.same_option(*i, to)?))))
                    .collect();
                if !moved.is_empty() {
                    out.push(moved);
                }
            }
            let free = there.iter().filter(|i| self.items[**i].never < UNDONE);
            out.push(free.map(|i| (*i, None)).collect());
        }
        out
    }

    /// The choice of an item in another year, with the options it has now if they are open then.
    fn same_option(&self, i: usize, year: usize) -> Option<usize> {
        let item = &self.items[i];
        let now = &item.choices[self.chosen[i]?].options;
        let mut open = (0..item.choices.len()).filter(|k| item.choices[*k].year == year);
        let same = open.clone().find(|k| item.choices[*k].options == *now);
        same.or_else(|| open.next())
    }

    /// Searches with so many shakes and writes the best into `plan`; whether it keeps every rule of the
    /// block.
    pub fn search(mut self, shakes: usize, dice: &mut Dice, plan: &mut Plan) -> bool {
        let mut value = self.descend(dice);
        let mut best = (value, self.chosen.clone());
        for _ in 0..shakes {
            let kept = self.chosen.clone();
            self.shake(dice);
            let fresh = self.descend(dice);
            if fresh <= value + 1e-6 {
                value = fresh;
            } else {
                for (i, at) in kept.into_iter().enumerate() {
                    self.put(i, at);
                }
            }
            if value < best.0 - 1e-6 {
                best = (value, self.chosen.clone());
            }
        }
        for (item, at) in self.items.iter().zip(&best.1) {
            for (k, u) in item.units.iter().enumerate() {
                plan[*u] = at.map(|at| (item.choices[at].options[k], item.choices[at].year));
            }
        }
        self.items
            .iter()
            .zip(&best.1)
            .all(|(item, at)| at.is_some() || item.never < UNDONE)
            && best.0.is_finite()
    }

    /// Some items elsewhere at random, or a whole year.
    fn shake(&mut self, dice: &mut Dice) {
        if dice.below(2) == 0 {
            let moves = self.years_moved();
            let at = dice.below(moves.len());
            if let Some(change) = moves.get(at) {
                for (i, at) in change {
                    self.put(*i, *at);
                }
            }
        }
        for _ in 0..=dice.below(4) {
            let i = dice.below(self.items.len());
            let count = self.items[i].choices.len();
            let at = dice.below(count + 1);
            if at < count || self.items[i].never < UNDONE {
                self.put(i, (at < count).then_some(at));
            }
        }
    }
}
