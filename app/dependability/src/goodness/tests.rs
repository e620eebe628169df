use super::*;
use crate::history::{Failure, Installed, UnitHistory, Window};
use crate::kind_fit::fit_kind;

/// By hand: (0 − 2)² − 0 + (4 − 2)² − 4 = 4 over √(2 · 8) = 4; and units that differ less than Poisson score below 0.
#[test]
fn the_score_of_no_spread_is_that_of_its_formula() {
    assert!((score_at_none(&[0, 4], &[1.0, 1.0]) - 1.0).abs() < 1e-12);
    assert!((score_at_none(&[2, 2], &[5.0, 5.0]) + 1.0).abs() < 1e-12);
    assert_eq!(score_at_none(&[0, 0], &[1.0, 1.0]), 0.0);
}

/// By hand: 6 and 2 where 4 and 4 are due on the level of the record: 4/4 + 4/4; with θ 0.5 and two units each 2 · 4/(4 · 2).
#[test]
fn the_distance_takes_the_level_anew() {
    let cells = Cells(vec![(6.0, 1.0, 2.0), (2.0, 1.0, 2.0), (0.0, 0.0, 0.0)]);
    assert!((cells.distance(0.0) - 2.0).abs() < 1e-12);
    assert!((cells.distance(0.5) - 1.0).abs() < 1e-12);
    assert_eq!(Cells::of(3).distance(1.0), 0.0);
}

/// Counts in the very proportions of their law fill every bin alike; the law's own chances are of the numerics room.
#[test]
fn counts_that_follow_their_law_are_even() {
    let law = CountLaw {
        mean: 1.3,
        inv_size: 0.6,
    };
    let mut counts = Vec::new();
    for (count, ln_p) in law.ln_chances().take(25).enumerate() {
        counts.extend(vec![
            count as u64;
            (200_000.0 * ln_p.exp()).round() as usize
        ]);
    }
    let even = unevenness(&counts, &vec![1.3; counts.len()], 0.6);
    assert!(even < 1e-6, "{even}");
    let poisson = unevenness(&counts, &vec![1.3; counts.len()], 0.0);
    assert!(poisson > 0.02, "{poisson}");
}

/// Units of a law: watched from 2015 to 2025, installed between 2000 and 2014, failures by the inverse of their exposure.
fn drawn_units(seed: u64, count: usize, beta: f64, theta: f64, drift: f64) -> Vec<UnitHistory> {
    let mut dice = Dice::new(seed);
    (0..count)
        .map(|u| {
            let installed = 2000.0 + (u % 15) as f64;
            let z = dice.frailty(theta);
            let mut failures = Vec::new();
            // A failure is offered at the highest rate there is and taken by the rate of its moment.
            let rate = |at: f64| {
                0.25 * z
                    * ((at - installed) / 10.0).powf(beta - 1.0)
                    * (drift * (at - 2025.0)).exp()
            };
            let most = (0..=100)
                .map(|step| rate(2015.0 + f64::from(step) / 10.0))
                .fold(0.0, f64::max);
            let mut at = 2015.0;
            loop {
                at -= (1.0 - dice.even()).ln() / most;
                if at >= 2025.0 {
                    break;
                }
                if dice.even() * most < rate(at) {
                    failures.push(Failure {
                        part: None,
                        at,
                        between: None,
                    });
                }
            }
            UnitHistory {
                installed: Installed {
                    earliest: installed,
                    latest: installed,
                },
                windows: vec![Window {
                    from: 2015.0,
                    until: 2025.0,
                    x: Vec::new(),
                }],
                renewals: Vec::new(),
                failures,
                present: Vec::new(),
                merged: 0,
                written_off: false,
            }
        })
        .collect()
}

fn judged_by_its_fit(units: &[UnitHistory]) -> Goodness {
    asked(units).unwrap()
}

fn asked(units: &[UnitHistory]) -> Option<Goodness> {
    let prior = KindPrior::around(0.2, 0.7, Vec::new());
    let fit = fit_kind(&prior, units).unwrap();
    let housed: Vec<Housed<'_>> = units
        .iter()
        .map(|history| Housed {
            history,
            building: "one",
        })
        .collect();
    let years: Vec<CalendarYear> = (2015..2025)
        .map(|year| CalendarYear {
            year,
            from: f64::from(year),
            until: f64::from(year + 1),
        })
        .collect();
    goodness(&prior, &fit, &housed, &years).unwrap()
}

/// Twelve failures of no known day between 2018 and 2022, watched throughout: three in each of the four years.
#[test]
fn failures_of_no_known_day_are_shared_out_over_what_is_known_of_them() {
    let mut units = drawn_units(8, 40, 1.4, 0.5, 0.0);
    let before = judged_by_its_fit(&units).years;
    let told = Failure {
        part: None,
        at: 2020.0,
        between: Some((2018.0, 2022.0)),
    };
    units[0].failures.extend(vec![told; 12]);
    units[0].failures.sort_by(|a, b| a.at.total_cmp(&b.at));
    let after = judged_by_its_fit(&units).years;
    for (was, is) in before.iter().zip(&after) {
        let more = if (2018..2022).contains(&is.year) {
            3.0
        } else {
            0.0
        };
        assert!(
            (is.failures - was.failures - more).abs() < 1e-9,
            "{was:?} {is:?}"
        );
    }
}

/// At the level of 20 a unit two have none, far below, and one has sixty, far above: two thirds in the first bin, one third in
/// the last. One so far out that all chance lies below it is in a bin, too.
#[test]
fn the_farthest_unit_counts() {
    let far = unevenness(&[60, 0, 0], &[1.0; 3], 0.0);
    let off = |share: f64| (share - 0.1).powi(2);
    let by_hand = 10.0 * (off(2.0 / 3.0) + off(1.0 / 3.0) + 8.0 * off(0.0));
    assert!((far - by_hand).abs() < 1e-6, "{far} {by_hand}");
}

/// A law of the fit's own form is found fault with no more often than luck: of fifty records (seeds 1 to 50) few lie among
/// the farthest in twenty. Chances are rather too large, as parameters are not fitted again, so only the upper side is held:
/// more than 7 of 50 at 5 % happens to 3 laws in 1,000 that keep their word.
#[test]
fn a_true_law_is_seldom_found_fault_with() {
    let mut found = [0; 3];
    for seed in 1..=50 {
        let seen = judged_by_its_fit(&drawn_units(seed, 60, 1.4, 0.5, 0.0));
        let chances = [seen.by_age.unwrap(), seen.by_year.unwrap(), seen.by_unit];
        for (count, chance) in found.iter_mut().zip(chances) {
            *count += i32::from(chance <= 0.05);
        }
    }
    assert!(found.iter().all(|n| *n <= 7), "{found:?}");
}

/// What is wrong on purpose is found: a rate that bends where the power law cannot (a year's drift of the record), a
/// bathtub no power law has, units unlike one another where all are said alike.
#[test]
fn what_the_law_cannot_do_is_found() {
    let drifted = judged_by_its_fit(&drawn_units(3, 400, 1.0, 0.2, 0.25));
    assert!(drifted.by_year.unwrap() <= 0.01, "{drifted:?}");
    let unlike = judged_by_its_fit(&drawn_units(4, 200, 1.4, 1.5, 0.0));
    assert!(
        unlike.unlike > 3.0 && unlike.unlike_by_luck <= 0.01,
        "{unlike:?}"
    );
    // Of twenty records of units all alike (seeds 1 to 20) at most 4 are called unlike at 5 %: more happens to 3 in 1,000 laws.
    let called = (1..=20)
        .filter(|seed| {
            let alike = judged_by_its_fit(&drawn_units(*seed, 100, 1.4, 0.0, 0.0));
            alike.unlike_by_luck <= 0.05
        })
        .count();
    assert!(called <= 4, "{called}");
    let mut early = drawn_units(6, 200, 1.0, 0.2, 0.0);
    for unit in &mut early {
        // None between five and ten years of age, all of them brought to the first moments after.
        let installed = unit.installed.earliest;
        for failure in &mut unit.failures {
            if (5.0..10.0).contains(&(failure.at - installed)) {
                failure.at = (installed + 10.01).min(2024.99);
            }
        }
        unit.failures.sort_by(|a, b| a.at.total_cmp(&b.at));
    }
    let bent = judged_by_its_fit(&early);
    assert!(bent.by_age.unwrap() <= 0.01, "{bent:?}");
}

#[test]
fn the_years_are_counted_and_few_failures_say_nothing() {
    let units = drawn_units(7, 60, 1.4, 0.5, 0.0);
    let seen = judged_by_its_fit(&units);
    let all: usize = units.iter().map(|u| u.failures.len()).sum();
    assert_eq!(seen.failures as usize, all);
    let told: f64 = seen.years.iter().map(|y| y.failures).sum();
    assert!((told - all as f64).abs() < 1e-9, "{told} {all}");
    assert_eq!(seen.years.len(), 10);
    assert!(
        seen.years
            .iter()
            .all(|y| (y.unit_years - 60.0).abs() < 1e-6)
    );
    let prior = KindPrior::around(0.2, 0.7, Vec::new());
    let fit = fit_kind(&prior, &[]).unwrap();
    assert_eq!(goodness(&prior, &fit, &[], &[]).unwrap(), None);
    // Fourteen failures are too few, fifteen are not.
    let mut few = drawn_units(7, 60, 1.4, 0.5, 0.0);
    let mut left = 15_usize;
    for unit in &mut few {
        let keep = unit.failures.len().min(left);
        unit.failures.truncate(keep);
        left -= keep;
    }
    assert_eq!(judged_by_its_fit(&few).failures, 15);
    let last = few.iter_mut().rfind(|u| !u.failures.is_empty()).unwrap();
    last.failures.pop();
    assert_eq!(asked(&few), None);
    // Again the same.
    assert_eq!(seen, judged_by_its_fit(&units));
}
