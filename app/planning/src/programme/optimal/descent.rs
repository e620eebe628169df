//! A quick plan of one block at given prices: descent over moves of units, groups and whole years, shaken
//! again and again (iterated local search). It proves nothing; it gives the master columns in
//! milliseconds where the exact model takes a good part of a second.
//!
//! The value of a building's year depends only on sums over its units, so a move is judged from sums.
use super::estate::Estate;
use super::formulation::pounds;
use super::model::Plan;
use crate::dice::Dice;

/// Pounds for a unit that must be replaced and is not: more than any plan.
const UNDONE: f64 = 1e9;

/// What can be decided at once: a unit, or a set done together.
struct Item {
    units: Vec<usize>,
    /// Pounds if never done.
    never: f64,
    /// What it can be given.
    choices: Vec<Choice>,
    /// Places of its units' redundancy sets.
    plant: Vec<usize>,
    building: usize,
}

/// One choice of an item with its sums.
struct Choice {
    year: usize,
    options: Vec<usize>,
    /// Priced value of the units alone, pounds.
    value: f64,
    cash: i64,
    hours: i64,
    groups: Vec<usize>,
}

/// Sums of a building's year.
#[derive(Clone, Debug, Default, PartialEq)]
struct Sums {
    value: f64,
    cash: i64,
    hours: i64,
    count: usize,
    /// Units of each group of the building.
    groups: Vec<u16>,
}

/// The search on one block.
pub struct Descent<'a, 'b> {
    estate: &'b Estate<'a>,
    buildings: Vec<usize>,
    price: &'b [Vec<f64>],
    items: Vec<Item>,
    /// Chosen place in `choices`; `None` = never.
    chosen: Vec<Option<usize>>,
    /// By place of the building, then year.
    sums: Vec<Vec<Sums>>,
    /// Priced value of each year, and what it pays, pence.
    years: Vec<Vec<(f64, i64)>>,
    /// Units out, by redundancy set and year.
    plant: Vec<Vec<usize>>,
    sets: Vec<usize>,
    own_funds: Vec<usize>,
}

impl<'a, 'b> Descent<'a, 'b> {
    /// Ready to search the block from `plan` at `price` (pounds per pound, by building and year).
    pub fn new(
        estate: &'b Estate<'a>,
        block: &[usize],
        price: &'b [Vec<f64>],
        plan: &Plan,
    ) -> Self {
        let years = estate.problem.years;
        let sets: Vec<usize> = block
            .iter()
            .flat_map(|b| estate.redundancy[*b].clone())
            .collect();
        let sums = block
            .iter()
            .map(|b| {
                let empty = Sums {
                    groups: vec![0; estate.groups[*b].len()],
                    ..Sums::default()
                };
                vec![empty; years]
            })
            .collect();
        let mut search = Self {
            estate,
            buildings: block.to_vec(),
            price,
            items: Vec::new(),
            chosen: Vec::new(),
            sums,
            years: vec![vec![(0.0, 0); years]; block.len()],
            plant: vec![vec![0; years]; sets.len()],
            sets,
            own_funds: estate.funds_of(block).0,
        };
        search.items();
        search.chosen = vec![None; search.items.len()];
        for i in 0..search.items.len() {
            let item = &search.items[i];
            let at = item.choices.iter().position(|c| {
                item.units
                    .iter()
                    .zip(&c.options)
                    .all(|(u, o)| plan[*u] == Some((*o, c.year)))
            });
            search.put(i, at);
        }
        search
    }

    fn items(&mut self) {
        let problem = self.estate.problem;
        let mut bound: Vec<usize> = Vec::new();
        for (place, &b) in self.buildings.iter().enumerate() {
            for k in &self.estate.together[b] {
                bound.extend(&problem.together[*k]);
                let item = self.set(place, &problem.together[*k]);
                self.items.push(item);
            }
        }
        for (place, b) in self.buildings.clone().into_iter().enumerate() {
            for u in &self.estate.units[b] {
                if !bound.contains(u) {
                    let item = self.single(place, *u);
                    self.items.push(item);
                }
            }
        }
    }

    fn choice(&self, u: usize, o: usize, t: usize) -> Choice {
        let unit = &self.estate.problem.units[u];
        let option = &unit.options[o];
        let price = self.price[unit.building][t];
        let groups = &self.estate.groups[unit.building];
        Choice {
            year: t,
            options: vec![o],
            value: pounds(option.pv[t].unwrap_or(0)) + price * pounds(option.cash[t]),
            cash: option.cash[t],
            hours: option.hours,
            groups: vec![groups.binary_search(&unit.group).unwrap_or(0)],
        }
    }

    fn plant_of(&self, u: usize) -> Option<usize> {
        let problem = self.estate.problem;
        self.sets
            .iter()
            .position(|k| problem.redundancy[*k].units.contains(&u))
    }

    fn single(&self, place: usize, u: usize) -> Item {
        let never = self.estate.problem.units[u].never;
        Item {
            units: vec![u],
            never: never.map_or(UNDONE, pounds),
            choices: self.estate.choices[u]
                .iter()
                .map(|(o, t)| self.choice(u, *o, *t))
                .collect(),
            plant: self.plant_of(u).into_iter().collect(),
            building: place,
        }
    }

    /// A set done together: in each year every unit takes its cheapest option.
    fn set(&self, place: usize, units: &[usize]) -> Item {
        let problem = self.estate.problem;
        let never: f64 = units
            .iter()
            .map(|u| problem.units[*u].never.map_or(UNDONE, pounds))
            .sum();
        let mut choices = Vec::new();
        for t in 0..problem.years {
            let each: Option<Vec<Choice>> = units
                .iter()
                .map(|u| {
                    let open = self.estate.choices[*u].iter().filter(|c| c.1 == t);
                    let all = open.map(|(o, t)| self.choice(*u, *o, *t));
                    all.min_by(|a, b| a.value.total_cmp(&b.value))
                })
                .collect();
            if let Some(each) = each {
                choices.push(Choice {
                    year: t,
                    options: each.iter().map(|c| c.options[0]).collect(),
                    value: each.iter().map(|c| c.value).sum(),
                    cash: each.iter().map(|c| c.cash).sum(),
                    hours: each.iter().map(|c| c.hours).sum(),
                    groups: each.iter().map(|c| c.groups[0]).collect(),
                });
            }
        }
        Item {
            units: units.to_vec(),
            never,
            choices,
            plant: units.iter().filter_map(|u| self.plant_of(*u)).collect(),
            building: place,
        }
    }

    /// Whether the blocks' sets all lie in one building, so that sums tell everything.
    pub fn suits(estate: &Estate<'_>, block: &[usize]) -> bool {
        block.len() == 1 && !estate.units[block[0]].is_empty()
    }

    /// Adds (or with `sign` −1 takes away) a choice to the sums.
    fn add(&mut self, i: usize, at: usize, sign: i64) {
        let item = &self.items[i];
        let choice = &item.choices[at];
        let sums = &mut self.sums[item.building][choice.year];
        sums.value += sign as f64 * choice.value;
        sums.cash += sign * choice.cash;
        sums.hours += sign * choice.hours;
        for group in &choice.groups {
            let place = &mut sums.groups[*group];
            *place = place.wrapping_add_signed(sign as i16);
        }
        sums.count = sums
            .count
            .wrapping_add_signed(sign as isize * item.units.len() as isize);
        for set in &item.plant {
            let out = &mut self.plant[*set][choice.year];
            *out = out.wrapping_add_signed(sign as isize);
        }
        let (place, year) = (item.building, choice.year);
        self.years[place][year] = self.year_value(place, year);
    }

    fn put(&mut self, i: usize, at: Option<usize>) {
        if let Some(old) = self.chosen[i] {
            self.add(i, old, -1);
        }
        self.chosen[i] = at;
        if let Some(new) = at {
            self.add(i, new, 1);
        }
    }

    /// Priced value of a building's year and what it pays; infinite where its own rules are broken.
    fn year_value(&self, place: usize, t: usize) -> (f64, i64) {
        let problem = self.estate.problem;
        let b = self.buildings[place];
        let (card, sums) = (&problem.buildings[b], &self.sums[place][t]);
        if sums.count == 0 {
            return (0.0, 0);
        }
        let price = self.price[b][t];
        let mut value = sums.value + pounds(card.mobilise_pv[t]) + price * pounds(card.mobilise);
        let mut paid = sums.cash + card.mobilise;
        for (g, count) in self.estate.groups[b].iter().zip(&sums.groups) {
            if *count > 0 {
                let group = &problem.groups[*g];
                value += pounds(group.mobilise_pv[t]) + price * pounds(group.mobilise);
                paid += group.mobilise;
            }
        }
        if card.bulk_rebate > 0 && sums.count >= card.bulk_min {
            value -= pounds(card.bulk_rebate_pv[t]) + price * pounds(card.bulk_rebate);
            paid -= card.bulk_rebate;
        }
        if paid > card.consultation_above {
            value += pounds(card.consultation_pv[t]) + price * pounds(card.consultation);
            paid += card.consultation;
            if t < card.consultation_from {
                value = f64::INFINITY;
            }
        }
        if sums.hours > card.hours_cap {
            value = f64::INFINITY;
        }
        (value, paid)
    }

    /// Priced value of the block; infinite where a rule is broken.
    fn value(&self) -> f64 {
        let problem = self.estate.problem;
        let mut value = 0.0;
        for (item, chosen) in self.items.iter().zip(&self.chosen) {
            if chosen.is_none() {
                value += item.never;
            }
        }
        value += self.years.iter().flatten().map(|y| y.0).sum::<f64>();
        for (set, years) in self.sets.iter().zip(&self.plant) {
            let most = problem.redundancy[*set].at_once;
            if years.iter().any(|out| *out > most) {
                return f64::INFINITY;
            }
        }
        if !self.own_funds_hold() {
            return f64::INFINITY;
        }
        value
    }

    fn own_funds_hold(&self) -> bool {
        let problem = self.estate.problem;
        self.own_funds.iter().all(|f| {
            let fund = &problem.funds[*f];
            let mut left = fund.opening - fund.floor;
            (0..problem.years).all(|t| {
                let paid: i64 = self
                    .buildings
                    .iter()
                    .zip(&self.years)
                    .filter(|(b, _)| problem.buildings[**b].funds.contains(f))
                    .map(|(_, years)| years[t].1)
                    .sum();
                left += fund.add[t] - paid;
                left >= 0 && fund.cap(t).is_none_or(|cap| paid <= cap)
            })
        })
    }

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
        best.0 < UNDONE
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
        for _ in 0..1 + dice.below(4) {
            let i = dice.below(self.items.len());
            let count = self.items[i].choices.len();
            let at = dice.below(count + 1);
            if at < count || self.items[i].never < UNDONE {
                self.put(i, (at < count).then_some(at));
            }
        }
    }
}
