//! The optimiser behind the programme's seam, judged by the audits that share nothing with it and, on tiny
//! cases, by trying every plan. Invented data.
mod asked;
mod trying;

use planning::Unhurried;
use planning::programme::optimal::{
    Clashing, OptimalProgramme, PlainWay, Proven, Settings, Verdict,
};
use planning::programme::{ProgrammeInput, ProgrammeLimits, YearMoney, audit, audit_limits};
use proptest::prelude::*;
use terms::Pence;

use crate::asked::{asked, id, unit};
use crate::trying::by_trying;

fn prove(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Proven {
    OptimalProgramme {
        limits,
        settings: Settings::default(),
        allowance: &Unhurried,
    }
    .prove(input)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_is_the_best_of_all_and_breaks_nothing((input, limits) in asked()) {
        let proven = prove(&input, &limits);
        let Some(least) = by_trying(&input, &limits) else {
            prop_assert_eq!(proven.verdict, Verdict::Infeasible);
            prop_assert!(!proven.clash.is_empty());
            return Ok(());
        };
        prop_assert_eq!(proven.verdict, Verdict::Optimal);
        prop_assert_eq!((proven.cost, proven.bound), (Pence(least), Pence(least)));
        prop_assert_eq!(audit(&input, &proven.programme), vec![]);
        prop_assert_eq!(audit_limits(&input, &limits, &proven.programme), vec![]);
        let plain = OptimalProgramme {
            limits: &limits,
            settings: Settings::default(),
            allowance: &Unhurried,
        };
        for way in [PlainWay::OldestFirst, PlainWay::OnFailure] {
            let way = plain.plain_way(&input, way);
            prop_assert_eq!(audit(&input, &way.programme), vec![]);
            prop_assert!(!way.undone.is_empty() || way.cost >= proven.cost);
        }
    }
}

/// Two pins in one year that the purse cannot pay: those three limits, and without any of them there is a plan.
#[test]
fn what_clashes_is_named_and_nothing_else() {
    let units = vec![
        unit(0, &[10, 20, 30, 40], 600, 0),
        unit(1, &[10, 20, 30, 40], 600, 0),
        unit(2, &[10, 20, 30, 40], 100, 0),
    ];
    let input = ProgrammeInput {
        first_year: 2027,
        opening: Pence(100_000),
        floor: Pence(0),
        years: vec![YearMoney::default(); 3],
        units,
    };
    let limits = ProgrammeLimits {
        pinned: vec![(id(0), 1), (id(1), 1), (id(2), 2)],
        ..ProgrammeLimits::default()
    };
    let proven = prove(&input, &limits);
    assert_eq!(proven.verdict, Verdict::Infeasible);
    let pin = |n: usize| Clashing::MustBy {
        unit: id(n),
        year: Some(1),
        pinned: true,
    };
    let reserve = Clashing::Reserve { dry: Vec::new() };
    assert_eq!(proven.clash.len(), 3, "{:?}", proven.clash);
    for limit in [pin(0), pin(1), reserve] {
        assert!(proven.clash.contains(&limit), "{:?}", proven.clash);
    }
    for one in 0..3 {
        let mut freed = limits.clone();
        let mut money = input.clone();
        if one < 2 {
            freed.pinned.remove(one);
        } else {
            money.opening = Pence(130_000);
        }
        assert!(
            prove(&money, &freed).stands(),
            "without limit {one} a plan exists"
        );
    }
}

/// What is set aside alone empties the purse: the years are named.
#[test]
fn a_purse_that_runs_dry_without_any_replacement_is_said() {
    let mut input = ProgrammeInput {
        first_year: 2027,
        opening: Pence(1_000),
        floor: Pence(0),
        years: vec![YearMoney::default(); 3],
        units: vec![unit(0, &[10, 20, 30, 40], 600, 0)],
    };
    input.years[1].set_aside = Pence(1_500);
    input.years[2].comes_in = Pence(9_000);
    let proven = prove(&input, &ProgrammeLimits::default());
    assert_eq!(proven.clash, [Clashing::Reserve { dry: vec![1] }]);
    assert!(!proven.stands());
}
