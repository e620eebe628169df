//! What is had quickly held against the slow way to it: every step walked, every case weighed anew, every wave made anew.
use costing::weigh::{Levers, weigh};
use costing::{CheckedCase, DecisionCase, Param, TornadoRow, advise, advise_undrawn};
use proptest::prelude::*;
use proptest::strategy::ValueTree;

use crate::cases::{case, sample};

const LEAST: f64 = 0.1;
const MOST: f64 = 5.0;
const STEP: f64 = 0.01;

fn levers(param: Param, by: f64) -> Levers {
    let mut levers = Levers::default();
    *match param {
        Param::Rate => &mut levers.rate,
        Param::Quote => &mut levers.quote,
        Param::FaultsOld => &mut levers.faults_old,
        Param::FaultsNew => &mut levers.faults_new,
        Param::Capex => &mut levers.capex,
        Param::Energy => &mut levers.energy,
        Param::ServiceOld => &mut levers.service_old,
        Param::RepairPrice => &mut levers.repair_price,
        Param::Disruption => &mut levers.disruption,
        Param::EmergencyPremium => &mut levers.emergency_premium,
        Param::WriteOff => &mut levers.write_off,
    } = by;
    levers
}

/// Both ways from 1 every step is weighed; between steps a dip is looked into; a change of sign is halved sixty times.
fn walked(at: &impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let middle = at(0.0)?;
    let mut sides = [(1.0, MOST.ln()), (-1.0, -LEAST.ln())]
        .map(|(sign, reach)| (sign, reach, None::<(f64, f64)>, (0.0_f64, middle), false));
    let mut found: Option<f64> = None;
    while found.is_none() && sides.iter().any(|side| !side.4) {
        for (sign, reach, before, here, ended) in &mut sides {
            if *ended {
                continue;
            }
            let next = (here.0 + STEP).min(*reach);
            *ended = next >= *reach;
            let Some(value) = at(*sign * next) else {
                *ended = true;
                continue;
            };
            let side = |x: f64| at(*sign * x);
            let met = if (value > 0.0) == (here.1 > 0.0) {
                before.and_then(|(start, old): (f64, f64)| {
                    let (left, middle, right) = (old.abs(), here.1.abs(), value.abs());
                    let dips = middle <= left
                        && middle <= right
                        && middle < 4.0 * (left - middle).max(right - middle);
                    dips.then(|| dip(&side, start, next)).flatten()
                })
            } else {
                Some(halved(&side, here.0, next))
            };
            *before = Some(*here);
            *here = (next, value);
            if let Some(log) = met
                && found.is_none_or(|other| log < other.abs())
            {
                found = Some(*sign * log);
            }
        }
    }
    found.map(f64::exp)
}

fn halved(at: &impl Fn(f64) -> Option<f64>, start: f64, end: f64) -> f64 {
    let (mut low, mut high) = (start, end);
    let first = at(low).is_some_and(|a| a > 0.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if at(middle).is_some_and(|a| a > 0.0) == first {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

fn dip(at: &impl Fn(f64) -> Option<f64>, start: f64, end: f64) -> Option<f64> {
    const GOLD: f64 = 0.618_033_988_749_894_9;
    let first = at(start).is_some_and(|a| a > 0.0);
    let (mut low, mut high) = (start, end);
    for _ in 0..40 {
        let (left, right) = (high - GOLD * (high - low), low + GOLD * (high - low));
        let (a, b) = (at(left)?, at(right)?);
        for (point, value) in [(left, a), (right, b)] {
            if (value > 0.0) != first {
                return Some(halved(at, start, point));
            }
        }
        if a.abs() < b.abs() {
            high = right;
        } else {
            low = left;
        }
    }
    None
}

/// Holds a bar to the slow way; whether it found a change that every step walked over.
fn held(checked: &CheckedCase, row: &TornadoRow) -> Result<bool, TestCaseError> {
    let param = row.param;
    let at = |by: f64| weigh(checked, &levers(param, by)).advantage();
    prop_assert_eq!(row.adv_low, at(row.low), "{:?} low", param);
    prop_assert_eq!(row.adv_high, at(row.high), "{:?} high", param);
    let slow = walked(&|log: f64| at(log.exp()));
    let log = |by: Option<f64>| by.map_or(f64::INFINITY, |by| by.ln().abs());
    let apart = (log(slow) - log(row.switch_multiplier)).abs();
    if slow == row.switch_multiplier || apart < 1e-12 {
        return Ok(false);
    }
    // The slope at the change says how far rounding of the advantage can move it.
    if let (Some(slow), Some(found)) = (slow, row.switch_multiplier) {
        let near = |by: f64| at(by).unwrap_or(f64::NAN);
        let slope = (near(slow * (1.0 + 1e-6)) - near(slow * (1.0 - 1e-6))) / (2e-6 * slow);
        let rounding = 1e-11 * (1.0 + near(LEAST).abs() + near(MOST).abs());
        if (slow - found).abs() <= 1e-12 * slow + rounding / slope.abs() {
            return Ok(false);
        }
    }
    // Otherwise it must be a true change of sign, nearer 1 than the one the steps led to.
    let found = row.switch_multiplier;
    prop_assert!(
        log(found) < log(slow),
        "{:?}: {:?} for {:?}",
        param,
        found,
        slow
    );
    let by = found.unwrap_or(f64::NAN);
    let signs = [1.0 - 1e-9, 1.0 + 1e-9].map(|off| at(by * off).is_some_and(|a| a > 0.0));
    prop_assert!(signs[0] != signs[1], "{:?}: no change at {}", param, by);
    Ok(true)
}

fn all_held(case: &DecisionCase) -> Result<usize, TestCaseError> {
    let checked = case.clone().checked().unwrap();
    let mut passed_over = 0;
    for row in &advise_undrawn(&checked, &costing::advice::Closeness::default()).tornado {
        passed_over += usize::from(held(&checked, row)?);
    }
    Ok(passed_over)
}

#[test]
fn the_sample_turns_where_every_step_walked_says() {
    let mut case = sample();
    assert_eq!(all_held(&case).unwrap(), 0);
    // With all that the program reckons with: rates of later years, failures beyond repair, parts that stay.
    let schedule = costing::RateSchedule::default();
    (case.rate, case.later) = schedule.first_and_later().unwrap();
    case.old.write_off_share = 0.03;
    case.old.write_off_range = Some((0.003, 0.069));
    case.old.write_off_premium = 350.0;
    assert_eq!(all_held(&case).unwrap(), 0);
    case.old.stays = costing::Yearly::Same(0.2);
    case.options[0].stays = 0.1;
    assert_eq!(all_held(&case).unwrap(), 0);
}

/// Over two hundred cases of every sort, those of one, two or no grants among them, at most one change in a thousand bars was
/// walked over by the steps, and each such change is one.
#[test]
fn every_bar_is_what_every_step_walked_says() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let (mut bars, mut passed_over) = (0, 0);
    for n in 0..200 {
        let mut case = case().new_tree(&mut runner).unwrap().current();
        if n % 2 == 0 {
            // Without grants, as most are; the others keep theirs.
            for option in &mut case.options {
                (option.grant, option.unplanned_premium) = (0.0, 0.0);
                option.grant_to = None;
            }
        }
        if n % 3 == 0 {
            case.old.write_off_range = Some((0.0, (2.0 * case.old.write_off_share).min(1.0)));
        }
        if n % 5 == 0 {
            case.old.stays = costing::Yearly::Same(0.3);
            case.options[1].stays = 0.2;
        }
        bars += 10;
        let told = |why| format!("case {n}: {why}\n{case:?}");
        passed_over += all_held(&case).map_err(told).unwrap();
    }
    assert!(passed_over * 1_000 <= bars, "{passed_over} of {bars}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    /// Leaving the drawings out leaves out nothing else.
    #[test]
    fn undrawn_it_is_the_same_but_for_the_drawings(case in case()) {
        let checked = case.checked().unwrap();
        let mut drawn = advise(&checked);
        let undrawn = advise_undrawn(&checked, &costing::advice::Closeness::default());
        prop_assert!(undrawn.fork.keep.years.is_empty() && undrawn.fork_undiscounted.replace.is_empty());
        prop_assert_eq!(drawn.fork.keep.years.len(), drawn.keep.len());
        drawn.fork = undrawn.fork.clone();
        drawn.fork_undiscounted = undrawn.fork_undiscounted.clone();
        prop_assert_eq!(drawn, undrawn);
    }
}
