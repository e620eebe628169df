//! Properties that hold for every case, edges, and the sample of the design pages.
use costing::chance::{CostLaw, FailureCosts, YearOfFailures, chance_above_nought};
use costing::lattice::Tables;
use costing::{Advice, DecisionCase};
use costing::{
    CaseError, Decision, Failures, FaultCost, FaultInHand, Param, Standing, Yearly, shown,
};
use proptest::prelude::*;
use terms::Pence;

use crate::cases::{advice_of, case, cost, quoted, sample, scaled};

/// The design pages print these beside the inputs (computed there by other code, in 2026-11). The
/// new boiler's failures are printed as a rounded rate and the ranges were drawn there, hence a pound
/// on the figures and a few on the ranges.
#[test]
fn the_sample_of_the_design_pages() {
    let advice = advice_of(&sample());
    assert_eq!(advice.best_keep, Some(3));
    assert_eq!(advice.break_even_year, Some(4));
    assert_eq!(advice.decision, Decision::Replace);
    assert_eq!(advice.standing, Standing::Close);
    assert_eq!(advice.options[0].n, 18);
    let near = |got: Option<f64>, printed: f64, within: f64| {
        assert!(
            got.is_some_and(|got| (got - printed).abs() < within),
            "{got:?} for {printed}"
        );
    };
    near(Some(advice.options[0].annual_cost), 334.26, 0.1);
    near(advice.advantage_replace_now, 314.14, 0.5);
    near(advice.repair_limit, 97.86, 0.5);
    near(advice.dearer_if_kept(10).map(|p| p.0), 728.09, 1.0);
    near(advice.probability_replace_cheaper, 0.70, 0.005);
    let (keep, new) = (
        &advice.fork.keep.years[10],
        &advice.fork.replace[0].years[10],
    );
    near(Some(keep.expected), 3548.0, 1.0);
    near(Some(keep.low), 2115.0, 10.0);
    near(Some(keep.high), 5206.0, 10.0);
    near(Some(new.expected), 3728.0, 1.0);
    near(Some(new.low), 3618.0, 5.0);
    near(Some(new.high), 3936.0, 5.0);
    near(new.still_in, 908.0, 1.0);
    let turning: Vec<Param> = advice.turns.iter().map(|turn| turn.param).collect();
    assert_eq!(turning, [Param::FaultsOld]);
    near(advice.turns[0].value, 0.54, 0.005);
}

#[test]
fn an_advice_survives_being_frozen() {
    let (case, advice) = (sample(), advice_of(&sample()));
    let frozen = serde_json::to_string(&(&case, &advice)).unwrap();
    let thawed: (DecisionCase, Advice) = serde_json::from_str(&frozen).unwrap();
    assert_eq!(thawed, (case, advice));
}

#[test]
fn a_penny_under_the_limit_repairs_and_a_penny_over_replaces() {
    let limit = shown(Pence(41_200), &advice_of(&sample())).unwrap().limit;
    for (pence, decision) in [
        (limit.0 - 1, Decision::Repair),
        (limit.0, Decision::Repair),
        (limit.0 + 1, Decision::Replace),
    ] {
        let mut case = sample();
        case.fault_in_hand = Some(FaultInHand::new(Pence(pence), 15.0, 40.0));
        let advice = advice_of(&case);
        assert_eq!(advice.decision, decision, "{pence}");
        assert_eq!(shown(Pence(pence), &advice).unwrap().decision, decision);
    }
}

#[test]
fn nothing_to_compare_is_said() {
    let mut case = sample();
    case.options.clear();
    let advice = advice_of(&case);
    assert_eq!(advice.standing, Standing::NothingToCompare);
    assert_eq!(advice.decision, Decision::Repair);
    assert_eq!(shown(Pence(41_200), &advice), None);
    let mut later = sample();
    later.options[0].from = 3;
    let advice = advice_of(&later);
    assert_eq!(advice.keep[..3], [None, None, None]);
    assert_eq!(advice.repair_limit, None);
    assert!(advice.best_keep.is_some_and(|k| k >= 3));
}

#[test]
fn bad_numbers_are_refused_with_their_place() {
    let refused = |change: fn(&mut DecisionCase)| {
        let mut case = sample();
        change(&mut case);
        case.checked().unwrap_err().to_string()
    };
    assert!(refused(|c| c.rate = f64::NAN).starts_with("rate"));
    assert!(refused(|c| c.horizon = 0).starts_with("horizon"));
    assert!(refused(|c| c.horizon = 9).starts_with("old.faults: 10 entries, 9 years"));
    assert!(refused(|c| c.options[0].capex = -1.0).starts_with("options[0].capex"));
    let tiny = refused(|c| {
        c.options[0].failures = Failures::PowerLaw {
            theta: 1e-300,
            beta: 3.0,
        };
    });
    assert!(tiny.starts_with("options[0], failures"), "{tiny}");
    let mut twice = sample();
    twice.options.push(twice.options[0].clone());
    let error = twice.checked().unwrap_err();
    assert_eq!(error, CaseError::Twice("like-for-like".to_owned()));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn everything_is_finite_and_advantage_is_quote_less_limit(case in case()) {
        let advice = advice_of(&case);
        prop_assert!(advice.keep.iter().flatten().all(|w| w.is_finite()));
        let chance = advice.probability_replace_cheaper.unwrap();
        prop_assert!((0.0..=1.0).contains(&chance));
        let quote = quoted(&case);
        let shown = shown(quote, &advice).unwrap();
        prop_assert_eq!(shown.advantage.0, quote.0 - shown.limit.0);
        prop_assert_eq!(shown.decision, advice.decision);
        let exact = advice.advantage_replace_now.unwrap();
        prop_assert!((shown.advantage.to_pounds() - exact).abs() < 0.011);
        for path in advice.fork.replace.iter().chain([&advice.fork.keep]) {
            for year in &path.years {
                prop_assert!(year.low <= year.high + 1e-9, "{year:?}");
                prop_assert!(year.low <= year.expected + 1e-6, "{year:?}");
            }
        }
    }

    #[test]
    fn scaling_all_money_leaves_the_advice_as_it_was(case in case(), by in 0.2..5.0f64) {
        let (plain, other) = (advice_of(&case), advice_of(&scaled(&case, by)));
        prop_assert_eq!(plain.best_keep, other.best_keep);
        prop_assert_eq!(&plain.replace_with, &other.replace_with);
        let close = |a: f64, b: f64| (a * by - b).abs() < 1e-6 * (1.0 + b.abs());
        let (a, b) = (plain.repair_limit.unwrap(), other.repair_limit.unwrap());
        prop_assert!(close(a, b));
        let chances = (plain.probability_replace_cheaper, other.probability_replace_cheaper);
        prop_assert!((chances.0.unwrap() - chances.1.unwrap()).abs() < 1e-3, "{chances:?}");
    }

    /// By a power of two nothing is rounded, so every word of the advice must be the same, its chance to the last bit.
    #[test]
    fn scaling_by_a_power_of_two_changes_no_word(case in case(), power in -3i32..=3) {
        let by = 2.0_f64.powi(power);
        let (plain, other) = (advice_of(&case), advice_of(&scaled(&case, by)));
        prop_assert_eq!(plain.decision, other.decision);
        prop_assert_eq!(plain.standing, other.standing);
        prop_assert_eq!(plain.best_keep, other.best_keep);
        prop_assert_eq!(&plain.replace_with, &other.replace_with);
        prop_assert_eq!(plain.break_even_year, other.break_even_year);
        prop_assert_eq!(plain.probability_replace_cheaper, other.probability_replace_cheaper);
        prop_assert_eq!(plain.further.map(|f| f.count), other.further.map(|f| f.count));
        prop_assert_eq!(plain.fewer.map(|f| f.count), other.fewer.map(|f| f.count));
        prop_assert_eq!(plain.advantage_replace_now.map(|a| a * by), other.advantage_replace_now);
    }

    /// The drawing and the answers are one reckoning: the two paths, each less what is still in it, stand apart by what
    /// the answers say keeping so long costs beyond replacing now; failures beyond repair and grants included.
    #[test]
    fn the_fork_ends_where_the_answers_do(case in case()) {
        let advice = advice_of(&case);
        let code = advice.replace_with.clone();
        let new = advice.fork.replace.iter().find(|p| p.code == code).unwrap();
        let mut met = 0;
        for (keep, new) in advice.fork.keep.years.iter().zip(&new.years).skip(1) {
            let (Some(said), Some(still)) = (advice.dearer_if_kept(keep.year), keep.still_in) else { continue };
            let drawn = (keep.expected - still) - (new.expected - new.still_in.unwrap());
            prop_assert!((drawn - said.0).abs() < 1e-6 * (1.0 + keep.expected.abs()), "{} for {}", drawn, said.0);
            met += 1;
        }
        prop_assert!(met > 0);
    }

    /// With so many failures less it turns, with one less than that it does not.
    #[test]
    fn fewer_failures_turn_it_to_keeping(case in case()) {
        let advice = advice_of(&case);
        let Some(fewer) = advice.fewer else { return Ok(()) };
        prop_assert_eq!(advice.decision, Decision::Replace);
        let at = |n: u32| {
            let mut less = case.clone();
            let times = 1.0 - less.old.frailty_var * f64::from(n);
            if let Yearly::Each(list) = &mut less.old.faults {
                for m in list.iter_mut() {
                    *m *= times;
                }
            }
            advice_of(&less).decision
        };
        prop_assert!(at(fewer.count) != Decision::Replace);
        prop_assert_eq!(at(fewer.count - 1), Decision::Replace);
    }

    #[test]
    fn the_limit_falls_as_the_forecast_failures_rise(case in case(), by in 1.0..3.0f64) {
        let mut worse = case.clone();
        if let Yearly::Each(list) = &mut worse.old.faults {
            for m in list.iter_mut() {
                *m *= by;
            }
        }
        let (a, b) = (advice_of(&case).repair_limit.unwrap(), advice_of(&worse).repair_limit.unwrap());
        prop_assert!(b <= a + 1e-6, "{a} then {b}");
    }

    #[test]
    fn more_options_never_cost_more(case in case()) {
        // Both counted against the same chain, so that the figures may be compared.
        let whole = advice_of(&case);
        let mut fewer = case.clone();
        fewer.options.pop();
        let part = advice_of(&fewer);
        prop_assert!(whole.least_annual.unwrap() <= part.least_annual.unwrap() + 1e-9);
        if let Some(for_ever) = costing::worth_for_ever(case.rate, &case.later) {
            let dearer = (part.least_annual.unwrap() - whole.least_annual.unwrap()) * for_ever;
            for (w, p) in whole.keep.iter().zip(&part.keep) {
                prop_assert!(w.unwrap() <= p.unwrap() + dearer + 1e-6 * (1.0 + dearer.abs()));
            }
        }
    }

    #[test]
    fn a_dearer_quote_moves_the_advantage_pound_for_pound(case in case(), more in 1i64..100_000) {
        let mut dearer = case.clone();
        let Some(hand) = &mut dearer.fault_in_hand else { return Ok(()) };
        let more = Pence(more).to_pounds();
        hand.quote += more;
        let (a, b) = (advice_of(&case), advice_of(&dearer));
        prop_assert!((a.repair_limit.unwrap() - b.repair_limit.unwrap()).abs() < 1e-6);
        let moved = b.advantage_replace_now.unwrap() - a.advantage_replace_now.unwrap();
        prop_assert!((moved - more).abs() < 1e-6);
    }

    /// Inversion of the transform and Panjer's recursion share no code but the moments.
    #[test]
    fn two_ways_to_the_same_chance(cost in cost(), years in prop::collection::vec(0.05..1.5f64, 1..12), s in 0.0..1.0f64) {
        let cost = FaultCost { repair_cv: cost.repair_cv.max(0.3), ..cost };
        let costs = FailureCosts {
            years: (0u32..).zip(&years).map(|(i, m)| YearOfFailures {
                expected: *m,
                discount: 0.96_f64.powf(f64::from(i) + 0.5),
                law: CostLaw::Drawn(cost),
            }).collect(),
            frailty_var: s,
        };
        let (_, high) = Tables::of(std::iter::once(&cost)).range(&costs);
        let above = chance_above_nought(costs.mean() - high, &costs, &FailureCosts::default());
        if high > 0.0 {
            prop_assert!((above - 0.1).abs() < 0.01, "{above}");
        }
    }
}

#[test]
fn failures_that_all_cost_the_same_are_counted_exactly() {
    // Poisson(2) failures of 100 each, nothing discounted: P(D > 250) = 1 − e^−2 (1 + 2 + 2) = 0.323324
    // (arithmetic); replacing is cheaper where D exceeds what it saves.
    let costs = FailureCosts {
        years: vec![YearOfFailures {
            expected: 2.0,
            discount: 1.0,
            law: CostLaw::Fixed(100.0),
        }],
        frailty_var: 0.0,
    };
    let none = FailureCosts::default();
    let above = |bar: f64| chance_above_nought(200.0 - bar, &costs, &none);
    assert!((above(250.0) - 0.323324).abs() < 2e-4, "{}", above(250.0));
    // A cost equal to the bar is not above it.
    assert!((above(200.0) - 0.323324).abs() < 2e-3, "{}", above(200.0));
    assert!((above(199.0) - 0.593994).abs() < 2e-3, "{}", above(199.0));
    assert_eq!(chance_above_nought(1.0, &none, &none), 1.0);
    assert_eq!(chance_above_nought(0.0, &none, &none), 0.0);
}
