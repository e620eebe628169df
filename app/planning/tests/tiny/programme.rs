//! Programmes of up to four units in two blocks: every plan there is, judged by the audit.
use planning::Unhurried;
use planning::programme::optimal::Settings;
use planning::programme::optimal::audit::audit;
use planning::programme::optimal::clash::clash;
use planning::programme::optimal::estate::Estate;
use planning::programme::optimal::model::{
    Building, Choice, Fund, Group, Plan, Problem, Redundancy, Unit,
};
use planning::programme::optimal::price_and_branch::price_and_branch;
use planning::programme::optimal::solve::{Verdict, solve};
use proptest::prelude::*;

const YEARS: usize = 3;

fn building(funds: Vec<usize>, n: (i64, i64, i64, usize, i64)) -> Building {
    let (mobilise, rebate, above, from, hours) = n;
    let pv = |money: i64| (0..YEARS as i64).map(|t| money - money * t / 20).collect();
    Building {
        funds,
        mobilise,
        mobilise_pv: pv(mobilise),
        bulk_min: 2,
        bulk_rebate: rebate,
        bulk_rebate_pv: pv(rebate),
        consultation_above: above,
        consultation: 90,
        consultation_pv: pv(90),
        consultation_from: from,
        hours_cap: hours,
    }
}

fn fund(n: (i64, i64, Option<i64>)) -> Fund {
    Fund {
        opening: n.0,
        add: vec![n.1; YEARS],
        floor: 50,
        spend_cap: n.2.map(|cap| vec![None, Some(cap), Some(cap)]),
    }
}

fn any_unit() -> impl Strategy<Value = Unit> {
    let option = (
        prop::collection::vec(prop::option::weighted(0.9, 100i64..2_000), YEARS),
        200i64..900,
        1i64..6,
    );
    let options = prop::collection::vec(option, 1..3);
    let never = prop::option::weighted(0.7, 300i64..2_500);
    let latest = prop::option::weighted(0.3, 0usize..YEARS);
    (0usize..2, 0usize..2, options, never, latest).prop_map(|(b, g, options, never, latest)| Unit {
        building: b,
        group: 2 * b + g,
        age: 20,
        never,
        latest,
        options: options
            .into_iter()
            .map(|(pv, cash, hours)| Choice {
                pv,
                cash: vec![cash; YEARS],
                hours,
            })
            .collect(),
    })
}

fn any_problem() -> impl Strategy<Value = Problem> {
    let card = || {
        (
            0i64..200,
            prop_oneof![Just(0i64), 50i64..150],
            400i64..1_500,
            0usize..2,
            3i64..14,
        )
    };
    let purse = || (200i64..1_500, 0i64..700, prop::option::of(400i64..1_500));
    let units = prop::collection::vec(any_unit(), 1..5);
    (
        units,
        (card(), card()),
        (purse(), purse()),
        any::<[bool; 3]>(),
    )
        .prop_map(|(units, cards, purses, tie)| {
            let same = units.len() > 1 && units[0].building == units[1].building;
            let plant = units.len() > 3 && units[2].building == units[3].building;
            // The second block has a reserve of its own beside the common purse, or none.
            let second = if tie[2] { vec![0, 1] } else { vec![0] };
            Problem {
                years: YEARS,
                funds: vec![fund(purses.0), fund(purses.1)],
                buildings: vec![building(vec![0], cards.0), building(second, cards.1)],
                groups: (0..4)
                    .map(|g| Group {
                        building: g / 2,
                        mobilise: 40,
                        mobilise_pv: vec![40, 38, 36],
                    })
                    .collect(),
                together: (tie[0] && same).then(|| vec![0, 1]).into_iter().collect(),
                redundancy: (tie[1] && plant)
                    .then(|| Redundancy {
                        units: vec![2, 3],
                        at_once: 1,
                    })
                    .into_iter()
                    .collect(),
                units,
            }
        })
}

/// The least cost of all plans the audit lets pass.
fn by_trying(problem: &Problem) -> Option<i64> {
    let ways: Vec<Vec<Option<(usize, usize)>>> = problem
        .units
        .iter()
        .map(|unit| {
            let all = (0..unit.options.len()).flat_map(|o| (0..YEARS).map(move |t| Some((o, t))));
            all.chain([None]).collect()
        })
        .collect();
    let mut at = vec![0usize; ways.len()];
    let mut least: Option<i64> = None;
    loop {
        let plan: Plan = ways.iter().zip(&at).map(|(way, i)| way[*i]).collect();
        let (cost, breaches) = audit(problem, &plan);
        if breaches.is_empty() {
            least = Some(least.map_or(cost, |l| l.min(cost)));
        }
        let next = (0..at.len()).find(|u| at[*u] + 1 < ways[*u].len());
        let Some(next) = next else { return least };
        at[..next].fill(0);
        at[next] += 1;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_programme_is_the_best_of_all_plans(problem in any_problem()) {
        let answer = solve(&problem, Settings::default(), &Unhurried);
        let Some(least) = by_trying(&problem) else {
            prop_assert_eq!(answer.verdict, Verdict::Infeasible);
            let clash = clash(&problem, false, &Unhurried);
            prop_assert!(clash.is_some_and(|c| c.fewest && !c.limits.is_empty()));
            return Ok(());
        };
        prop_assert_eq!(answer.verdict, Verdict::Optimal);
        prop_assert_eq!((answer.cost, answer.bound), (least, least));
        let (cost, breaches) = audit(&problem, &answer.plan.unwrap_or_default());
        prop_assert_eq!((cost, breaches), (least, vec![]));
    }

    /// The way of large estates on small ones: its bound is one, its plan is a plan.
    #[test]
    fn prices_bound_every_plan(problem in any_problem()) {
        let estate = Estate::of(&problem);
        let shared = price_and_branch(&estate, estate.blocks(), Settings::default(), &Unhurried);
        let Some(least) = by_trying(&problem) else {
            prop_assert!(shared.plan.is_none());
            return Ok(());
        };
        prop_assert!(!shared.infeasible);
        prop_assert!(shared.bound * 100.0 <= least as f64 + 1e-3, "{} > {}", shared.bound, least);
        if let Some(plan) = shared.plan {
            let (cost, breaches) = audit(&problem, &plan);
            prop_assert_eq!(breaches, vec![]);
            prop_assert!(cost >= least);
        }
    }
}
