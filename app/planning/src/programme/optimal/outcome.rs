//! What a plan costs and spends, building by building: the planner's own arithmetic.
//!
//! The check a plan is judged by is [`super::audit`], written apart from this.
use super::estate::Estate;
use super::model::Plan;

/// One block's part of a plan with its cost and what it pays each year, in pence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// Its part of the objective.
    pub cost: i64,
    /// Outflow of each building of the block by year: (building, out(b,·)).
    pub paid: Vec<(usize, Vec<i64>)>,
    /// Hours over the cap, consultations too early: 0 when the building's own rules hold.
    pub breaches: usize,
}

/// What happens in a building in one year.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Year {
    /// Present values of it, pence.
    pub cost: i64,
    /// s(b,t), then out(b,t) with the consultation, pence.
    pub paid: i64,
    /// Home-hours of disruption.
    pub hours: i64,
    /// Units replaced.
    pub count: usize,
    /// Groups set up in.
    pub groups: Vec<usize>,
    /// Whether the rebate is earned.
    pub bulk: bool,
    /// Whether leaseholders must be consulted.
    pub consulted: bool,
}

/// A building's years under `plan`, units never replaced apart.
pub fn years_of(estate: &Estate<'_>, b: usize, plan: &Plan) -> Vec<Year> {
    let problem = estate.problem;
    let card = &problem.buildings[b];
    let mut years = vec![Year::default(); problem.years];
    for &u in &estate.units[b] {
        let Some((o, t)) = plan[u] else { continue };
        let (unit, year) = (&problem.units[u], &mut years[t]);
        let option = &unit.options[o];
        year.cost += option.pv[t].unwrap_or(0);
        year.paid += option.cash[t];
        year.hours += option.hours;
        year.count += 1;
        if !year.groups.contains(&unit.group) {
            year.groups.push(unit.group);
            let group = &problem.groups[unit.group];
            year.cost += group.mobilise_pv[t];
            year.paid += group.mobilise;
        }
    }
    for (t, year) in years.iter_mut().enumerate().filter(|(_, y)| y.count > 0) {
        year.paid += card.mobilise;
        year.cost += card.mobilise_pv[t];
        year.bulk = card.bulk_rebate > 0 && year.count >= card.bulk_min;
        if year.bulk {
            year.cost -= card.bulk_rebate_pv[t];
            year.paid -= card.bulk_rebate;
        }
        year.consulted = year.paid > card.consultation_above;
        if year.consulted {
            year.cost += card.consultation_pv[t];
            year.paid += card.consultation;
        }
    }
    years
}

/// Cost and outflow of the buildings named, under `plan`.
pub fn outcome(estate: &Estate<'_>, buildings: &[usize], plan: &Plan) -> Outcome {
    let problem = estate.problem;
    let mut out = Outcome {
        cost: 0,
        paid: Vec::with_capacity(buildings.len()),
        breaches: 0,
    };
    for &b in buildings {
        let card = &problem.buildings[b];
        let kept = estate.units[b].iter().filter(|u| plan[**u].is_none());
        out.cost += kept.filter_map(|u| problem.units[*u].never).sum::<i64>();
        let years = years_of(estate, b, plan);
        for (t, year) in years.iter().enumerate() {
            out.cost += year.cost;
            out.breaches += usize::from(year.consulted && t < card.consultation_from);
            out.breaches += usize::from(year.hours > card.hours_cap);
        }
        out.paid.push((b, years.iter().map(|y| y.paid).collect()));
    }
    out
}

/// Whether every fund named keeps its floor and caps when each building pays `paid` (by building).
pub fn funds_hold(
    estate: &Estate<'_>,
    funds: &[usize],
    paid: &dyn Fn(usize, usize) -> i64,
) -> bool {
    let problem = estate.problem;
    funds.iter().all(|f| {
        let fund = &problem.funds[*f];
        let mut spent = 0;
        fund.headroom().iter().enumerate().all(|(t, headroom)| {
            let year: i64 = estate.members[*f].iter().map(|b| paid(*b, t)).sum();
            spent += year;
            spent <= *headroom && fund.cap(t).is_none_or(|cap| year <= cap)
        })
    })
}
