//! No finite number, meant or not, makes the lives, the two models of write-off, the mean cumulative function, the closed
//! power law or the ways out panic or answer what is not a number: it is refused, and the reason is said.
use dependability::causes::cause_chances;
use dependability::lives::{EFFECTS, Known, Life, Weibull, fit_lives};
use dependability::mcf::{Step, mean_cumulative};
use dependability::observed::Observed;
use dependability::power_law::{Truncation, power_law};
use dependability::record::{Exposed, Record, Span};
use dependability::written_off::{Watched, fit_both};
use numerics::End;
use proptest::prelude::*;

/// What is meant, what is not, and every finite number there is.
fn number() -> impl Strategy<Value = f64> {
    use prop::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![
        6 => 0.0_f64..30.0,
        1 => -50.0_f64..0.0,
        1 => Just(0.0),
        1 => POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO,
    ]
}

fn life() -> impl Strategy<Value = Life> {
    let x = prop::collection::vec(number(), 0..3);
    (number(), number(), number(), 0_u8..4, number(), x).prop_map(
        |(entry, first, second, known, count, x)| Life {
            entry,
            known: match known {
                0 => Known::Event(first),
                1 => Known::Running(first),
                2 => Known::Before(first),
                _ => Known::Between(first, second),
            },
            count,
            x,
        },
    )
}

/// A life that can be.
fn sound() -> impl Strategy<Value = Life> {
    (0.0_f64..20.0, 1e-6_f64..20.0, any::<bool>()).prop_map(|(entry, watched, ended)| Life {
        entry,
        known: if ended {
            Known::Event(entry + watched)
        } else {
            Known::Running(entry + watched)
        },
        count: 1.0,
        x: Vec::new(),
    })
}

fn watched() -> impl Strategy<Value = Watched> {
    let record = (number(), number(), 0_u32..6, number(), number(), 0_u8..5);
    (number(), number(), any::<bool>(), record).prop_map(|(entry, exit, written_off, record)| {
        let (from, until, failures, sum_ln_age, ln_base, sort) = record;
        Watched {
            entry,
            exit,
            written_off,
            record: Record {
                windows: vec![Exposed {
                    span: match sort {
                        0 => Span::Fixed(from),
                        1 => Span::Clock { from, until },
                        _ => Span::Clock {
                            from: entry,
                            until: exit,
                        },
                    },
                    x: if sort == 4 { vec![until] } else { Vec::new() },
                }],
                failures: if until > 1e9 { u32::MAX } else { failures },
                sum_ln_age,
                sum_x: Vec::new(),
                ln_base,
                ..Record::default()
            },
        }
    })
}

fn said(why: &str) -> bool {
    !why.is_empty() && !why.contains("NaN")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn lives_end_with_a_law_or_a_reason(lives in prop_oneof![prop::collection::vec(life(), 0..6), prop::collection::vec(sound(), 1..6)], covariates in 0_usize..3) {
        let fit = fit_lives(&lives, covariates, None);
        if let End::Failed(why) = &fit.end {
            prop_assert!(said(why), "{why}");
            return Ok(());
        }
        let law = fit.law();
        prop_assert!(fit.loglik.is_finite() && law.beta.is_finite() && law.eta.is_finite());
        prop_assert!((0..EFFECTS + covariates).all(|i| fit.se(i).is_finite()));
    }

    #[test]
    fn both_models_of_write_off_end_with_numbers_or_a_reason(units in prop::collection::vec(watched(), 0..5), t0 in prop_oneof![9 => Just(10.0), 1 => number()]) {
        let both = fit_both(&units, t0);
        let (faults, life, shared) = (&both.faults, &both.life, &both.shared);
        for (end, found) in [(&faults.end, faults.loglik), (&life.end, life.loglik), (&shared.end, shared.loglik)] {
            match end {
                End::Failed(why) => prop_assert!(said(why), "{why}"),
                _ => prop_assert!(found.is_finite(), "{end:?}"),
            }
        }
        for (end, at) in [(&faults.end, &faults.at), (&shared.end, &shared.at)] {
            prop_assert!(matches!(end, End::Failed(_)) || at.iter().all(|v| v.is_finite()));
        }
    }

    #[test]
    fn the_curve_is_made_of_numbers_or_refused(units in prop::collection::vec((number(), number(), prop::collection::vec((number(), number()), 0..6)), 0..6)) {
        let units: Vec<Observed> = units
            .into_iter()
            .map(|(from, until, events)| Observed { windows: vec![(from, until)], events })
            .collect();
        match mean_cumulative(&units) {
            Err(why) => prop_assert!(said(&why.to_string()), "{why}"),
            Ok(steps) => {
                let finite = |s: &Step| [s.time, s.mean, s.se_poisson, s.se_robust].iter().all(|v| v.is_finite());
                prop_assert!(steps.iter().all(|s| s.at_risk > 0 && finite(s)));
            }
        }
    }

    #[test]
    fn the_closed_power_law_is_made_of_numbers_or_refused(
        times in prop::collection::vec(number(), 0..8), systems in 0_usize..4, end in number(), at_failure in any::<bool>(), all_at_end in any::<bool>(),
    ) {
        let truncation = if at_failure { Truncation::Failure } else { Truncation::Time };
        let times = if all_at_end { vec![end; times.len()] } else { times };
        match power_law(&times, systems, end, truncation) {
            Err(why) => prop_assert!(!why.to_string().is_empty()),
            Ok(law) => {
                prop_assert!(times.len() >= 3 && law.beta_mle > 0.0 && law.eta_mle > 0.0);
                prop_assert!([law.beta_mle, law.eta_mle, law.lambda_mle, law.loglik, law.mil_p, law.cvm_stat, law.laplace_z].iter().all(|v| v.is_finite()), "{law:?}");
            }
        }
    }

    #[test]
    fn ways_out_add_up_or_are_refused(laws in prop::collection::vec((number(), number()), 0..4), age in number(), h in number()) {
        let laws: Vec<Weibull> = laws.into_iter().map(|(beta, eta)| Weibull { beta, eta }).collect();
        match cause_chances(&laws, age, h) {
            Err(why) => prop_assert!(!why.to_string().is_empty()),
            Ok((chances, left)) => {
                prop_assert!(chances.iter().chain([&left]).all(|p| (-1e-9..=1.002).contains(p)), "{chances:?} {left}");
                prop_assert!((chances.iter().sum::<f64>() + left - 1.0).abs() < 2e-3);
            }
        }
    }
}

/// The reasons name what is wrong.
#[test]
fn refusals_say_what_cannot_be_meant() {
    let one = Life {
        entry: 5.0,
        known: Known::Event(4.0),
        count: 1.0,
        x: Vec::new(),
    };
    let why = |life: Life, covariates: usize| match fit_lives(&[life], covariates, None).end {
        End::Failed(why) => why,
        end => format!("{end:?}"),
    };
    assert!(why(one.clone(), 0).contains("age a life is known at is 4"));
    assert!(
        why(
            Life {
                known: Known::Event(6.0),
                ..one
            },
            2
        )
        .contains("0 covariates where the kind has 2")
    );
    let too_few = power_law(&[1.0, 2.0], 1, 3.0, Truncation::Time).unwrap_err();
    assert!(too_few.to_string().contains("failures is 2"));
    let at_end = power_law(&[3.0; 4], 1, 3.0, Truncation::Time).unwrap_err();
    assert!(at_end.to_string().contains("shape"), "{at_end}");
    let law = Weibull {
        beta: -1.0,
        eta: 10.0,
    };
    let refused = cause_chances(&[law], 1.0, 1.0).unwrap_err();
    assert!(refused.to_string().contains("shape of a life is -1"));
    let backwards = Observed {
        windows: vec![(3.0, 1.0)],
        events: Vec::new(),
    };
    assert!(
        mean_cumulative(&[backwards])
            .unwrap_err()
            .to_string()
            .contains("window 0 ends before it begins")
    );
}
