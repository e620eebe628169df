//! The old unit's own warranty.
use costing::{FaultInHand, Yearly};
use proptest::prelude::*;
use terms::Pence;

use crate::cases::{advice_of, case, sample};

/// Three years at rate 0 with one option, a failure a year: each failure inside a warranty of a year and a half costs the
/// excess of 30 and the disruption of 20, not the 257 of sample() (225 + 0.15 × 80 + 20); so W falls by 207 in the first
/// year and by half of that in the second (arithmetic).
#[test]
fn a_year_and_a_half_by_hand() {
    let mut bare = sample();
    bare.rate = 0.0;
    bare.horizon = 3;
    bare.old.faults = Yearly::Same(1.0);
    bare.fault_in_hand = Some(FaultInHand::new(Pence(10_000), 0.0, 0.0));
    let mut covered = bare.clone();
    covered.old.warranty_years = 1.5;
    covered.old.warranty_excess = 30.0;
    let (bare, covered) = (advice_of(&bare), advice_of(&covered));
    for (k, less) in [(0, 0.0), (1, 207.0), (2, 310.5), (3, 310.5)] {
        let fell = bare.keep[k].unwrap() - covered.keep[k].unwrap();
        assert!((fell - less).abs() < 1e-6, "{k}: {fell} for {less}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// What the maker pays never speaks against repairing.
    #[test]
    fn a_longer_warranty_never_lowers_the_limit(case in case(), more in 0.0..6.0f64) {
        let mut longer = case.clone();
        longer.old.warranty_years += more;
        let (a, b) = (advice_of(&case).repair_limit.unwrap(), advice_of(&longer).repair_limit.unwrap());
        prop_assert!(b >= a - 1e-6, "{a} then {b}");
    }

    /// Without a warranty its excess is nothing, to the last bit.
    #[test]
    fn out_of_warranty_is_as_before(case in case(), excess in 0.0..900.0f64) {
        let mut bare = case;
        bare.old.warranty_years = 0.0;
        let mut told = bare.clone();
        told.old.warranty_excess = excess;
        prop_assert_eq!(advice_of(&bare), advice_of(&told));
    }

    /// A warranty beyond the horizon with nothing to pay leaves of a failure its disruption: the same as repairs that cost
    /// nothing.
    #[test]
    fn a_whole_warranty_is_a_free_repair(case in case()) {
        let mut covered = case.clone();
        covered.old.warranty_years = 100.0;
        covered.old.warranty_excess = 0.0;
        let mut free = case;
        free.old.warranty_years = 0.0;
        free.old.fault_cost.repair_mean = 0.0;
        free.old.fault_cost.emergency_premium = 0.0;
        let (a, b) = (advice_of(&covered), advice_of(&free));
        for (x, y) in a.keep.iter().zip(&b.keep) {
            prop_assert!((x.unwrap() - y.unwrap()).abs() < 1e-6, "{x:?} {y:?}");
        }
        prop_assert!((a.sd_x.unwrap() - b.sd_x.unwrap()).abs() < 1e-6 * (1.0 + b.sd_x.unwrap()));
    }
}
