//! A clash set solved again: every plan that could keep it is tried, from the rules of the cases alone (their README §1, and
//! §5 for what a limit is), with nothing of the planner's but the types of the problem.
//!
//! Where every option costs more than its building's rebate, a unit more never makes a year cheaper; nor does it free hours or
//! plant. So units that no kept limit asks for are left alone, and what breaks with some units breaks with more of them.
use planning::programme::optimal::limits::Limit;
use planning::programme::optimal::model::{Building, Fund, Plan, Problem, Unit};

/// Whether a unit more never makes anything easier in this problem, on which the search rests.
pub fn more_never_helps(problem: &Problem) -> bool {
    let dear = |unit: &Unit| {
        let rebate = problem.buildings[unit.building].bulk_rebate;
        let mut offers = unit.options.iter().flat_map(|o| &o.cash);
        offers.all(|cash| *cash >= rebate.max(0))
    };
    let set_up = problem.groups.iter().all(|g| g.mobilise >= 0);
    let besides = |b: &Building| b.mobilise >= 0 && b.consultation >= 0;
    set_up && problem.buildings.iter().all(besides) && problem.units.iter().all(dear)
}

/// Whether any plan keeps all of these limits, whatever others it breaks.
pub fn plan_exists(problem: &Problem, kept: &[Limit]) -> bool {
    let asked = |u: &usize| {
        let together = kept.iter().any(|limit| match limit {
            Limit::Together(k) => problem.together[*k].contains(u),
            _ => false,
        });
        together || kept.contains(&Limit::Due(*u))
    };
    let search = Search {
        problem,
        kept,
        units: (0..problem.units.len()).filter(asked).collect(),
    };
    search.from(0, &mut vec![None; problem.units.len()])
}

struct Search<'a> {
    problem: &'a Problem,
    kept: &'a [Limit],
    /// Units that a kept limit asks for.
    units: Vec<usize>,
}

impl Search<'_> {
    /// Tries every choice of the units from a place on.
    fn from(&self, at: usize, plan: &mut Plan) -> bool {
        let Some(&u) = self.units.get(at) else {
            return self.together(plan);
        };
        let unit = &self.problem.units[u];
        let due = self.kept.contains(&Limit::Due(u));
        if (!due || unit.never.is_some()) && self.from(at + 1, plan) {
            return true;
        }
        let latest = unit.latest.filter(|_| due);
        for (o, option) in unit.options.iter().enumerate() {
            for (t, pv) in option.pv.iter().enumerate() {
                if pv.is_none() || latest.is_some_and(|latest| t > latest) {
                    continue;
                }
                plan[u] = Some((o, t));
                if self.keeps(plan) && self.from(at + 1, plan) {
                    return true;
                }
            }
        }
        plan[u] = None;
        false
    }

    fn together(&self, plan: &Plan) -> bool {
        let year = |u: &usize| plan[*u].map(|(_, t)| t);
        self.kept.iter().all(|limit| match limit {
            Limit::Together(k) => {
                let set = &self.problem.together[*k];
                set.iter().all(|u| year(u) == set.first().and_then(year))
            }
            _ => true,
        })
    }

    /// Whether the units that have a year so far break none of the limits that more units could only break further.
    fn keeps(&self, plan: &Plan) -> bool {
        let years: Vec<Vec<Year>> = (0..self.problem.buildings.len())
            .map(|b| {
                (0..self.problem.years)
                    .map(|t| self.year(plan, b, t))
                    .collect()
            })
            .collect();
        let asked = |year: &Option<usize>, t: usize| year.is_none_or(|year| year == t);
        let all = || 0..self.problem.years;
        self.kept.iter().all(|limit| match limit {
            Limit::Due(_) | Limit::Together(_) => true,
            Limit::Hours(b, year) => {
                let cap = self.problem.buildings[*b].hours_cap;
                all().all(|t| !asked(year, t) || years[*b][t].hours <= cap)
            }
            Limit::Lead(b) => {
                let from = self.problem.buildings[*b].consultation_from;
                all().all(|t| t >= from || !years[*b][t].consults)
            }
            Limit::SpendCap(f, year) => {
                let fund = &self.problem.funds[*f];
                let over = |t: usize| {
                    let caps = fund.spend_cap.as_ref().and_then(|caps| caps[t]);
                    caps.is_some_and(|cap| self.spent(&years, *f, t) > cap)
                };
                all().all(|t| !asked(year, t) || !over(t))
            }
            Limit::Fund(f, year) => {
                let fund: &Fund = &self.problem.funds[*f];
                let mut balance = fund.opening;
                all().all(|t| {
                    balance += fund.add[t] - self.spent(&years, *f, t);
                    !asked(year, t) || balance >= fund.floor
                })
            }
            Limit::Redundancy(k) => {
                let set = &self.problem.redundancy[*k];
                let out = |t: usize| {
                    let here = set
                        .units
                        .iter()
                        .filter(|u| plan[**u].is_some_and(|p| p.1 == t));
                    here.count()
                };
                all().all(|t| out(t) <= set.at_once)
            }
        })
    }

    /// What the buildings that pay from a fund pay in a year.
    fn spent(&self, years: &[Vec<Year>], f: usize, t: usize) -> i64 {
        let pays = |b: &usize| self.problem.buildings[*b].funds.contains(&f);
        (0..years.len()).filter(pays).map(|b| years[b][t].out).sum()
    }

    /// Rules 2 to 6 of one building's year.
    fn year(&self, plan: &Plan, b: usize, t: usize) -> Year {
        let card = &self.problem.buildings[b];
        let (mut year, mut count, mut spend) = (Year::default(), 0, 0);
        let mut groups: Vec<usize> = Vec::new();
        for (unit, entry) in self.problem.units.iter().zip(plan) {
            let Some((o, _)) = entry.filter(|(_, at)| unit.building == b && *at == t) else {
                continue;
            };
            count += 1;
            spend += unit.options[o].cash[t];
            year.hours += unit.options[o].hours;
            if !groups.contains(&unit.group) {
                groups.push(unit.group);
                spend += self.problem.groups[unit.group].mobilise;
            }
        }
        if count > 0 {
            spend += card.mobilise;
        }
        if card.bulk_rebate > 0 && count >= card.bulk_min {
            spend -= card.bulk_rebate;
        }
        year.consults = spend > card.consultation_above;
        year.out = spend + if year.consults { card.consultation } else { 0 };
        year
    }
}

/// What a building's year comes to.
#[derive(Clone, Copy, Default)]
struct Year {
    hours: i64,
    /// Paid, the consultation with it.
    out: i64,
    consults: bool,
}

/// A limit as the cases write it: "due 3", "fund 0 1", "fund 0" (in every year), "hours 0 4", "lead 1".
pub fn read(text: &str) -> Option<Limit> {
    let mut words = text.split_whitespace();
    let sort = words.next()?;
    let numbers: Vec<usize> = words.map(|w| w.parse().ok()).collect::<Option<_>>()?;
    let (first, year) = (*numbers.first()?, numbers.get(1).copied());
    Some(match sort {
        "due" => Limit::Due(first),
        "fund" => Limit::Fund(first, year),
        "spend_cap" => Limit::SpendCap(first, year),
        "hours" => Limit::Hours(first, year),
        "lead" => Limit::Lead(first),
        "together" => Limit::Together(first),
        "redundancy" => Limit::Redundancy(first),
        _ => return None,
    })
}
