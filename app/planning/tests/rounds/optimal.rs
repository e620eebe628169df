//! The optimiser behind the rounds' seam: every plan obeys the rules the plain one obeys, its bound lies under
//! it, and a change moves little.
use planning::rounds::optimal::OptimalRounds;
use planning::rounds::{PlainRounds, RoundInput, RoundPlanner, Rule, audit};
use proptest::prelude::*;

use crate::estate::{after, day, input, job, promised};
use crate::properties::any_input;

/// So many looks at the clock and no more: the same on every machine.
pub struct Looks(std::sync::atomic::AtomicI64);

impl planning::Allowance for Looks {
    fn seconds_left(&self) -> f64 {
        self.0.fetch_sub(1, std::sync::atomic::Ordering::Relaxed) as f64
    }
}

pub fn looks(n: i64) -> Looks {
    Looks(std::sync::atomic::AtomicI64::new(n))
}

fn optimal(allowance: &Looks) -> OptimalRounds<'_> {
    OptimalRounds { allowance, seed: 1 }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_optimised_plan_obeys_the_rules_and_its_bound(input in any_input()) {
        let allowance = looks(60);
        let (plan, proof) = optimal(&allowance).prove(&input, &mut |_| ());
        prop_assert_eq!(audit(&input, &plan), vec![]);
        prop_assert_eq!(plan.placed.len() + plan.unplaced.len(), input.jobs.len());
        if let Some(proof) = proof {
            prop_assert!(proof.at_least <= proof.ours.cost, "{proof:?}");
            prop_assert_eq!(proof.ours.unplaced as usize, plan.unplaced.len());
        }
    }

    #[test]
    fn a_mended_plan_obeys_the_rules_and_without_a_change_nothing_moves(input in any_input(), away in 0u64..60) {
        let before = PlainRounds.plan(&input);
        let allowance = looks(60);
        let (same, fewest) = optimal(&allowance).mend(&input, &before);
        // A visit may move only to make room for one that had no day.
        let placed_more = same.plan.unplaced.len() < before.unplaced.len();
        prop_assert!(same.moved.is_empty() || placed_more, "{:?}", same.moved);
        prop_assert!(fewest || !before.unplaced.is_empty());
        let mut changed: RoundInput = input.clone();
        changed.engineers[0].away.push(after(input.from, away));
        let allowance = looks(60);
        let (mended, _) = optimal(&allowance).mend(&changed, &before);
        prop_assert_eq!(audit(&changed, &mended.plan), vec![]);
        let struck = audit(&changed, &before);
        let struck = struck.iter().filter(|b| b.rule == Rule::NotWorking).count();
        let plain = PlainRounds.replan(&changed, &before);
        prop_assert!(mended.moved.len() >= struck);
        prop_assert!(
            mended.plan.unplaced.len() <= plain.plan.unplaced.len().max(before.unplaced.len()) + struck
        );
    }
}

/// Twelve flats of one building and twelve of another, windows half a year wide: a day in one place at a time.
#[test]
fn whole_days_are_spent_in_one_building() {
    let jobs: Vec<_> = (0..24u128)
        .map(|n| job(1_000 + n, n % 2, "2026-12-01", "2027-05-28"))
        .collect();
    let input = input(jobs);
    let allowance = looks(400);
    let (plan, proof) = optimal(&allowance).prove(&input, &mut |_| ());
    assert_eq!(audit(&input, &plan), []);
    let proof = proof.expect("there are jobs");
    // 480 minutes hold six visits of 70: two days a building, each one journey there and back of 30 minutes.
    assert_eq!((proof.ours.days, proof.ours.road), (4, 120), "{proof:?}");
    assert!(proof.date_order.road >= proof.ours.road, "{proof:?}");
}

/// Somebody is off sick for a day: exactly that day's visits move, a promise to another day stays.
#[test]
fn a_day_off_moves_that_days_visits_alone() {
    let mut jobs: Vec<_> = (0..20u128)
        .map(|n| job(1_000 + n, 1, "2026-12-01", "2027-03-26"))
        .collect();
    jobs[3] = promised(jobs[3].clone(), "2026-12-10", 600);
    let input = input(jobs);
    let before = PlainRounds.plan(&input);
    let sick = before
        .placed
        .iter()
        .map(|p| p.day)
        .find(|d| *d != day("2026-12-10"))
        .expect("a day with visits");
    let mut changed = input.clone();
    changed.engineers[0].away.push(sick);
    let allowance = looks(400);
    let (mended, fewest) = optimal(&allowance).mend(&changed, &before);
    assert_eq!(audit(&changed, &mended.plan), []);
    let struck: Vec<_> = before.placed.iter().filter(|p| p.day == sick).collect();
    assert!(fewest);
    assert_eq!(mended.moved.len(), struck.len());
    assert!(
        mended
            .moved
            .iter()
            .all(|m| m.from.day == sick && m.to.is_some())
    );
}
