//! Plain ways of making a programme, to show what planning saves: oldest first, on failure only, and each unit when it
//! is expected to fail.
//!
//! Source of the first two: `reference/planning/README.md` §7.
use super::columns::outcome_holds;
use super::estate::Estate;
use super::model::{Plan, Problem};
use super::outcome::outcome;
use super::repair::sets_hold;
use super::shared::Ledger;

/// Years from which a unit is old. Part of the plain way as it is defined.
const OLD: i64 = 15;

/// Dated units first by date, then every unit from the year it is 15 years old, oldest first; first
/// option, first year in which all limits still hold. A dated unit that finds no year is left undone,
/// which the audit says.
pub fn oldest_first(problem: &Problem) -> Plan {
    let mut way = Way::of(problem);
    let mut dated = way.dated();
    dated.sort_by_key(|u| (problem.units[*u].latest, -problem.units[*u].age, *u));
    for u in dated {
        way.first_fit(u, 0..problem.years);
    }
    let mut old: Vec<usize> = (0..problem.units.len()).collect();
    old.sort_by_key(|u| (-problem.units[*u].age, *u));
    for u in old {
        let from = usize::try_from(OLD - problem.units[u].age).unwrap_or(0);
        if way.plan[u].is_none() {
            way.first_fit(u, from..problem.years);
        }
    }
    way.plan
}

/// Nothing replaced but dated units, each as late as the limits allow.
pub fn on_failure(problem: &Problem) -> Plan {
    let mut way = Way::of(problem);
    for u in way.dated() {
        way.first_fit(u, (0..problem.years).rev());
    }
    way.plan
}

/// Nothing replaced before it fails: dated units as late as the limits allow, every other one in the year by whose end
/// one failure is expected of it (`fails`), or as soon after that as the limits allow; till then it is repaired.
pub fn at_failure(problem: &Problem, fails: &[Option<usize>]) -> Plan {
    let mut way = Way::of(problem);
    for u in way.dated() {
        way.first_fit(u, (0..problem.years).rev());
    }
    let mut due: Vec<(usize, usize)> = (0..problem.units.len())
        .filter_map(|u| Some((fails.get(u).copied().flatten()?, u)))
        .collect();
    due.sort_unstable();
    for (year, u) in due {
        if way.plan[u].is_none() {
            way.first_fit(u, year..problem.years);
        }
    }
    way.plan
}

struct Way<'a> {
    estate: Estate<'a>,
    plan: Plan,
    ledger: Ledger,
    set_of: Vec<Option<usize>>,
}

impl<'a> Way<'a> {
    fn of(problem: &'a Problem) -> Self {
        let estate = Estate::of(problem);
        let funds: Vec<usize> = (0..problem.funds.len()).collect();
        let mut set_of = vec![None; problem.units.len()];
        for (k, set) in problem.together.iter().enumerate() {
            for u in set {
                set_of[*u] = Some(k);
            }
        }
        Self {
            ledger: Ledger::empty(&estate, &funds),
            plan: vec![None; problem.units.len()],
            estate,
            set_of,
        }
    }

    /// Units that must be replaced, by date.
    fn dated(&self) -> Vec<usize> {
        let units = &self.estate.problem.units;
        let mut dated: Vec<usize> = (0..units.len())
            .filter(|u| units[*u].never.is_none())
            .collect();
        dated.sort_by_key(|u| (units[*u].latest.unwrap_or(usize::MAX), *u));
        dated
    }

    /// The first of these years in which the unit, with what is bound to it, keeps every limit.
    fn first_fit(&mut self, u: usize, years: impl Iterator<Item = usize>) {
        let problem = self.estate.problem;
        let members = match self.set_of[u] {
            Some(k) => problem.together[k].clone(),
            None => vec![u],
        };
        let mut home: Vec<usize> = members.iter().map(|m| problem.units[*m].building).collect();
        home.sort_unstable();
        home.dedup();
        for t in years {
            let open = members.iter().all(|m| {
                let unit = &problem.units[*m];
                unit.options[0].pv[t].is_some() && unit.latest.is_none_or(|latest| t <= latest)
            });
            if open && self.try_year(&members, &home, t) {
                return;
            }
        }
    }

    fn try_year(&mut self, members: &[usize], home: &[usize], t: usize) -> bool {
        let before = outcome(&self.estate, home, &self.plan);
        self.ledger.book(&self.estate, &before.paid, -1);
        for m in members {
            self.plan[*m] = Some((0, t));
        }
        let after = outcome(&self.estate, home, &self.plan);
        self.ledger.book(&self.estate, &after.paid, 1);
        let holds = outcome_holds(&self.estate, home, &self.plan)
            && sets_hold(&self.estate, home, &self.plan)
            && self.ledger.short(&self.estate) == 0;
        if !holds {
            self.ledger.book(&self.estate, &after.paid, -1);
            self.ledger.book(&self.estate, &before.paid, 1);
            for m in members {
                self.plan[*m] = None;
            }
        }
        holds
    }
}
