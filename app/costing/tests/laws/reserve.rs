//! Money set aside: the chance of each year, and the law of a year's money.
use costing::reserve::{Stock, a_flat_a_month, replaced_in, reserve};
use proptest::prelude::*;

fn of_age(age: f64) -> Stock {
    Stock {
        age,
        median: 14.0,
        shape: 3.0,
        price: 2_900.0,
        decided: None,
    }
}

/// Renewal of a Weibull life with median 14 and shape 3, aged 12: computed with `weibull_min` of scipy 1.17.1.
#[test]
fn a_unit_is_replaced_again_and_again() {
    let u = replaced_in(&of_age(12.0), 30);
    for (year, expected) in [
        (1, 0.111722944),
        (2, 0.114663497),
        (3, 0.114214097),
        (10, 0.06259032),
        (20, 0.07230327),
        (30, 0.06655182),
    ] {
        assert!(
            (u[year - 1] - expected).abs() < 1e-8,
            "{year}: {}",
            u[year - 1]
        );
    }
}

/// Sixty units aged 0 to 29½: the exact law of their number by convolution with numpy 2.4.6, the chances from scipy
/// 1.17.1; so many units at £2,900 each.
#[test]
fn a_years_money_has_the_law_of_its_units() {
    let units: Vec<Stock> = (0..60).map(|n| of_age(f64::from(n) / 2.0)).collect();
    let years = reserve(&units, 5, 0.0);
    for (year, mean, points) in [
        (1, 11.500103712025624, [8.0, 10.0, 13.0, 15.0]),
        (5, 4.32899050555702, [2.0, 3.0, 6.0, 7.0]),
    ] {
        let told = &years[year - 1];
        assert!((told.mean - mean * 2_900.0).abs() < 1e-6, "{told:?}");
        let found = [told.low_80, told.low_50, told.high_50, told.high_80];
        for (found, units) in found.iter().zip(points) {
            assert!(
                (found - units * 2_900.0).abs() < 1e-6,
                "{year}: {found}, {units} units"
            );
        }
    }
}

#[test]
fn what_is_decided_is_certain_and_then_renewed() {
    let unit = Stock {
        decided: Some(2),
        ..of_age(3.0)
    };
    let u = replaced_in(&unit, 20);
    assert_eq!((u[0], u[1]), (0.0, 1.0));
    for (then, new) in u[2..].iter().zip(replaced_in(&of_age(0.0), 18)) {
        assert!((then - new).abs() < 1e-12, "{then} {new}");
    }
    let year = reserve(&[unit], 2, 0.0)[1];
    assert_eq!((year.low_80, year.high_80), (2_900.0, 2_900.0));
}

#[test]
fn nothing_to_replace_costs_nothing() {
    let years = reserve(&[], 3, 0.0);
    assert!(years.iter().all(|y| y.mean == 0.0 && y.high_80 == 0.0));
    assert_eq!(a_flat_a_month(&years, 0), None);
    assert_eq!(a_flat_a_month(&[], 10), None);
    // Arithmetic: £2,900 in one year over 10 flats and 24 months is £12.0833 a flat a month.
    let sure = Stock {
        decided: Some(1),
        ..of_age(3.0)
    };
    let mut years = reserve(&[sure], 2, 0.0);
    years[1].mean = 0.0;
    years[1].low_80 = years[1].high_80;
    let (mean, covered) = a_flat_a_month(&years, 10).unwrap();
    assert!((mean - 2_900.0 / 240.0).abs() < 1e-9, "{mean}");
    assert_eq!(mean, covered);
}

fn stock() -> impl Strategy<Value = Stock> {
    (
        0.0..40.0,
        5.0..30.0,
        1.5..4.5,
        100.0..9_000.0,
        prop::option::of(1u32..12),
    )
        .prop_map(|(age, median, shape, price, decided)| Stock {
            age,
            median,
            shape,
            price,
            decided,
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_lines_keep_their_order_and_go_with_the_money(
        units in prop::collection::vec(stock(), 0..25), by in 0.2..5.0f64,
    ) {
        let dear: Vec<Stock> = units.iter().map(|u| Stock { price: u.price * by, ..*u }).collect();
        for (year, other) in reserve(&units, 12, 0.0).iter().zip(reserve(&dear, 12, 0.0)) {
            prop_assert!(year.low_80 <= year.low_50 && year.low_50 <= year.high_50 && year.high_50 <= year.high_80);
            prop_assert!((year.mean * by - other.mean).abs() < 1e-6 * (1.0 + other.mean));
            // The two lattices may differ by a step of rounding.
            prop_assert!((year.high_80 * by - other.high_80).abs() < 0.02 * (1.0 + other.high_80 + other.mean));
        }
    }
}
