//! The bag against counting every bag there is, and the bound it states.
use dependability::bag::{Bag, Call, fill};
use proptest::prelude::*;

fn call(needs: &[(usize, f64)]) -> Call {
    Call {
        needs: needs.to_vec(),
    }
}

/// E[min(q, N)] by counting every outcome of the visits.
fn finished(calls: &[Call], copies: &[u32]) -> f64 {
    // Each visit needs one of its parts or none: walk all outcomes.
    fn walk(calls: &[Call], left: &mut Vec<u32>) -> f64 {
        let Some((first, rest)) = calls.split_first() else {
            return 0.0;
        };
        let none = 1.0 - first.needs.iter().map(|n| n.1).sum::<f64>();
        let mut sum = none * (1.0 + walk(rest, left));
        for (part, chance) in &first.needs {
            if left[*part] > 0 {
                left[*part] -= 1;
                sum += chance * (1.0 + walk(rest, left));
                left[*part] += 1;
            } else {
                sum += chance * walk(rest, left);
            }
        }
        sum
    }
    walk(calls, &mut copies.to_vec())
}

fn copies(bag: &Bag, parts: usize) -> Vec<u32> {
    let mut all = vec![0; parts];
    bag.carried.iter().for_each(|c| all[c.part] = c.copies);
    all
}

#[test]
fn two_visits_that_may_need_one_part() {
    // Needed by at least one: 3/4; by both: 1/4. Without it half of each visit is finished.
    let calls = [call(&[(0, 0.5)]), call(&[(0, 0.5)])];
    let one = fill(&calls, &[2_000], 2_000).unwrap();
    assert!((one.without - 1.0).abs() < 1e-12 && (one.with - 1.75).abs() < 1e-12 && one.best);
    let two = fill(&calls, &[2_000], 4_000).unwrap();
    assert!((two.with - 2.0).abs() < 1e-12);
    assert_eq!((two.carried[0].copies, two.price), (2, 4_000));
    assert!(fill(&calls, &[2_000], 1_999).unwrap().carried.is_empty());
}

#[test]
fn the_dearest_part_alone_can_be_the_best_bag() {
    // Gain a penny says the cheap one first, and then the dear one does not fit.
    let calls = [call(&[(0, 0.05), (1, 0.9)])];
    let bag = fill(&calls, &[100, 10_000], 10_000).unwrap();
    assert_eq!(copies(&bag, 2), [0, 1]);
    assert!(bag.best && (bag.with - 0.95).abs() < 1e-12);
}

#[test]
fn a_van_of_a_large_firm_is_filled_and_its_bound_said() {
    // 60 visits, 40 parts, unlike prices: whichever way it ends, the bound stands and half of it is reached.
    let calls: Vec<Call> = (0..60_usize)
        .map(|v| Call {
            needs: (0..8_usize)
                .map(|k| ((v * 7 + k * 5) % 40, 0.02 + 0.012 * k as f64))
                .collect(),
        })
        .collect();
    let prices: Vec<i64> = (0..40).map(|k| 1_500 + 977 * k % 23_000).collect();
    let bag = fill(&calls, &prices, 150_000).unwrap();
    println!(
        "with {} of at most {}, without {}, proven {}",
        bag.with, bag.at_most, bag.without, bag.best
    );
    assert!(bag.price <= 150_000);
    assert!(bag.with <= bag.at_most + 1e-9);
    assert!(bag.with - bag.without >= 0.5 * (bag.at_most - bag.without));
}

#[test]
fn nonsense_is_refused() {
    assert!(fill(&[call(&[(0, 0.7), (0, 0.6)])], &[100], 100).is_err());
    assert!(fill(&[call(&[(1, 0.7)])], &[100], 100).is_err());
    assert!(fill(&[call(&[(0, f64::NAN)])], &[100], 100).is_err());
    assert!(fill(&[call(&[(0, 0.5)])], &[0], 100).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]
    #[test]
    fn it_is_the_best_of_all_bags(
        needs in prop::collection::vec(prop::collection::vec(0.0_f64..0.33, 3), 1..5),
        prices in prop::collection::vec(1_i64..9, 3),
        purse in 0_i64..25,
    ) {
        let calls: Vec<Call> = needs.iter().map(|n| Call { needs: n.iter().copied().enumerate().collect() }).collect();
        let bag = fill(&calls, &prices, purse).unwrap();
        prop_assert!((finished(&calls, &copies(&bag, 3)) - bag.with).abs() < 1e-9);
        let mut most: f64 = 0.0;
        for a in 0..5_u32 { for b in 0..5_u32 { for c in 0..5_u32 {
            let price: i64 = [a, b, c].iter().zip(&prices).map(|(q, p)| i64::from(*q) * p).sum();
            if price <= purse { most = most.max(finished(&calls, &[a, b, c])); }
        } } }
        prop_assert!(bag.best && (bag.with - most).abs() < 1e-3, "{} where {most} is possible", bag.with);
    }
}
