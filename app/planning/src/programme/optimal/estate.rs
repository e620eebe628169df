//! The problem with what belongs to what looked up once, and its parts that share nothing.
use super::model::Problem;

/// Buildings tied by a set of units that spans them: nearly always one building.
pub type Block = Vec<usize>;

/// Look-ups.
#[derive(Clone, Debug)]
pub struct Estate<'a> {
    /// The problem.
    pub problem: &'a Problem,
    /// Units of each building.
    pub units: Vec<Vec<usize>>,
    /// Groups of each building.
    pub groups: Vec<Vec<usize>>,
    /// Sets done together, by the building of their first unit.
    pub together: Vec<Vec<usize>>,
    /// Redundancy sets, by the building of their first unit.
    pub redundancy: Vec<Vec<usize>>,
    /// Open (option, year) pairs of each unit.
    pub choices: Vec<Vec<(usize, usize)>>,
    /// Buildings of each fund.
    pub members: Vec<Vec<usize>>,
    /// Buildings whose outflow can never be negative: the rebate is at most what must be paid to earn it.
    pub always_pays: Vec<bool>,
}

impl<'a> Estate<'a> {
    /// Looks everything up.
    pub fn of(problem: &'a Problem) -> Self {
        let buildings = problem.buildings.len();
        let mut estate = Self {
            problem,
            units: vec![Vec::new(); buildings],
            groups: vec![Vec::new(); buildings],
            together: vec![Vec::new(); buildings],
            redundancy: vec![Vec::new(); buildings],
            choices: (0..problem.units.len())
                .map(|u| problem.open_choices(u))
                .collect(),
            members: vec![Vec::new(); problem.funds.len()],
            always_pays: vec![true; buildings],
        };
        for (u, unit) in problem.units.iter().enumerate() {
            estate.units[unit.building].push(u);
        }
        for (g, group) in problem.groups.iter().enumerate() {
            estate.groups[group.building].push(g);
        }
        for (k, set) in problem.together.iter().enumerate() {
            if let Some(first) = set.first() {
                estate.together[problem.units[*first].building].push(k);
            }
        }
        for (k, set) in problem.redundancy.iter().enumerate() {
            if let Some(first) = set.units.first() {
                estate.redundancy[problem.units[*first].building].push(k);
            }
        }
        for (b, building) in problem.buildings.iter().enumerate() {
            for fund in &building.funds {
                estate.members[*fund].push(b);
            }
            estate.always_pays[b] = estate.pays(b);
        }
        estate
    }

    fn pays(&self, b: usize) -> bool {
        let card = &self.problem.buildings[b];
        let cash = |u: &usize| {
            let unit = &self.problem.units[*u];
            let each = self.choices[*u].iter();
            each.map(|(o, t)| unit.options[*o].cash[*t]).min()
        };
        let least = self.units[b].iter().filter_map(cash).min().unwrap_or(0);
        let groups = self.groups[b]
            .iter()
            .map(|g| self.problem.groups[*g].mobilise);
        let positive = least >= 0 && card.mobilise >= 0 && groups.min().unwrap_or(0) >= 0;
        positive && card.mobilise + least * card.bulk_min as i64 >= card.bulk_rebate
    }

    /// Buildings tied by sets of units only, funds apart.
    pub fn blocks(&self) -> Vec<Block> {
        let mut sets = Tied::new(self.problem.buildings.len());
        self.tie_sets(&mut sets);
        sets.parts()
    }

    /// Blocks that neither a set of units nor a fund ties to any other: each can be planned alone.
    pub fn components(&self) -> Vec<Block> {
        let mut sets = Tied::new(self.problem.buildings.len());
        self.tie_sets(&mut sets);
        for members in &self.members {
            sets.tie(members.iter().copied());
        }
        sets.parts()
    }

    fn tie_sets(&self, sets: &mut Tied) {
        let home = |u: &usize| self.problem.units[*u].building;
        for set in &self.problem.together {
            sets.tie(set.iter().map(home));
        }
        for set in &self.problem.redundancy {
            sets.tie(set.units.iter().map(home));
        }
    }

    /// The funds of `buildings` all of whose buildings are among them, and the others they share in.
    pub fn funds_of(&self, buildings: &[usize]) -> (Vec<usize>, Vec<usize>) {
        let mut named: Vec<usize> = buildings
            .iter()
            .flat_map(|b| self.problem.buildings[*b].funds.iter().copied())
            .collect();
        named.sort_unstable();
        named.dedup();
        named
            .into_iter()
            .partition(|f| self.members[*f].iter().all(|b| buildings.contains(b)))
    }
}

/// Disjoint sets of buildings.
struct Tied {
    parent: Vec<usize>,
}

impl Tied {
    fn new(size: usize) -> Self {
        Self {
            parent: (0..size).collect(),
        }
    }

    fn root(&mut self, mut i: usize) -> usize {
        while self.parent[i] != i {
            self.parent[i] = self.parent[self.parent[i]];
            i = self.parent[i];
        }
        i
    }

    fn tie(&mut self, members: impl Iterator<Item = usize>) {
        let mut first = None;
        for member in members {
            let root = self.root(member);
            match first {
                None => first = Some(root),
                Some(other) => {
                    let other = self.root(other);
                    let (low, high) = (root.min(other), root.max(other));
                    self.parent[high] = low;
                }
            }
        }
    }

    fn parts(mut self) -> Vec<Block> {
        let size = self.parent.len();
        let mut parts: Vec<Block> = vec![Vec::new(); size];
        for i in 0..size {
            let root = self.root(i);
            parts[root].push(i);
        }
        parts.retain(|p| !p.is_empty());
        parts
    }
}
