//! Rounds of up to four jobs for two engineers on two days: every plan there is, judged by the audit.
use planning::Unhurried;
use planning::rounds::optimal::audit::audit;
use planning::rounds::optimal::audit_moves::audit_moves;
use planning::rounds::optimal::least::least;
use planning::rounds::optimal::model::{Disruption, MoveCosts, Problem, Visit};
use planning::rounds::optimal::prices::priced;
use planning::rounds::optimal::replan::replan;
use planning::rounds::optimal::solve::{Settings, Verdict, solve};
use planning::rounds::optimal::tables::Tables;
use proptest::prelude::*;

use crate::rounds_case::{Trying, any_problem};

/// The least value of all plans of a problem; `of` gives `None` where a rule is broken.
fn by_trying(problem: &Problem, before: &[Visit], of: &dyn Fn(&[Visit]) -> Option<i64>) -> i64 {
    let mut least = i64::MAX;
    let mut old = vec![None; problem.jobs.len()];
    for visit in before {
        for job in &visit.jobs {
            old[*job] = Some(visit.start);
        }
    }
    let mut told = |visits: &[Visit]| {
        if let Some(value) = of(visits) {
            least = least.min(value);
        }
    };
    Trying {
        problem,
        old,
        told: &mut told,
    }
    .all();
    least
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rounds_are_the_best_of_all_plans(problem in any_problem()) {
        let answer = solve(&problem, Settings::default(), &Unhurried, &mut |_, _| ());
        let least_of_all = by_trying(&problem, &[], &|visits| {
            let (parts, breaches) = audit(&problem, visits);
            breaches.is_empty().then(|| parts.objective())
        });
        let (parts, breaches) = audit(&problem, &answer.visits);
        prop_assert_eq!(breaches, vec![]);
        prop_assert_eq!(parts.objective(), answer.cost);
        prop_assert_eq!((answer.verdict, answer.cost), (Verdict::Optimal, least_of_all));
        // The bounds of large cases hold on small ones.
        let tables = Tables::of(&problem);
        let plain = least(&tables);
        let priced = priced(&tables, &plain, answer.cost, 300, &Unhurried);
        prop_assert!(plain.value <= least_of_all as f64 + 1e-6);
        prop_assert!(priced.value <= least_of_all as f64 + 1e-6, "{} > {}", priced.value, least_of_all);
    }

    #[test]
    fn a_mended_round_moves_least_of_all(problem in any_problem(), sick in 0usize..2, day in 0i32..2) {
        let before = solve(&problem, Settings::default(), &Unhurried, &mut |_, _| ()).visits;
        let mut instance = problem;
        instance.engineers[sick].off.push(day);
        let case = Disruption {
            now: 0,
            costs: MoveCosts { drop: 1_000, shift: 10, swap: 1 },
            before,
            instance,
        };
        let mended = replan(&case, 1, &Unhurried);
        let (moves, breaches) = audit_moves(&case, &mended.visits);
        prop_assert_eq!(breaches, vec![]);
        prop_assert_eq!(moves.points, mended.points);
        let fewest = by_trying(&case.instance, &case.before, &|visits| {
            let (moves, breaches) = audit_moves(&case, visits);
            breaches.is_empty().then_some(moves.points)
        });
        prop_assert!(mended.at_least <= fewest, "{} > {}", mended.at_least, fewest);
        prop_assert_eq!(mended.points, fewest);
    }
}
