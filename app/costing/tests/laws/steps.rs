//! Rates of later years, by hand; and the doubt of the share beyond repair.
use costing::{DecisionCase, Failures, Param, RateSchedule, Yearly, annuity};
use proptest::prelude::*;
use terms::trade::LaterRate;

use crate::cases::{advice_of, case, sample};

/// The sample with the published schedule, failing never and costing nothing to run: a unit's yearly cost is its price over
/// the annuity of its life.
fn bare(life: u32) -> DecisionCase {
    let (rate, later) = RateSchedule::default().first_and_later().unwrap();
    let mut case = sample();
    (case.rate, case.later) = (rate, later);
    case.horizon = 1;
    case.fault_in_hand = None;
    case.old.faults = Yearly::Same(0.0);
    case.old.service = Yearly::Same(0.0);
    for option in &mut case.options {
        option.capex = 1_000.0;
        option.install_disruption = 0.0;
        option.service = Yearly::Same(0.0);
        option.life_max = life;
        option.failures = Failures::Each {
            faults: vec![0.0; life as usize],
        };
    }
    case
}

/// Over 40 years the steps bear: annuity 18.39205 + 0.35628 × 8.53020 = 21.43118, so £1,000 are £46.661 a year; at 3.5 %
/// throughout 21.35507 and £46.827 (arithmetic from the formula of an annuity). Over 30 years both say £54.371.
#[test]
fn a_life_beyond_the_first_step_is_levelled_by_the_steps() {
    let annual = |case: &DecisionCase| advice_of(case).options[0].annual_cost;
    assert!((annual(&bare(40)) - 46.661).abs() < 1e-3);
    assert!((annual(&bare(30)) - 54.371).abs() < 1e-3);
    let mut flat = bare(40);
    flat.later.clear();
    assert!((annual(&flat) - 46.827).abs() < 1e-3);
    assert!((annual(&flat) - 1_000.0 / annuity(0.035, 40)).abs() < 1e-9);
}

/// Now only a unit can be had that costs £25 a year more than the one open in a year, £1,500 for £1,000 over 30 years:
/// £27.186 a year, for ever worth 27.1857 × 31.32033 = £851.46 by the steps and 27.1857/0.035 = £776.73 at one rate
/// (arithmetic).
#[test]
fn what_a_dearer_unit_costs_for_ever_counts_by_the_steps() {
    let mut case = bare(30);
    let mut dearer = case.options[0].clone();
    dearer.code = "dearer".to_owned();
    dearer.capex = 1_500.0;
    case.options[0].from = 1;
    case.options.push(dearer);
    let now = |case: &DecisionCase| advice_of(case).keep[0].unwrap();
    assert!((now(&case) - 851.46).abs() < 0.02, "{}", now(&case));
    case.later.clear();
    assert!((now(&case) - 776.73).abs() < 0.02, "{}", now(&case));
}

#[test]
fn later_rates_out_of_order_are_refused() {
    let step = |after, rate| LaterRate { after, rate };
    for later in [
        vec![step(0, 0.03)],
        vec![step(30, 0.03), step(30, 0.02)],
        vec![step(30, f64::NAN)],
        vec![step(30, -0.01)],
    ] {
        let mut case = sample();
        case.later = later;
        let error = case.checked().unwrap_err().to_string();
        assert!(error.starts_with("later["), "{error}");
    }
}

#[test]
fn the_share_beyond_repair_is_varied_over_its_own_doubt() {
    let mut case = sample();
    case.old.write_off_share = 0.1;
    case.old.write_off_premium = 500.0;
    let bar = |case: &DecisionCase| {
        let rows = advice_of(case).tornado;
        rows.into_iter().find(|row| row.param == Param::WriteOff)
    };
    assert!(bar(&case).is_none(), "no doubt is stated");
    case.old.write_off_range = Some((0.02, 0.25));
    let told = bar(&case).unwrap();
    for (share, said) in [(0.02, told.adv_low), (0.25, told.adv_high)] {
        let mut other = case.clone();
        (other.old.write_off_share, other.old.write_off_range) = (share, None);
        let alone = advice_of(&other).advantage_replace_now.unwrap();
        assert!((alone - said.unwrap()).abs() < 1e-9, "{share}");
    }
    case.old.write_off_range = Some((0.2, 0.25));
    assert!(case.checked().is_err(), "a range beside its middle");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Steps at the rate of the first years say what that rate alone says.
    #[test]
    fn steps_of_one_rate_change_nothing(case in case(), after in 1u32..30) {
        let mut flat = case;
        flat.later.clear();
        let mut steps = flat.clone();
        steps.later = vec![LaterRate { after, rate: flat.rate }];
        let (a, b) = (advice_of(&flat), advice_of(&steps));
        let (limit, same) = (a.repair_limit.unwrap(), b.repair_limit.unwrap());
        prop_assert!((limit - same).abs() < 1e-6 * (1.0 + limit.abs()), "{limit} and {same}");
    }
}
