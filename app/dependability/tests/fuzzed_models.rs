//! No finite input makes the part clocks, the rolled record, the merging, the trend, a branch or virtual age panic or answer
//! what is not a number; nonsense is refused with a reason; the verdicts a fit can end with are reached.
use dependability::baselines::Baselines;
use dependability::columns::Columns;
use dependability::observed::Observed;
use dependability::part_clocks::PartModel;
use dependability::redundancy::{Need, losses_a_year};
use dependability::rolling::{Trial, roll};
use dependability::trend::{alike, handbook, laplace, robust_laplace};
use dependability::virtual_age::{Repair, fit_virtual_age};
use dependability::{
    Failure, Horizon, Housed, InputError, Installed, KindPrior, Normal, PartClock, PartPrior,
    Renewal, Report, UnitHistory, Verdict, Window, fit_kind, merge_repeat_visits, recording,
};
use proptest::prelude::*;

fn prior() -> KindPrior {
    let part = |code: &str, share: f64, shape: f64| PartPrior {
        code: code.to_owned(),
        share,
        shape,
        clock: PartClock::Part,
    };
    let mut prior = KindPrior::around(0.2, 0.7, vec![part("a", 0.6, 2.0), part("b", 0.4, 1.0)]);
    prior.covariates.push(recording::covariate());
    prior
}

/// A history that can be: installed before it is watched, at most two windows, failures and renewals anywhere after.
fn history() -> impl Strategy<Value = UnitHistory> {
    let events = prop::collection::vec((0.0_f64..1.0, 0_u8..3, any::<bool>()), 0..7);
    (
        0.0_f64..12.0,
        0.0_f64..3.0,
        0.0_f64..6.0,
        0.0_f64..6.0,
        0.0_f64..3.0,
        events,
    )
        .prop_map(|(age, doubt, first, second, gap, events)| {
            let window = |from: f64, until: f64| Window {
                from,
                until,
                x: vec![0.0],
            };
            let end = first + gap + second;
            let at = |share: f64| -age + share * (age + end);
            let code = |c: u8| {
                ["a", "b", "else"]
                    .get(usize::from(c))
                    .map(|s| (*s).to_owned())
            };
            UnitHistory {
                installed: Installed {
                    earliest: -age,
                    latest: -age + doubt,
                },
                windows: vec![window(0.0, first), window(first + gap, end)],
                renewals: events
                    .iter()
                    .filter(|e| e.2)
                    .map(|e| Renewal {
                        part: code(e.1).unwrap_or_default(),
                        at: at(e.0),
                    })
                    .collect(),
                failures: events
                    .iter()
                    .map(|e| Failure {
                        part: code(e.1),
                        at: at(e.0),
                        between: None,
                    })
                    .collect(),
                present: vec![0.0],
                merged: 0,
                written_off: false,
            }
        })
}

fn model() -> PartModel {
    let n = |mean: f64, sd: f64| Normal { mean, sd };
    PartModel {
        parts: vec!["a".to_owned(), "b".to_owned()],
        covariates: 1,
        t0: 10.0,
        prior: vec![
            n(-3.0, 1.0),
            n(0.3, 0.3),
            n(2.3, 0.4),
            n(0.7, 0.35),
            n(2.5, 0.4),
            n(0.1, 0.35),
            n(-0.7, 0.8),
            n(0.0, 0.5),
        ],
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn part_clocks_end_with_numbers_or_a_reason(units in prop::collection::vec(history(), 1..6), years in 0.0_f64..9.0) {
        let fit = model().fit(&units);
        if matches!(fit.end, numerics::End::Failed(_)) {
            return Ok(());
        }
        prop_assert!(fit.at.iter().all(|v| v.is_finite()) && fit.loglik.is_finite());
        for unit in &units {
            let z = fit.posterior(unit);
            prop_assert!(z.mean().is_finite() && z.mean() > 0.0);
            prop_assert!(fit.ahead(unit, years).iter().all(|m| m.is_finite() && *m >= 0.0));
            if let Some(half) = fit.years_to_half(unit) {
                prop_assert!(half.is_finite() && half >= 0.0);
            }
            if fit.covariance.iter().all(|v| v.is_finite()) {
                let told = fit.predictive(unit, years);
                prop_assert!((0.0..=1.0).contains(&told.chance) && told.expected.is_finite());
            }
        }
    }

    #[test]
    fn rolling_and_the_plainer_ways_end_with_laws(units in prop::collection::vec((history(), 0_u8..3), 1..6), origin in -2.0_f64..12.0) {
        let names: Vec<String> = units.iter().map(|u| u.1.to_string()).collect();
        let housed: Vec<Housed<'_>> = units
            .iter()
            .zip(&names)
            .map(|((history, _), building)| Housed { history, building })
            .collect();
        let trial = Trial { prior: &prior(), life: Some((15.0, 3.0)), years: 1.0 };
        for one in roll(&trial, &housed, &[origin, origin + 1.0]).unwrap() {
            let said = one.scored;
            for way in [said.ours, said.average, said.age, said.prior] {
                prop_assert!(way.law.mean.is_finite() && way.law.mean >= 0.0 && way.law.inv_size >= 0.0);
                prop_assert!(way.ln_count().is_finite(), "{way:?}");
            }
        }
        let known: Vec<UnitHistory> = units.into_iter().map(|u| u.0).collect();
        let plainer = Baselines::fit(&prior(), &known).unwrap();
        let ours = numerics::CountLaw { mean: 0.1, inv_size: 0.0 };
        for unit in &known {
            let said = plainer.beside(ours, unit, &Horizon::next(origin + 20.0, 1.0)).unwrap();
            prop_assert!([said.average, said.age, said.prior].iter().all(|law| law.mean.is_finite() && law.mean >= 0.0));
        }
    }

    #[test]
    fn merging_keeps_every_report_once(reports in prop::collection::vec((any::<i64>(), 0_u8..3, 0_u8..3, any::<bool>()), 0..30), window in any::<i64>()) {
        let reports: Vec<Report> = reports
            .into_iter()
            .enumerate()
            .map(|(order, (day, component, link, found_at_service))| Report {
                order: order as u64,
                unit: (order % 2).to_string(),
                component: component.to_string(),
                link: if link == 0 { String::new() } else { link.to_string() },
                day,
                found_at_service,
            })
            .collect();
        let merged = merge_repeat_visits(&reports, window);
        let mut told: Vec<usize> = merged.failures.iter().flat_map(|f| f.reports.clone()).collect();
        told.sort_unstable();
        let wanted: Vec<usize> = (0..reports.len()).filter(|i| !reports[*i].found_at_service).collect();
        prop_assert_eq!(told, wanted);
        prop_assert_eq!(merged.failures.len() + merged.merged_away + merged.found_at_service, reports.len());
    }

    #[test]
    fn trends_are_numbers_or_nothing(units in prop::collection::vec((0.0_f64..9.0, 0.0_f64..9.0, prop::collection::vec(-1.0_f64..20.0, 0..6)), 0..8)) {
        let units: Vec<Observed> = units
            .into_iter()
            .map(|(from, years, events)| Observed {
                windows: vec![(from, from + years)],
                events: events.into_iter().map(|t| (t, 1.0)).collect(),
            })
            .collect();
        prop_assert!(laplace(&units).is_none_or(f64::is_finite));
        prop_assert!(robust_laplace(&units).is_none_or(|(z, p)| z.is_finite() && (0.0..=1.0).contains(&p)));
        prop_assert!(alike(&units).is_none_or(|(rate, chi2, _)| rate.is_finite() && chi2.is_finite()));
        let from_new: Vec<Observed> = units
            .into_iter()
            .map(|mut u| { u.windows[0].0 = 0.0; u })
            .collect();
        prop_assert!(handbook(&from_new).is_none_or(|h| h.value.is_finite() && (0.0..=1.0).contains(&h.p)));
    }

    #[test]
    fn a_branch_is_lost_a_finite_number_of_times(rates in prop::collection::vec(0.0_f64..50.0, 0..9), needed in 0_usize..10, common in 0.0_f64..=1.0, repair in 0.0_f64..2.0) {
        let (alone, together) = losses_a_year(&rates, Need { needed, common, repair });
        prop_assert!(alone.is_finite() && alone >= 0.0 && together.is_finite() && together >= 0.0);
    }

    #[test]
    fn virtual_age_is_a_number_or_nothing(systems in prop::collection::vec((prop::collection::vec(0.0_f64..30.0, 0..6), 0.0_f64..30.0), 0..4), whole in any::<bool>(), q_max in -1.0_f64..3.0) {
        let repair = if whole { Repair::WholeAge } else { Repair::LastGap };
        if let Some(found) = fit_virtual_age(&systems, repair, q_max) {
            prop_assert!([found.beta, found.eta, found.q, found.loglik].iter().all(|v| v.is_finite()));
            prop_assert!(found.q <= q_max);
        }
    }

    #[test]
    fn columns_refuse_nonsense_and_stay_as_they_were(from in prop::num::f64::ANY, until in prop::num::f64::ANY, x in prop::num::f64::ANY, age in prop::num::f64::ANY) {
        let mut columns = Columns::new(1, 10.0);
        columns.push(&[(1.0, 6.0, &[0.0])], &[2.0]).unwrap();
        let pushed = columns.push(&[(from, until, &[x])], &[age]);
        prop_assert_eq!(columns.units(), 1 + usize::from(pushed.is_ok()));
        prop_assert!(columns.log_likelihood(&[-1.0, 0.2, -0.5, 0.1], 1).value.is_finite());
    }
}

#[test]
fn columns_say_what_is_wrong() {
    let mut columns = Columns::new(1, 10.0);
    let mut refused = |windows: &[(f64, f64, &[f64])], failures: &[f64]| {
        columns.push(windows, failures).unwrap_err().to_string()
    };
    assert!(
        refused(&[(f64::NAN, 6.0, &[0.0])], &[]).contains("age at the start of a window is NaN")
    );
    assert!(refused(&[(6.0, 1.0, &[0.0])], &[]).contains("ends before it begins"));
    assert!(refused(&[(1.0, 6.0, &[])], &[]).contains("0 covariates where the kind has 1"));
    assert!(refused(&[(1.0, 6.0, &[0.0])], &[7.0]).contains("outside every window"));
    assert!(refused(&[(1.0, 6.0, &[f64::INFINITY])], &[]).contains("covariate is inf"));
    assert_eq!(columns.units(), 0);
    let error = columns.push(&[(1.0, 6.0, &[0.0]), (5.0, 7.0, &[0.0])], &[]);
    assert_eq!(error, Err(InputError::Window(1)));
}

fn watched(failures: usize) -> UnitHistory {
    UnitHistory {
        installed: Installed {
            earliest: 0.0,
            latest: 0.0,
        },
        windows: vec![Window {
            from: 1.0,
            until: 2.0,
            x: Vec::new(),
        }],
        renewals: Vec::new(),
        failures: (0..failures)
            .map(|i| Failure {
                part: None,
                at: 1.0 + (i as f64 + 0.5) / failures as f64,
                between: None,
            })
            .collect(),
        present: Vec::new(),
        merged: 0,
        written_off: false,
    }
}

/// A prior so wide that it holds nothing, and units far more alike than Poisson: θ runs to the edge of its box, and the fit
/// says which.
#[test]
fn a_parameter_held_at_the_edge_is_named() {
    let mut prior = KindPrior::around(5.0, 5.0, Vec::new());
    prior.ln_theta = Normal {
        mean: -8.9,
        sd: 5.0,
    };
    let fleet: Vec<UnitHistory> = (0..200).map(|_| watched(5)).collect();
    let fit = fit_kind(&prior, &fleet).unwrap();
    assert_eq!(
        fit.verdict,
        Verdict::Boundary(vec!["difference between units".to_owned()])
    );
    assert!(fit.parameters.iter().all(|v| v.is_finite()));
}
