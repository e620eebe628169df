//! Failures whose day is known only to a span: their intensity is that of the whole span (FORECAST §1, interval counts).
use dependability::record::{Exposed, LN_BETA, Record, Span, Subject, log_likelihood};
use dependability::{
    Failure, Installed, KindPrior, PartClock, PartPrior, Renewal, UnitHistory, Window, fit_kind,
};

/// ln rate, ln β, ln θ.
const P: [f64; 3] = [-1.4, 0.5, -0.6];

fn record(at: Option<f64>, spans: &[(f64, f64)]) -> Subject {
    Subject::from(Record {
        windows: vec![Exposed {
            span: Span::Clock {
                from: 0.5,
                until: 9.0,
            },
            x: Vec::new(),
        }],
        failures: 2,
        // The other failure at four years to the day.
        sum_ln_age: 0.4_f64.ln() + at.map_or(0.0, |t| (t / 10.0).ln()),
        spans: spans.to_vec(),
        ..Record::default()
    })
}

/// Nothing but h(t) depends on the day, so that a span's likelihood is the mean of the likelihoods of its days: here by
/// Simpson's rule over 2,000 of them.
#[test]
fn a_spans_likelihood_is_the_mean_of_its_days() {
    for (a, b) in [(1.0, 2.0), (0.6, 8.5), (5.0, 5.1)] {
        let steps = 2000;
        let width = (b - a) / f64::from(steps);
        let mut sum = 0.0;
        for k in 0..=steps {
            let weight = if k == 0 || k == steps {
                1.0
            } else if k % 2 == 1 {
                4.0
            } else {
                2.0
            };
            let day = record(Some(a + width * f64::from(k)), &[]);
            sum += weight * log_likelihood(&[day], &P, 10.0).value.exp();
        }
        let mean = sum * width / 3.0 / (b - a);
        let span = record(None, &[(a, b)]);
        let told = log_likelihood(&[span], &P, 10.0);
        assert!((told.value - mean.ln()).abs() < 1e-8, "{a} {b}");
    }
}

#[test]
fn its_derivatives_meet_differences() {
    let subjects = [record(None, &[(1.0, 4.0)]), record(None, &[(0.6, 0.9)])];
    let at = |p: &[f64]| log_likelihood(&subjects, p, 10.0);
    let here = at(&P);
    for i in 0..P.len() {
        let (mut up, mut down) = (P, P);
        up[i] += 1e-4;
        down[i] -= 1e-4;
        let (up, down) = (at(&up), at(&down));
        let slope = (up.value - down.value) / 2e-4;
        assert!((here.gradient[i] - slope).abs() < 1e-6, "{i}");
        let bend = (up.gradient - down.gradient) / 2e-4;
        assert!((here.hessian.column(i) - bend).amax() < 1e-5, "{i}");
    }
    assert!(here.gradient[LN_BETA].is_finite());
}

/// Forty units, each with a failure or two; `between` of each failure's moment.
fn fleet(part: Option<&str>, between: impl Fn(f64) -> Option<(f64, f64)>) -> Vec<UnitHistory> {
    (0..40)
        .map(|i| {
            let installed = -f64::from(i % 9);
            let failures = (0..=(i % 2)).map(|k| {
                let at = 1.0 + f64::from(k) * 2.0 + f64::from(i) * 0.01;
                Failure {
                    part: part.map(str::to_owned),
                    at,
                    between: between(at),
                }
            });
            UnitHistory {
                installed: Installed {
                    earliest: installed,
                    latest: installed,
                },
                windows: vec![
                    Window {
                        from: 0.0,
                        until: 2.0,
                        x: Vec::new(),
                    },
                    Window {
                        from: 2.0,
                        until: 5.0,
                        x: Vec::new(),
                    },
                ],
                renewals: vec![Renewal {
                    part: "pump".to_owned(),
                    at: 0.5,
                }],
                failures: failures.collect(),
                present: Vec::new(),
                merged: 0,
                written_off: false,
            }
        })
        .collect()
}

fn with_parts() -> KindPrior {
    let part = |code: &str, share, shape| PartPrior {
        code: code.to_owned(),
        share,
        shape,
        clock: PartClock::Part,
    };
    KindPrior::around(
        0.2,
        0.7,
        vec![part("pump", 0.6, 2.0), part("board", 0.4, 1.2)],
    )
}

#[test]
fn a_narrow_span_is_a_day_and_a_wide_one_is_not() {
    for (prior, part) in [
        (KindPrior::around(0.2, 0.7, Vec::new()), None),
        (with_parts(), Some("pump")),
    ] {
        let fit = |between: &dyn Fn(f64) -> Option<(f64, f64)>| {
            fit_kind(&prior, &fleet(part, between)).unwrap()
        };
        let days = fit(&|_| None);
        // Two days either side.
        let narrow = fit(&|at| Some((at - 0.006, at + 0.006)));
        for (a, b) in days.parameters.iter().zip(&narrow.parameters) {
            assert!((a - b).abs() < 1e-4, "{a} {b}");
        }
        assert!((days.loglik - narrow.loglik).abs() < 1e-2);
        // The whole record, over windows that meet: which day it was is not in the likelihood any more.
        let (early, late) = (fit(&|_| Some((-50.0, 50.0))), fit(&|_| Some((0.0, 5.0))));
        assert_eq!(early.parameters, late.parameters, "cut to what was watched");
        assert!((early.loglik - days.loglik).abs() > 1e-2);
        assert_eq!(early.n_failures, days.n_failures);
        // A span that ends before it begins cannot be.
        let wrong = fit(&|at| Some((at + 1.0, at - 1.0)));
        assert_eq!(wrong.rejected.len(), 40);
    }
}
