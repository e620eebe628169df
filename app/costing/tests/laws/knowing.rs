//! What is worth finding out, and how many failures more would turn the advice.
use costing::fewer_tried;
use costing::weigh::{Levers, weigh};
use costing::{CheckedCase, Course, DecisionCase, Failures, Way, Yearly, advise, worth_knowing};
use proptest::prelude::*;

use crate::cases::{case, sample};

fn checked(case: DecisionCase) -> CheckedCase {
    case.checked().unwrap()
}

/// A case whose costs can be added up by hand: nothing fails, nothing is served, rate 0.
fn by_hand(capex: f64, kept_a_year: f64) -> CheckedCase {
    let mut case = sample();
    case.rate = 0.0;
    case.horizon = 1;
    case.fault_in_hand = None;
    case.old.faults = Yearly::Same(0.0);
    case.old.service = Yearly::Same(kept_a_year);
    for option in &mut case.options {
        option.capex = capex;
        option.install_disruption = 0.0;
        option.service = Yearly::Same(0.0);
        option.life_max = 10;
        option.failures = Failures::Each {
            faults: vec![0.0; 10],
        };
    }
    checked(case)
}

/// Arithmetic: a new one costs £100 a year. Kept, the old one costs £40 or £260 in the year, each by a chance of one half:
/// £60 better or £160 worse than replacing. Without knowing: replace, as £50 more is expected of keeping. Knowing saves
/// £60 half the time: £30; and half the time it turns the course.
#[test]
fn the_worth_of_knowing_by_hand() {
    let (cheap, dear) = (by_hand(1_000.0, 40.0), by_hand(1_000.0, 260.0));
    let ways = [(0.5, &cheap), (0.5, &dear)].map(|(chance, case)| Way { chance, case });
    let told = worth_knowing(&ways).unwrap();
    assert!((told.pounds - 30.0).abs() < 1e-9, "{told:?}");
    assert_eq!(told.without, Course::Replace("like-for-like".to_owned()));
    assert_eq!(told.turns, 0.5);
}

#[test]
fn what_is_certain_is_worth_nothing_and_nonsense_is_refused() {
    let one = checked(sample());
    let way = Way {
        chance: 0.3,
        case: &one,
    };
    assert_eq!(worth_knowing(&[way, way]).unwrap().pounds, 0.0);
    assert_eq!(worth_knowing(&[]), None);
    for chance in [-0.1, f64::NAN, 0.0] {
        assert_eq!(worth_knowing(&[Way { chance, ..way }]), None, "{chance}");
    }
}

/// A unit advised to be kept turns after exactly as many failures more as are named, and not one sooner.
#[test]
fn as_many_failures_more_as_are_said() {
    let mut case = sample();
    case.fault_in_hand = None;
    case.old.frailty_var = 0.8;
    case.old.faults = Yearly::Each((0..10).map(|i| 0.4 * 1.03_f64.powi(i)).collect());
    let kept = checked(case);
    let told = advise(&kept).further.unwrap();
    let at = |count: u32| {
        let levers = Levers {
            faults_old: 1.0 + 0.8 * f64::from(count),
            ..Levers::default()
        };
        weigh(&kept, &levers).advantage().unwrap()
    };
    assert!(told.count >= 1);
    assert!(
        at(told.count) > 0.0 && at(told.count - 1) <= 0.0,
        "{told:?}"
    );
    // It is advised to be replaced already: no failure more is needed.
    assert_eq!(advise(&checked(sample())).further, None);
}

/// Failures fewer are looked at while 1 − s n stays above nought, never beyond those on record, never beyond six.
#[test]
fn no_more_failures_fewer_are_looked_at_than_can_be() {
    // 1 − 0.3 × 3 = 0.1 and 1 − 0.3 × 4 < 0; 1 − 0.1 × 6 = 0.4; 1 − 2 × 1 < 0.
    assert_eq!(fewer_tried(0.3, 5), 3);
    assert_eq!(fewer_tried(0.3, 2), 2);
    assert_eq!(fewer_tried(0.1, 40), 6);
    assert_eq!(fewer_tried(2.0, 5), 0);
    assert_eq!(fewer_tried(0.0, 5), 0);
    assert_eq!(fewer_tried(0.3, 0), 0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn knowing_never_costs_and_is_never_worth_more_than_the_doubt(case in case(), by in 0.2..3.0f64, w in 0.0..1.0f64) {
        let one = checked(case.clone());
        let mut other = case;
        if let Yearly::Each(list) = &mut other.old.faults {
            for m in list.iter_mut() {
                *m *= by;
            }
        }
        let other = checked(other);
        let told = worth_knowing(&[Way { chance: w, case: &one }, Way { chance: 1.0 - w, case: &other }]).unwrap();
        let spread = |c: &CheckedCase| weigh(c, &Levers::default()).advantage().unwrap().abs();
        prop_assert!(told.pounds >= 0.0);
        prop_assert!((0.0..=1.0 + 1e-12).contains(&told.turns));
        if told.pounds > 1e-6 && spread(&one) < f64::INFINITY {
            // A gain needs two courses that change places.
            prop_assert!(weigh(&one, &Levers::default()).keep != weigh(&other, &Levers::default()).keep);
        }
    }
}
