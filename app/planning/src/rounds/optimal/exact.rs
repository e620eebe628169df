//! Exact for small cases: a master that gives each round a set of buildings, the clock checked outside.
//!
//! 0/1 columns: visit i in round r; set of buildings τ for round r, with its shortest tour. A visit needs
//! a set with its building; lengths and tour share the shift. Rounds that the clock forbids, or that need
//! more travel than the tour, are cut off and the master is solved again; without a cut its plan is
//! optimal, and its bound is valid at any time. Source of the model: `reference/planning/README.md` §4.
use super::checks::{Check, check_day};
use super::diary::Diary;
use super::least::least;
use super::tables::Tables;
use super::timing::tour;
use super::visits::{Bundle, MOST_TOGETHER};
use crate::Allowance;
use crate::solver::{Effort, Ending, Model, Var};

/// Buildings a round may choose from at most.
const MOST_BUILDINGS: usize = 12;
/// Sets of buildings written down at most, all rounds together.
const MOST_SETS: usize = 20_000;

/// What the columns mean.
pub struct Master {
    /// The model.
    pub model: Model,
    /// Visits there can be.
    pub bundles: Vec<Bundle>,
    /// (round, column) of each bundle.
    pub visits: Vec<Vec<(usize, Var)>>,
    /// (tour in minutes, column) of each round's sets.
    pub tours: Vec<Vec<(i32, Var)>>,
    /// Minutes travelled beyond the tour, a column a round.
    pub extra: Vec<Option<Var>>,
}

/// A lower bound in pence, −∞ if the case is too large or time ran out; the diary is given the optimal
/// plan when the master finds a better one.
pub fn exact(diary: &mut Diary<'_>, allowance: &dyn Allowance) -> f64 {
    let tables = diary.tables;
    if tables.spaces.iter().any(|s| s.len() > MOST_TOGETHER) {
        return f64::NEG_INFINITY;
    }
    let Some(mut master) = write(tables) else {
        return f64::NEG_INFINITY;
    };
    let mut bound = f64::NEG_INFINITY;
    while !allowance.spent() {
        let effort = Effort {
            absolute_gap: 0.5,
            ..Effort::exact(allowance.seconds_left())
        };
        let solved = master.model.solve(effort, None);
        bound = bound.max(solved.bound);
        if bound > diary.cost as f64 - 0.9 || solved.ending != Ending::Optimal {
            break;
        }
        let mut days = Vec::new();
        let mut cuts = 0;
        for day in 0..tables.days {
            match check_day(tables, &mut master, &solved, day) {
                Check::Holds(rounds) => days.extend(rounds),
                Check::Cut => cuts += 1,
                Check::TooLarge => return bound,
            }
        }
        if cuts == 0 {
            adopt(diary, &master, days);
            break;
        }
    }
    bound
}

/// The master without cuts; `None` where a round has too many buildings to choose from.
fn write(tables: &Tables<'_>) -> Option<Master> {
    let problem = tables.problem;
    let bundles = least(tables).bundles;
    let rounds = tables.shifts.len();
    let mut model = Model::default();
    let mut visits: Vec<Vec<(usize, Var)>> = Vec::new();
    let mut cover: Vec<Vec<(Var, f64)>> = vec![Vec::new(); problem.jobs.len()];
    for bundle in &bundles {
        let mut mine = Vec::new();
        for r in &bundle.rounds {
            let r = *r as usize;
            let day = (r % tables.days) as i32;
            let late =
                |j: &usize| problem.jobs[*j].delay * i64::from(day - problem.jobs[*j].earliest);
            let delay: i64 = bundle.jobs.iter().map(late).sum();
            let share = if bundle.pair { 0.5 } else { 1.0 };
            let var = model.binary(bundle.visit + share * delay as f64);
            for j in &bundle.jobs {
                cover[*j].push((var, share));
            }
            mine.push((r, var));
        }
        if bundle.pair {
            pairs(tables, &mut model, bundle, &mine);
        }
        visits.push(mine);
    }
    for (j, mut terms) in cover.into_iter().enumerate() {
        terms.push((model.binary(problem.jobs[j].unplaced as f64), 1.0));
        model.equal(1.0, terms);
    }
    let mut master = Master {
        model,
        bundles,
        visits,
        tours: vec![Vec::new(); rounds],
        extra: vec![None; rounds],
    };
    for r in 0..rounds {
        master.round(tables, r)?;
    }
    master.weeks(tables);
    Some(master)
}

/// A pair comes with exactly two on one day, one of them able to lead.
fn pairs(tables: &Tables<'_>, model: &mut Model, bundle: &Bundle, mine: &[(usize, Var)]) {
    let leads = &tables.leads[bundle.jobs[0]];
    for day in 0..tables.days {
        let there: Vec<&(usize, Var)> = mine
            .iter()
            .filter(|(r, _)| r % tables.days == day)
            .collect();
        if there.is_empty() {
            continue;
        }
        let both = model.binary(0.0);
        let two = there.iter().map(|(_, var)| (*var, 1.0));
        model.equal(0.0, two.chain([(both, -2.0)]));
        let able = there
            .iter()
            .filter(|(r, _)| leads.contains(&(r / tables.days)))
            .map(|(_, var)| (*var, 1.0));
        model.at_least(0.0, able.chain([(both, -1.0)]));
    }
}

impl Master {
    /// Visits of a round: (bundle, column).
    pub fn visits_in(&self, r: usize) -> Vec<(usize, Var)> {
        let mut out = Vec::new();
        for (i, list) in self.visits.iter().enumerate() {
            let here = list.iter().find(|(round, _)| *round == r);
            out.extend(here.map(|(_, var)| (i, *var)));
        }
        out
    }

    /// Sets of buildings, the shift, and which visits which set allows.
    fn round(&mut self, tables: &Tables<'_>, r: usize) -> Option<()> {
        let Some(shift) = tables.shifts[r] else {
            return Some(());
        };
        let visits = self.visits_in(r);
        let mut buildings: Vec<usize> = visits
            .iter()
            .map(|(i, _)| self.bundles[*i].building)
            .collect();
        buildings.sort_unstable();
        buildings.dedup();
        let sets: usize = self.tours.iter().map(Vec::len).sum();
        if buildings.len() > MOST_BUILDINGS || sets + (1 << buildings.len()) > MOST_SETS {
            return None;
        }
        let engineer = &tables.problem.engineers[r / tables.days];
        let hours = f64::from(shift[1] - shift[0]);
        let price = tables.problem.costs.travel as f64;
        let mut with: Vec<Vec<(Var, f64)>> = vec![Vec::new(); buildings.len()];
        for mask in 1..1usize << buildings.len() {
            let chosen = (0..buildings.len()).filter(|i| mask >> i & 1 == 1);
            let places: Vec<usize> = chosen
                .clone()
                .map(|i| tables.problem.buildings[buildings[i]].place)
                .collect();
            let minutes = tour(tables, engineer.base, &places);
            if f64::from(minutes) >= hours {
                continue;
            }
            let var = self.model.binary(price * f64::from(minutes));
            for i in chosen {
                with[i].push((var, -1.0));
            }
            self.tours[r].push((minutes, var));
        }
        if self.tours[r].is_empty() {
            return Some(());
        }
        let one: Vec<_> = self.tours[r].iter().map(|(_, var)| (*var, 1.0)).collect();
        self.model.at_most(1.0, one);
        let extra = self.model.continuous(price, 0.0, hours);
        self.extra[r] = Some(extra);
        let mut minutes: Vec<(Var, f64)> = vec![(extra, 1.0)];
        minutes.extend(
            self.tours[r]
                .iter()
                .map(|(m, var)| (*var, f64::from(*m) - hours)),
        );
        for (i, var) in visits {
            let bundle = &self.bundles[i];
            let place = buildings.iter().position(|b| *b == bundle.building)?;
            let allowed = with[place].iter().copied();
            self.model.at_most(0.0, allowed.chain([(var, 1.0)]));
            minutes.push((var, f64::from(bundle.length)));
        }
        self.model.at_most(0.0, minutes);
        Some(())
    }

    /// Minutes over a week's level.
    fn weeks(&mut self, tables: &Tables<'_>) {
        let price = tables.problem.costs.over_week as f64;
        for (w, level) in tables.problem.week_level.iter().enumerate() {
            let mut terms: Vec<(Var, f64)> = Vec::new();
            for (bundle, list) in self.bundles.iter().zip(&self.visits) {
                let here = list.iter().filter(|(r, _)| r % tables.days / 7 == w);
                terms.extend(here.map(|(_, var)| (*var, f64::from(bundle.length))));
            }
            let over = self.model.continuous(price, 0.0, f64::INFINITY);
            terms.push((over, -1.0));
            self.model.at_most(*level as f64, terms);
        }
    }
}

/// Gives the diary the master's plan, if it is better.
fn adopt(diary: &mut Diary<'_>, master: &Master, rounds: Vec<super::checks::Ordered>) {
    let tables = diary.tables;
    let mut fresh = Diary::empty(tables);
    for ordered in rounds {
        for (at, (i, starts)) in ordered.calls.into_iter().enumerate() {
            let jobs = master.bundles[i].jobs.clone();
            fresh.insert(ordered.round, at, jobs, starts);
        }
    }
    let places = &fresh.places;
    fresh.absent.retain(|job| places[*job][0].is_none());
    if fresh.cost < diary.cost {
        *diary = fresh;
    }
}
