//! Checks a plan against the rules, from the rules alone; shares nothing with the planner but the types
//! of the problem. Written from `reference/planning/README.md` §1.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::model::{Plan, Problem};

/// A rule a plan breaks. Units, buildings and sets by index, years from 0, money in pence.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Breach {
    /// Not one entry a unit.
    Entries {
        /// Entries of the plan.
        plan: usize,
        /// Units of the problem.
        units: usize,
    },
    /// A unit that must be replaced is not.
    MustBeReplaced(usize),
    /// No such option, or a year outside the horizon.
    NoSuchChoice(usize),
    /// The option is not on offer in that year.
    NotOnOffer {
        /// The unit.
        unit: usize,
        /// The option.
        option: usize,
        /// The year.
        year: usize,
    },
    /// After the unit's latest year.
    AfterLatest {
        /// The unit.
        unit: usize,
        /// The year.
        year: usize,
        /// Its latest.
        latest: usize,
    },
    /// More disruption than the building bears in a year.
    HoursOver {
        /// The building.
        building: usize,
        /// The year.
        year: usize,
        /// Planned.
        hours: i64,
        /// Allowed.
        cap: i64,
    },
    /// A consultation could not be finished before the year it is needed.
    ConsultationTooEarly {
        /// The building.
        building: usize,
        /// The year.
        year: usize,
        /// First year possible.
        from: usize,
    },
    /// A fund under its floor at the end of a year.
    UnderFloor {
        /// The fund.
        fund: usize,
        /// The year.
        year: usize,
        /// Its balance.
        balance: i64,
        /// Its floor.
        floor: i64,
    },
    /// More spent in a year than its cap.
    OverCap {
        /// The fund.
        fund: usize,
        /// The year.
        year: usize,
        /// Spent.
        spent: i64,
        /// Allowed.
        cap: i64,
    },
    /// Units bound together that are not in one year.
    TornApart(usize),
    /// Too much plant out at once.
    OutAtOnce {
        /// The set.
        set: usize,
        /// The year.
        year: usize,
        /// Out.
        out: usize,
        /// Allowed.
        at_once: usize,
    },
}

/// The plan's cost in pence as far as it can be told, and every rule it breaks.
pub fn audit(problem: &Problem, plan: &Plan) -> (i64, Vec<Breach>) {
    let mut breaches = Vec::new();
    if plan.len() != problem.units.len() {
        breaches.push(Breach::Entries {
            plan: plan.len(),
            units: problem.units.len(),
        });
        return (0, breaches);
    }
    let mut when = vec![None; plan.len()];
    let mut cost = 0;
    // (building, year) -> pence, hours, units; (group, year) seen.
    let mut work: BTreeMap<(usize, usize), (i64, i64, usize)> = BTreeMap::new();
    let mut set_ups: BTreeSet<(usize, usize)> = BTreeSet::new();
    for (u, entry) in plan.iter().enumerate() {
        let unit = &problem.units[u];
        match entry {
            None => match unit.never {
                Some(never) => cost += never,
                None => breaches.push(Breach::MustBeReplaced(u)),
            },
            Some((o, t)) => {
                let Some(pv) = offered(problem, u, *o, *t, &mut breaches) else {
                    continue;
                };
                cost += pv;
                when[u] = Some(*t);
                let year = work.entry((unit.building, *t)).or_default();
                year.0 += unit.options[*o].cash[*t];
                year.1 += unit.options[*o].hours;
                year.2 += 1;
                set_ups.insert((unit.group, *t));
            }
        }
    }
    for (g, t) in &set_ups {
        let group = &problem.groups[*g];
        cost += group.mobilise_pv[*t];
        work.entry((group.building, *t)).or_default().0 += group.mobilise;
    }
    let paid = buildings(problem, &work, &mut cost, &mut breaches);
    funds(problem, &paid, &mut breaches);
    sets(problem, &when, &mut breaches);
    (cost, breaches)
}

/// Present value of an entry that exists and is on offer; its latest year is checked.
fn offered(
    problem: &Problem,
    u: usize,
    o: usize,
    t: usize,
    breaches: &mut Vec<Breach>,
) -> Option<i64> {
    let unit = &problem.units[u];
    let Some(option) = unit.options.get(o).filter(|_| t < problem.years) else {
        breaches.push(Breach::NoSuchChoice(u));
        return None;
    };
    let Some(pv) = option.pv[t] else {
        breaches.push(Breach::NotOnOffer {
            unit: u,
            option: o,
            year: t,
        });
        return None;
    };
    if let Some(latest) = unit.latest.filter(|latest| t > *latest) {
        breaches.push(Breach::AfterLatest {
            unit: u,
            year: t,
            latest,
        });
    }
    Some(pv)
}

/// Rules 3 to 6 up to the outflow: pence paid for each fund and year.
fn buildings(
    problem: &Problem,
    work: &BTreeMap<(usize, usize), (i64, i64, usize)>,
    cost: &mut i64,
    breaches: &mut Vec<Breach>,
) -> BTreeMap<(usize, usize), i64> {
    let mut paid: BTreeMap<(usize, usize), i64> = BTreeMap::new();
    for (&(b, t), &(cash, hours, count)) in work {
        let card = &problem.buildings[b];
        *cost += card.mobilise_pv[t];
        let mut out = cash + card.mobilise;
        if hours > card.hours_cap {
            breaches.push(Breach::HoursOver {
                building: b,
                year: t,
                hours,
                cap: card.hours_cap,
            });
        }
        if card.bulk_rebate != 0 && count >= card.bulk_min {
            *cost -= card.bulk_rebate_pv[t];
            out -= card.bulk_rebate;
        }
        if out > card.consultation_above {
            *cost += card.consultation_pv[t];
            out += card.consultation;
            if t < card.consultation_from {
                breaches.push(Breach::ConsultationTooEarly {
                    building: b,
                    year: t,
                    from: card.consultation_from,
                });
            }
        }
        for fund in &card.funds {
            *paid.entry((*fund, t)).or_default() += out;
        }
    }
    paid
}

fn funds(problem: &Problem, paid: &BTreeMap<(usize, usize), i64>, breaches: &mut Vec<Breach>) {
    for (f, fund) in problem.funds.iter().enumerate() {
        let mut balance = fund.opening;
        for year in 0..problem.years {
            let spent = paid.get(&(f, year)).copied().unwrap_or(0);
            balance += fund.add[year] - spent;
            if balance < fund.floor {
                breaches.push(Breach::UnderFloor {
                    fund: f,
                    year,
                    balance,
                    floor: fund.floor,
                });
            }
            let cap = fund.spend_cap.as_ref().and_then(|caps| caps[year]);
            if let Some(cap) = cap.filter(|cap| spent > *cap) {
                breaches.push(Breach::OverCap {
                    fund: f,
                    year,
                    spent,
                    cap,
                });
            }
        }
    }
}

fn sets(problem: &Problem, when: &[Option<usize>], breaches: &mut Vec<Breach>) {
    for (k, set) in problem.together.iter().enumerate() {
        if set.windows(2).any(|pair| when[pair[0]] != when[pair[1]]) {
            breaches.push(Breach::TornApart(k));
        }
    }
    for (k, set) in problem.redundancy.iter().enumerate() {
        let mut out: BTreeMap<usize, usize> = BTreeMap::new();
        for year in set.units.iter().filter_map(|u| when[*u]) {
            *out.entry(year).or_default() += 1;
        }
        for (year, out) in out {
            if out > set.at_once {
                breaches.push(Breach::OutAtOnce {
                    set: k,
                    year,
                    out,
                    at_once: set.at_once,
                });
            }
        }
    }
}
