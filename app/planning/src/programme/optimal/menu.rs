//! What can be decided in a block at given prices: units, and sets done together, with their choices.
use super::estate::Estate;
use super::formulation::pounds;

/// Pence for a unit that must be replaced and is not: more than any plan.
pub const UNDONE: i64 = 100_000_000_000;

/// What can be decided at once: a unit, or a set done together.
pub struct Item {
    /// Its units.
    pub units: Vec<usize>,
    /// Pence if never done.
    pub never: i64,
    /// What it can be given.
    pub choices: Vec<Choice>,
    /// Places of its units' redundancy sets.
    pub plant: Vec<usize>,
    /// Place of its building in the block.
    pub building: usize,
}

/// One choice of an item with its sums.
pub struct Choice {
    /// Year.
    pub year: usize,
    /// Option of each unit.
    pub options: Vec<usize>,
    /// Priced value of the units alone, pounds.
    pub value: f64,
    /// Pence paid.
    pub cash: i64,
    /// Home-hours.
    pub hours: i64,
    /// Place among the groups of the building of each unit.
    pub groups: Vec<usize>,
}

/// The items of a block.
pub struct Menu<'a, 'b> {
    estate: &'b Estate<'a>,
    block: &'b [usize],
    price: &'b [Vec<f64>],
    sets: &'b [usize],
    /// Sets first.
    pub items: Vec<Item>,
}

impl<'a, 'b> Menu<'a, 'b> {
    /// Everything that can be decided in a block.
    pub fn of(
        estate: &'b Estate<'a>,
        block: &'b [usize],
        price: &'b [Vec<f64>],
        sets: &'b [usize],
    ) -> Self {
        let mut menu = Self {
            estate,
            block,
            price,
            sets,
            items: Vec::new(),
        };
        menu.fill();
        menu
    }

    fn fill(&mut self) {
        let problem = self.estate.problem;
        let mut bound: Vec<usize> = Vec::new();
        for (place, &b) in self.block.iter().enumerate() {
            for k in &self.estate.together[b] {
                bound.extend(&problem.together[*k]);
                let item = self.set(place, &problem.together[*k]);
                self.items.push(item);
            }
        }
        for (place, b) in self.block.iter().enumerate() {
            for u in &self.estate.units[*b] {
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
            never: never.unwrap_or(UNDONE),
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
        let never = units
            .iter()
            .map(|u| problem.units[*u].never.unwrap_or(UNDONE))
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
}
