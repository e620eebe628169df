//! Properties of the likelihood and of the forecast that hold whatever the numbers.
#![expect(clippy::unwrap_used, reason = "the fixture's fit must not fail")]
use dependability::record::{Exposed, GAMMA, LN_THETA, Record, Span, Subject, log_likelihood};
use dependability::{
    CovariatePrior, Failure, Horizon, Installed, KindFit, KindPrior, Member, Normal, PartClock,
    PartPrior, Renewal, ThinData, UnitHistory, Verdict, Window, fit_kind, forecast, total,
};
use proptest::prelude::*;
use std::sync::LazyLock;

fn part(code: &str, share: f64, shape: f64, clock: PartClock) -> PartPrior {
    PartPrior {
        code: code.to_owned(),
        share,
        shape,
        clock,
    }
}

fn kind() -> KindPrior {
    let parts = vec![
        part("pump", 0.5, 2.0, PartClock::Part),
        part("board", 0.3, 1.2, PartClock::Part),
        part("drain", 0.1, 1.0, PartClock::Event),
        part("body", 0.1, 3.0, PartClock::Unit),
    ];
    let mut prior = KindPrior::around(0.18, 0.7, parts);
    prior.covariates.push(CovariatePrior {
        code: "hard_water".to_owned(),
        effect: Normal { mean: 0.0, sd: 0.5 },
    });
    prior
}

fn one_clock() -> KindPrior {
    let mut prior = kind();
    prior.parts.clear();
    prior
}

fn unit(installed: f64, faults: &[(&str, f64)], hard: f64) -> UnitHistory {
    UnitHistory {
        installed: Installed {
            earliest: installed,
            latest: installed,
        },
        windows: vec![Window {
            from: 2015.0,
            until: 2024.0,
            x: vec![hard],
        }],
        renewals: faults
            .iter()
            .filter(|f| f.0 == "pump")
            .map(|f| Renewal {
                part: f.0.to_owned(),
                at: f.1,
            })
            .collect(),
        failures: faults
            .iter()
            .map(|f| Failure {
                part: Some(f.0.to_owned()),
                at: f.1,
                between: None,
            })
            .collect(),
        present: vec![hard],
        merged: 0,
        written_off: false,
    }
}

fn fleet() -> Vec<UnitHistory> {
    (0..40)
        .map(|i| {
            let installed = 2000.0 + f64::from(i % 14);
            let hard = f64::from(i % 2);
            match i % 5 {
                0 => unit(
                    installed,
                    &[("pump", 2018.3), ("board", 2021.1), ("pump", 2022.7)],
                    hard,
                ),
                1 => unit(installed, &[("other", 2016.4 + f64::from(i) * 0.1)], hard),
                2 => unit(installed, &[("drain", 2019.9)], hard),
                _ => unit(installed, &[], hard),
            }
        })
        .collect()
}

/// A finite difference of the gradient against the Hessian and of the value against the gradient.
fn assert_derivatives(subjects: &[Subject], p: &[f64]) {
    let at = log_likelihood(subjects, p, 10.0);
    for i in 0..p.len() {
        let (mut up, mut down) = (p.to_vec(), p.to_vec());
        up[i] += 1e-5;
        down[i] -= 1e-5;
        let (up, down) = (
            log_likelihood(subjects, &up, 10.0),
            log_likelihood(subjects, &down, 10.0),
        );
        let slope = (up.value - down.value) / 2e-5;
        assert!(
            (at.gradient[i] - slope).abs() < 1e-5 * (1.0 + slope.abs()),
            "gradient {i}"
        );
        for j in 0..p.len() {
            let bend = (up.gradient[j] - down.gradient[j]) / 2e-5;
            assert!(
                (at.hessian[(i, j)] - bend).abs() < 1e-5 * (1.0 + bend.abs()),
                "Hessian {i} {j}"
            );
        }
    }
}

fn clock_record(ages: &[f64], spans: &[(f64, f64, f64)]) -> Record {
    Record {
        windows: spans
            .iter()
            .map(|&(from, until, x)| Exposed {
                span: Span::Clock { from, until },
                x: vec![x],
            })
            .collect(),
        failures: ages.len() as u32,
        sum_ln_age: ages.iter().map(|t| (t / 10.0).ln()).sum(),
        sum_x: vec![ages.len() as f64 * 0.5],
        ..Record::default()
    }
}

#[test]
fn gradient_and_hessian_are_exact_with_covariates_gaps_and_doubtful_dates() {
    let sure = Subject::from(clock_record(
        &[3.0, 4.5],
        &[(1.0, 3.5, 0.5), (4.0, 9.0, 0.5)],
    ));
    let doubtful = Subject {
        nodes: vec![
            (0.4, clock_record(&[6.0], &[(2.0, 7.0, 0.5)])),
            (0.6, clock_record(&[9.0], &[(5.0, 10.0, 0.5)])),
        ],
    };
    assert_derivatives(&[sure, doubtful], &[-1.2, 0.3, -0.6, 0.4]);
}

#[test]
fn a_kind_learns_and_says_how_much() {
    let fit = fit_kind(&kind(), &fleet()).unwrap();
    assert_eq!(fit.verdict, Verdict::Converged);
    assert_eq!(
        (fit.n_units, fit.n_failures, fit.thin),
        (40, 40, ThinData::Mixed)
    );
    assert!(fit.data_weight.rate > 0.5 && fit.data_weight.rate < 1.0);
    assert!((fit.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    let none: Vec<UnitHistory> = (0..5).map(|_| unit(2010.0, &[], 0.0)).collect();
    let prior_only = fit_kind(&kind(), &none).unwrap();
    assert_eq!(prior_only.verdict, Verdict::NotEnough { failures: 0 });
    assert!((prior_only.rate_10y() - 0.18).abs() < 1e-12);
    assert_eq!(prior_only.thin, ThinData::PublishedOnly);
    // A watched unit without failures is better than its kind even then.
    let seen = forecast(
        &kind(),
        &prior_only,
        &none[0],
        &[Horizon::next(2024.0, 1.0)],
    )
    .unwrap();
    assert!(seen.z_mean < 1.0 && seen.n == 0);
}

#[test]
fn impossible_histories_are_left_out_by_name() {
    let mut fleet = fleet();
    fleet.push(unit(2020.0, &[("pump", 2018.0)], 0.0));
    fleet.push(unit(f64::NAN, &[], 0.0));
    let fit = fit_kind(&kind(), &fleet).unwrap();
    assert_eq!(
        fit.rejected.iter().map(|r| r.place).collect::<Vec<_>>(),
        [40, 41]
    );
    assert_eq!(fit.n_units, 40);
}

#[test]
fn intervals_are_nested_and_hold_the_chance_and_parts_stay_below_the_whole() {
    let fleet = fleet();
    let fit = fit_kind(&kind(), &fleet).unwrap();
    for history in &fleet {
        let seen = forecast(&kind(), &fit, history, &[Horizon::next(2024.0, 1.0)]).unwrap();
        let year = &seen.horizons[0];
        assert!(year.chance80.0 < year.chance50.0 && year.chance50.0 < year.chance50.1);
        assert!(year.chance50.1 < year.chance80.1 && year.chance80.1 < 1.0);
        assert!(year.chance80.0 < year.chance && year.chance < year.chance80.1);
        assert!(year.parts.iter().all(|p| p.chance <= year.chance) && year.parts.len() == 5);
        assert!(seen.z_10 < seen.z_mean && seen.z_mean < seen.z_90);
    }
}

#[test]
fn drivers_multiply_to_the_expected_number() {
    let fleet = fleet();
    let fit = fit_kind(&kind(), &fleet).unwrap();
    let season = Horizon {
        pieces: vec![(2024.75, 2025.0, 1.6), (2025.0, 2025.25, 1.4)],
    };
    let seen = forecast(&kind(), &fit, &fleet[5], &[season]).unwrap();
    let factors: f64 = seen.horizons[0]
        .drivers
        .iter()
        .map(|d| match d {
            dependability::Driver::OwnHistory(f)
            | dependability::Driver::Age(f)
            | dependability::Driver::RenewedParts(f)
            | dependability::Driver::Covariate(_, f)
            | dependability::Driver::Season(f)
            | dependability::Driver::Building(f) => *f,
        })
        .product();
    // Usual: a unit of mean age, all first parts, half a year at z = 1 (at the fit's parameters; the expected number
    // itself is averaged over their doubt, hence the room).
    let mut usual = unit(2024.75 - fit.mean_age, &[], 0.0);
    usual.windows.clear();
    let plain = Horizon {
        pieces: vec![(2024.75, 2025.25, 1.0)],
    };
    let usual = forecast(&kind(), &fit, &usual, &[plain]).unwrap().horizons[0].expected;
    let expected = seen.horizons[0].expected;
    assert!(
        (factors * usual / expected - 1.0).abs() < 0.1,
        "{factors} {usual} {expected}"
    );
}

#[test]
fn a_renewed_part_lowers_what_lies_ahead_and_its_failure_still_counts() {
    let fit = fit_kind(&kind(), &fleet()).unwrap();
    let year = [Horizon::next(2024.0, 1.0)];
    let plain = unit(2003.0, &[], 0.0);
    let mut renewed = plain.clone();
    renewed.renewals.push(Renewal {
        part: "pump".to_owned(),
        at: 2023.9,
    });
    let (before, after) = (
        forecast(&kind(), &fit, &plain, &year).unwrap(),
        forecast(&kind(), &fit, &renewed, &year).unwrap(),
    );
    assert!(after.horizons[0].parts[0].chance < 0.3 * before.horizons[0].parts[0].chance);
    assert!(after.horizons[0].chance < before.horizons[0].chance);
    // A part that runs with the unit does not restart.
    let mut body = plain.clone();
    body.renewals.push(Renewal {
        part: "body".to_owned(),
        at: 2023.9,
    });
    let same = forecast(&kind(), &fit, &body, &year).unwrap();
    assert!((same.horizons[0].chance - before.horizons[0].chance).abs() < 1e-12);
}

#[test]
fn a_doubtful_installation_lies_between_its_ends_and_narrows_to_the_known_date() {
    for prior in [kind(), one_clock()] {
        let fit = fit_kind(&prior, &fleet()).unwrap();
        let year = [Horizon::next(2024.0, 1.0)];
        let chance = |earliest: f64, latest: f64| {
            let mut history = unit(earliest, &[], 0.0);
            history.installed.latest = latest;
            history.windows[0].from = 2019.0;
            forecast(&prior, &fit, &history, &year).unwrap().horizons[0].chance
        };
        let (old, new, doubt) = (
            chance(2003.0, 2003.0),
            chance(2013.0, 2013.0),
            chance(2003.0, 2013.0),
        );
        assert!(new < doubt && doubt < old);
        assert!((chance(2008.0, 2008.01) - chance(2008.0, 2008.0)).abs() < 1e-4);
    }
}

#[test]
fn a_total_adds_up_and_is_narrower_than_its_parts() {
    let (prior, fleet) = (kind(), fleet());
    let fit = fit_kind(&prior, &fleet).unwrap();
    let year = Horizon::next(2024.0, 1.0);
    let units: Vec<&UnitHistory> = fleet.iter().collect();
    let block = total(
        &[Member {
            prior: &prior,
            fit: &fit,
            units: &units,
        }],
        &year,
    )
    .unwrap();
    let sum: f64 = fleet
        .iter()
        .map(|h| {
            forecast(&prior, &fit, h, std::slice::from_ref(&year))
                .unwrap()
                .horizons[0]
                .expected
        })
        .sum();
    assert!((block.expected - sum).abs() < 1e-6 * sum);
    assert!(block.count80.0 <= block.count50.0 && block.count50.1 <= block.count80.1);
    assert!((block.count80.0 as f64) < sum && sum < block.count80.1 as f64);
}

/// A part that ages fast fails less often when it is put in new: the closed form of a long stretch is an upper figure
/// (FORECAST §6), and clocks that never restart are counted as before.
#[test]
fn over_years_parts_put_in_new_fail_less_often() {
    let fit = fit_kind(&kind(), &fleet()).unwrap();
    let old = unit(2003.0, &[("pump", 2018.0), ("board", 2020.0)], 0.0);
    let whole = |pieces: Vec<(f64, f64, f64)>, prior: &KindPrior| {
        let seen = forecast(prior, &fit, &old, &[Horizon { pieces }]).unwrap();
        seen.horizons[0].clone()
    };
    let simulated = whole(vec![(2024.0, 2030.0, 1.0)], &kind());
    let closed = whole(vec![(2024.0, 2027.0, 1.0), (2027.0, 2030.0, 1.0)], &kind());
    assert!((simulated.chance - closed.chance).abs() < 1e-9);
    assert!(simulated.expected < 0.97 * closed.expected, "{simulated:?}");
    assert!(
        simulated.count80.0 <= simulated.count50.0 && simulated.count50.1 <= simulated.count80.1
    );
    let mut never = kind();
    never
        .parts
        .iter_mut()
        .for_each(|p| p.clock = PartClock::Unit);
    let simulated = whole(vec![(2024.0, 2030.0, 1.0)], &never);
    let closed = whole(vec![(2024.0, 2027.0, 1.0), (2027.0, 2030.0, 1.0)], &never);
    // 1,024 futures: the mean of so many counts is within a tenth.
    assert!(
        (simulated.expected / closed.expected - 1.0).abs() < 0.1,
        "{simulated:?} {closed:?}"
    );
}

#[test]
fn a_stored_fit_comes_back_to_the_bit() {
    let fit = fit_kind(&kind(), &fleet()).unwrap();
    let text = serde_json::to_string(&fit).unwrap();
    let back: KindFit = serde_json::from_str(&text).unwrap();
    assert_eq!(fit, back);
    assert!(forecast(&one_clock(), &fit, &fleet()[0], &[]).is_err());
}

fn any_faults() -> impl Strategy<Value = Vec<(usize, f64)>> {
    prop::collection::vec((0..5usize, 2015.0..2024.0f64), 0..6)
}

const CODES: [&str; 5] = ["pump", "board", "drain", "body", "other"];

fn named(faults: &[(usize, f64)]) -> Vec<(&'static str, f64)> {
    faults.iter().map(|&(i, at)| (CODES[i], at)).collect()
}

static PARTS: LazyLock<(KindPrior, KindFit)> = LazyLock::new(|| fitted(kind()));
static CLOCK: LazyLock<(KindPrior, KindFit)> = LazyLock::new(|| fitted(one_clock()));

fn fitted(prior: KindPrior) -> (KindPrior, KindFit) {
    let fit = fit_kind(&prior, &fleet()).unwrap();
    (prior, fit)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn splitting_a_window_changes_nothing(faults in any_faults(), cut in 2015.1..2023.9f64, installed in 1990.0..2014.0f64) {
        for (prior, fit) in [&*PARTS, &*CLOCK] {
            let whole = unit(installed, &named(&faults), 1.0);
            let mut split = whole.clone();
            split.windows = vec![
                Window { from: 2015.0, until: cut, x: vec![1.0] },
                Window { from: cut, until: 2024.0, x: vec![1.0] },
            ];
            let year = [Horizon::next(2024.0, 1.0)];
            let (a, b) = (
                forecast(prior, fit, &whole, &year).unwrap(),
                forecast(prior, fit, &split, &year).unwrap(),
            );
            prop_assert_eq!(a.n, b.n);
            prop_assert!((a.mu - b.mu).abs() < 1e-9 * a.mu);
            prop_assert!((a.horizons[0].chance - b.horizons[0].chance).abs() < 1e-9);
            let (mut f, mut g) = (fleet(), fleet());
            f.push(whole);
            g.push(split);
            let (f, g) = (fit_kind(prior, &f).unwrap(), fit_kind(prior, &g).unwrap());
            prop_assert!((f.loglik - g.loglik).abs() < 1e-7);
        }
    }

    #[test]
    fn one_more_own_failure_raises_the_forecast(faults in any_faults(), at in 2015.0..2024.0f64) {
        // At fixed clocks: the extra failure renews nothing.
        let (prior, fit) = &*PARTS;
        let before = unit(2008.0, &named(&faults), 0.0);
        let mut after = before.clone();
        after.failures.push(Failure { part: Some("board".to_owned()), at, between: None });
        let year = [Horizon::next(2024.0, 1.0)];
        let (a, b) = (
            forecast(prior, fit, &before, &year).unwrap(),
            forecast(prior, fit, &after, &year).unwrap(),
        );
        prop_assert!(b.z_mean > a.z_mean);
        prop_assert!(b.horizons[0].chance > a.horizons[0].chance);
        prop_assert!(b.horizons[0].chance80.1 > a.horizons[0].chance80.1);
    }

    #[test]
    fn vanishing_theta_meets_the_poisson_process(ages in prop::collection::vec(0.01..30.0f64, 0..8), alpha in -4.0..0.5f64, ln_beta in -0.5..1.0f64) {
        let subjects = [Subject::from(clock_record(&ages, &[(0.0, 30.0, 0.5)]))];
        let mut p = vec![alpha, ln_beta, f64::NEG_INFINITY, 0.1];
        let poisson = log_likelihood(&subjects, &p, 10.0).value;
        p[LN_THETA] = 1e-16_f64.ln();
        let near = log_likelihood(&subjects, &p, 10.0).value;
        prop_assert!((near - poisson).abs() <= 1e-9 * (1.0 + poisson.abs()), "{near} {poisson}");
    }

    #[test]
    fn another_unit_of_time_changes_only_the_constant(ages in prop::collection::vec(0.01..30.0f64, 0..8), scale in 0.1..400.0f64, p in prop::array::uniform4(-0.9..0.9f64)) {
        // t → s·t with t0 → s·t0 and alpha → alpha − ln s: the likelihood moves by −n ln s.
        let record = |s: f64| {
            let mut r = clock_record(&ages, &[(2.0 * s, 30.0 * s, 0.5)]);
            r.sum_ln_age = ages.iter().map(|t| (t * s / (10.0 * s)).ln()).sum();
            [Subject::from(r)]
        };
        let mut moved = p;
        moved[0] -= scale.ln();
        let (a, b) = (
            log_likelihood(&record(1.0), &p, 10.0),
            log_likelihood(&record(scale), &moved, 10.0 * scale),
        );
        prop_assert!((a.value - b.value - ages.len() as f64 * scale.ln()).abs() < 1e-8 * (1.0 + a.value.abs()));
        prop_assert!((a.gradient[GAMMA] - b.gradient[GAMMA]).abs() < 1e-8 * (1.0 + a.gradient[GAMMA].abs()));
    }

    #[test]
    fn no_finite_input_gives_a_number_that_is_not(
        installed in -9000.0..9000.0f64, doubt in 0.0..50.0f64, start in -50.0..50.0f64, length in 0.0..200.0f64,
        faults in prop::collection::vec((0..5usize, 0.0..1.0f64), 0..300), hard in -40.0..40.0f64,
        ahead in 0.0..100.0f64, rate in -5.0..2.9f64, theta in -8.9..3.9f64,
    ) {
        for mut prior in [kind(), one_clock()] {
            prior.rate_10y = 10f64.powf(rate);
            prior.ln_theta.mean = theta;
            let from = installed + start;
            let history = UnitHistory {
                installed: Installed { earliest: installed, latest: installed + doubt },
                windows: vec![Window { from, until: from + length, x: vec![hard] }],
                renewals: faults.iter().map(|f| Renewal { part: CODES[f.0].to_owned(), at: from + f.1 * length }).collect(),
                failures: faults.iter().map(|f| Failure { part: Some(CODES[f.0].to_owned()), at: from + f.1 * length, between: None }).collect(),
                present: vec![hard],
                merged: 0,
                written_off: false,
            };
            let fit = fit_kind(&prior, std::slice::from_ref(&history)).unwrap();
            prop_assert!(fit.parameters.iter().chain(fit.covariance.iter().flatten()).all(|v| v.is_finite()), "{:?}", fit);
            if history.check(1).is_err() {
                continue;
            }
            let seen = forecast(&prior, &fit, &history, &[Horizon::next(from + length, ahead)]).unwrap();
            let year = &seen.horizons[0];
            for v in [seen.mu, seen.z_mean, seen.z_10, seen.z_90, seen.age, year.expected] {
                prop_assert!(v.is_finite() && v >= 0.0, "{:?}", seen);
            }
            for v in [year.chance, year.chance50.0, year.chance50.1, year.chance80.0, year.chance80.1] {
                prop_assert!((0.0..=1.0).contains(&v), "{:?}", seen);
            }
        }
    }
}
