//! Failures beyond repair, and rate nought.
use costing::{FaultInHand, Yearly};
use proptest::prelude::*;
use terms::Pence;

use crate::cases::{advice_of, case, sample};

/// One year at rate 0 with one option: x = 0, so W[1] = quote + R_1 − A* + p e, and only p e = (1 − e^(−φ m)) e is new.
#[test]
fn one_year_by_hand() {
    let mut plain = sample();
    plain.rate = 0.0;
    plain.horizon = 1;
    plain.old.faults = Yearly::Same(1.0);
    plain.fault_in_hand = Some(FaultInHand::new(Pence(10_000), 0.0, 0.0));
    let mut risky = plain.clone();
    risky.old.write_off_share = 0.1;
    risky.old.write_off_premium = 500.0;
    let (plain, risky) = (advice_of(&plain), advice_of(&risky));
    let more = risky.keep[1].unwrap() - plain.keep[1].unwrap();
    // 500 (1 − e^−0.1) = 47.5813 (arithmetic).
    assert!((more - 47.5813).abs() < 1e-3, "{more}");
    assert!((risky.lost_while_kept - 0.0951626).abs() < 1e-6);
    assert_eq!(plain.lost_while_kept, 0.0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// At any share a dearer emergency never makes keeping cheaper.
    #[test]
    fn a_dearer_emergency_never_raises_the_limit(case in case(), more in 0.0..2_000.0f64) {
        let mut dearer = case.clone();
        dearer.old.write_off_premium += more;
        let (a, b) = (advice_of(&case).repair_limit.unwrap(), advice_of(&dearer).repair_limit.unwrap());
        prop_assert!(b <= a + 1e-6, "{a} then {b}");
    }

    /// Rate 0 is the limit of small rates, not a case apart: one option, as two differ for ever at no rate.
    #[test]
    fn rate_nought_is_where_small_rates_lead(case in case()) {
        let mut at_nought = case;
        at_nought.options.truncate(1);
        at_nought.rate = 0.0;
        at_nought.later.clear();
        let mut small = at_nought.clone();
        small.rate = 1e-7;
        let (a, b) = (advice_of(&at_nought), advice_of(&small));
        let (limit, near) = (a.repair_limit.unwrap(), b.repair_limit.unwrap());
        prop_assert!((limit - near).abs() < 0.05 + 1e-5 * limit.abs(), "{limit} and {near}");
    }

    /// To the penny, for any case with a fault in hand: at the limit repair, a penny over replace.
    #[test]
    fn a_penny_decides(case in case()) {
        let Some(hand) = case.fault_in_hand else { return Ok(()) };
        let Some(limit) = costing::shown(Pence(0), &advice_of(&case)).map(|s| s.limit) else { return Ok(()) };
        if limit.0 < 1 {
            return Ok(());
        }
        for (pence, decision) in [
            (limit.0 - 1, costing::Decision::Repair),
            (limit.0, costing::Decision::Repair),
            (limit.0 + 1, costing::Decision::Replace),
        ] {
            let mut asked = case.clone();
            asked.fault_in_hand = Some(FaultInHand::new(Pence(pence), hand.wait_cost_repair, hand.wait_cost_replace));
            let shown = costing::shown(Pence(pence), &advice_of(&asked)).unwrap();
            prop_assert_eq!(shown.decision, decision, "{} pence at limit {}", pence, limit.0);
        }
    }
}
