//! A winter replayed.
use costing::winter::{LEAST_FAILURES, WinterFailure, WouldBeNew, replay};

fn failures(count: usize, spared: usize) -> Vec<WinterFailure> {
    (0..count)
        .map(|n| WinterFailure {
            cold_days: 2.0,
            paid: 300.0,
            spared: n < spared,
        })
        .collect()
}

const NEW: WouldBeNew = WouldBeNew {
    expected: 0.1,
    price_a_year: 200.0,
    price: 2_900.0,
};

/// Arithmetic: ten of forty failures of two days and £300 spared, five new units expected to fail 0.1 times each: 20 − 1
/// days and £3,000 − £150; variance (10 + 0.5) × 4, so 1.2816 √42 = 8.306 days either way.
#[test]
fn the_spared_less_what_new_ones_would_cost() {
    let told = replay(&failures(40, 10), &[NEW; 5]).unwrap();
    assert_eq!((told.failures, told.spared, told.replaced), (40, 10, 5));
    assert!((told.cold_fewer.mid - 19.0).abs() < 1e-9);
    assert!(
        (told.cold_fewer.high - 19.0 - 8.3056).abs() < 1e-3,
        "{told:?}"
    );
    assert!((told.paid_fewer.mid - 2_850.0).abs() < 1e-9);
    assert!((told.fitting - 14_500.0).abs() < 1e-9);
    assert!((told.fitting_a_year - 1_000.0).abs() < 1e-9);
}

#[test]
fn below_thirty_failures_nothing_is_said() {
    assert_eq!(replay(&failures(LEAST_FAILURES - 1, 10), &[NEW]), None);
    assert!(replay(&failures(LEAST_FAILURES, 0), &[]).is_some());
}
