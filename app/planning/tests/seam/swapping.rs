//! Two units in each other's year: the figures of the audit's arithmetic against those of whoever tries every plan.
use planning::programme::optimal::Verdict;
use planning::programme::{
    Programme, ProgrammeBreach, ProgrammeInput, ProgrammeLimits, YearMoney, swapped,
};
use proptest::prelude::*;
use terms::Pence;

use crate::asked::{asked, id, unit};
use crate::prove;
use crate::trying::plan_of;

/// Place of each unit's year; the number of years = kept beyond.
fn places(input: &ProgrammeInput, programme: &Programme) -> Vec<usize> {
    let of = |unit| {
        let mut lines = programme.years.iter();
        lines.position(|line| line.replacements.iter().any(|r| r.unit == unit))
    };
    let units = input.units.iter();
    units
        .map(|u| of(u.unit).unwrap_or(input.years.len()))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn of_the_best_plan_no_swap_is_cheaper_and_each_costs_what_it_is_said_to((input, limits) in asked()) {
        let proven = prove(&input, &limits);
        prop_assume!(proven.stands());
        let at = places(&input, &proven.programme);
        let stands = plan_of(&input, &limits, &at).expect("it keeps what is asked").0;
        for a in 0..at.len() {
            for b in 0..at.len() {
                let (one, other) = (input.units[a].unit, input.units[b].unit);
                let swap = swapped(&input, &limits, &proven.programme, (one, other));
                let beyond = at[a].max(at[b]) == input.years.len();
                if beyond || at[a] == at[b] {
                    prop_assert_eq!(swap, None);
                    continue;
                }
                let swap = swap.expect("every year is on offer");
                let mut then = at.clone();
                then.swap(a, b);
                let tried = plan_of(&input, &limits, &then).map(|(cost, _)| cost - stands);
                prop_assert_eq!(swap.breaches.is_empty(), tried.is_some(), "{:?}", &swap);
                if let Some(tried) = tried {
                    prop_assert_eq!(swap.costs, Pence(tried));
                    prop_assert_eq!(proven.verdict, Verdict::Optimal);
                    prop_assert!(swap.costs >= Pence(0), "the best plan is bettered: {:?}", &swap);
                }
                let sum = swap.first_waits.0 - swap.second_waits.0 + swap.beside.0;
                prop_assert_eq!(swap.costs.0, sum, "the parts make the whole");
                prop_assert_eq!(swap.years as usize, at[a].abs_diff(at[b]));
            }
        }
    }
}

/// By hand: money for one a year at £500. The first costs £200 for a year's wait, the second £90, so the first goes first and
/// the swap costs £110. Where the second costs £600 and the first year has £500, it cannot stand there: £100 under the floor.
#[test]
fn what_a_swap_costs_and_what_it_breaks_is_told_apart() {
    let asked = |second: i64| ProgrammeInput {
        first_year: 2027,
        opening: Pence(0),
        floor: Pence(0),
        years: [50_000, second * 100, 0]
            .map(|pence| YearMoney {
                comes_in: Pence(pence),
                ..YearMoney::default()
            })
            .to_vec(),
        units: vec![
            unit(0, &[10, 210, 900, 900], 500, 0),
            unit(1, &[10, 100, 900, 900], second, 0),
        ],
    };
    let limits = ProgrammeLimits::default();
    let pair = (id(0), id(1));
    let input = asked(500);
    let programme = prove(&input, &limits).programme;
    assert_eq!(places(&input, &programme), [0, 1]);
    let swap = swapped(&input, &limits, &programme, pair).unwrap();
    assert_eq!(
        (swap.first_waits, swap.second_waits, swap.beside, swap.costs),
        (Pence(20_000), Pence(9_000), Pence(0), Pence(11_000))
    );
    assert_eq!((swap.years, swap.breaches), (1, Vec::new()));
    let input = asked(600);
    let programme = prove(&input, &limits).programme;
    assert_eq!(places(&input, &programme), [0, 1]);
    let swap = swapped(&input, &limits, &programme, pair).unwrap();
    let under = ProgrammeBreach::UnderFloor {
        year: 0,
        by: Pence(10_000),
    };
    assert!(swap.breaches.contains(&under), "{:?}", swap.breaches);
}
