//! A quick plan of one block at given prices: descent over moves of units, groups and whole years, shaken
//! again and again (iterated local search). It proves nothing; it gives the master columns in
//! milliseconds where the exact model takes a good part of a second.
//!
//! The value of a building's year depends only on sums over its units, so a move is judged from sums.
use super::estate::Estate;
use super::formulation::pounds;
use super::menu::{Item, Menu};
use super::model::Plan;

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
    /// Look-ups.
    pub estate: &'b Estate<'a>,
    buildings: Vec<usize>,
    price: &'b [Vec<f64>],
    /// What can be decided.
    pub items: Vec<Item>,
    /// Chosen place in `choices`; `None` = never.
    pub chosen: Vec<Option<usize>>,
    /// Pence of the items never done.
    kept: i64,
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
            items: Menu::of(estate, block, price, &sets).items,
            chosen: Vec::new(),
            kept: 0,
            sums,
            years: vec![vec![(0.0, 0); years]; block.len()],
            plant: vec![vec![0; years]; sets.len()],
            sets,
            own_funds: estate.funds_of(block).0,
        };
        search.chosen = vec![None; search.items.len()];
        search.kept = search.items.iter().map(|item| item.never).sum();
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

    /// Gives an item another choice.
    pub fn put(&mut self, i: usize, at: Option<usize>) {
        match self.chosen[i] {
            Some(old) => self.add(i, old, -1),
            None => self.kept -= self.items[i].never,
        }
        self.chosen[i] = at;
        match at {
            Some(new) => self.add(i, new, 1),
            None => self.kept += self.items[i].never,
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
    pub fn value(&self) -> f64 {
        let problem = self.estate.problem;
        let mut value = pounds(self.kept);
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
}
