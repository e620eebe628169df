//! Whether a set of limits really clashes and could not be smaller: the problem with those limits alone, put to the
//! ordinary solver, has no plan; with any one of them let go it has one, which the audit finds without fault.
use planning::programme::optimal::audit::audit;
use planning::programme::optimal::limits::Limit;
use planning::programme::optimal::model::{Choice, Fund, Problem, Unit};
use planning::programme::optimal::solve::{Verdict, solve};

use super::programme::settings;
use super::seconds;
use crate::reference::economics::judge::Judge;

/// More pence, and more hours, than any of these cases moves.
const PLENTY: i64 = 1_000_000_000_000;

/// Judges a clash set.
pub fn judge(judge: &mut Judge, name: &str, problem: &Problem, set: &[Limit]) {
    let verdict = |kept: &[Limit]| {
        let eased = only(problem, kept);
        let answer = solve(&eased, settings(), &seconds(60.0));
        let faults = answer.plan.as_ref().map(|plan| audit(&eased, plan).1.len());
        (answer.verdict, faults)
    };
    judge.same(
        &format!("{name}: with them there is no plan"),
        (Verdict::Infeasible, None),
        verdict(set),
    );
    for gone in set {
        let kept: Vec<Limit> = set.iter().copied().filter(|l| l != gone).collect();
        let (found, faults) = verdict(&kept);
        let stands = matches!(found, Verdict::Optimal | Verdict::WithinGap);
        judge.same(
            &format!("{name}: without {gone:?} there is a plan without fault"),
            (true, Some(0)),
            (stands, faults),
        );
    }
}

/// The problem with these limits and no others (README of the cases, "Infeasible").
fn only(problem: &Problem, kept: &[Limit]) -> Problem {
    let holds = |fine: Limit, coarse: Limit| kept.contains(&fine) || kept.contains(&coarse);
    let hours = |b: usize, t: usize| holds(Limit::Hours(b, Some(t)), Limit::Hours(b, None));
    let mut eased = problem.clone();
    for (u, unit) in eased.units.iter_mut().enumerate() {
        if !kept.contains(&Limit::Due(u)) {
            unit.never = unit.never.or(Some(0));
            unit.latest = None;
        }
        by_year(unit, &|b, t| hours(b, t));
    }
    for (f, fund) in eased.funds.iter_mut().enumerate() {
        let balance = |t: usize| holds(Limit::Fund(f, Some(t)), Limit::Fund(f, None));
        let capped = |t: usize| holds(Limit::SpendCap(f, Some(t)), Limit::SpendCap(f, None));
        ease(fund, &balance, &capped);
    }
    for (b, building) in eased.buildings.iter_mut().enumerate() {
        if !kept.contains(&Limit::Lead(b)) {
            building.consultation_from = 0;
        }
    }
    let places = |n: usize, of: fn(usize) -> Limit| -> Vec<bool> {
        (0..n).map(|k| kept.contains(&of(k))).collect()
    };
    let mut stays = places(problem.together.len(), Limit::Together).into_iter();
    eased.together.retain(|_| stays.next() == Some(true));
    let mut stays = places(problem.redundancy.len(), Limit::Redundancy).into_iter();
    eased.redundancy.retain(|_| stays.next() == Some(true));
    eased
}

/// Each option once a year, so that its hours can count in the years whose limit is kept and not in the others.
fn by_year(unit: &mut Unit, counts: &dyn Fn(usize, usize) -> bool) {
    let building = unit.building;
    let each = unit.options.iter().flat_map(|option| {
        (0..option.pv.len()).filter_map(move |t| {
            let pv = option.pv[t]?;
            let mut alone = vec![None; option.pv.len()];
            alone[t] = Some(pv);
            Some(Choice {
                pv: alone,
                cash: option.cash.clone(),
                hours: if counts(building, t) { option.hours } else { 0 },
            })
        })
    });
    let each: Vec<Choice> = each.collect();
    unit.options = each;
}

/// A fund whose balance binds in the years kept only: in the others it holds plenty.
fn ease(fund: &mut Fund, balance: &dyn Fn(usize) -> bool, capped: &dyn Fn(usize) -> bool) {
    let headroom = fund.headroom();
    let mut before = 0;
    for (t, add) in fund.add.iter_mut().enumerate() {
        let now = if balance(t) { headroom[t] } else { PLENTY };
        *add = now - before;
        before = now;
    }
    (fund.opening, fund.floor) = (0, 0);
    if let Some(caps) = &mut fund.spend_cap {
        for (t, cap) in caps.iter_mut().enumerate() {
            *cap = cap.filter(|_| capped(t));
        }
    }
}
