//! Where units that fail more are written off sooner (α_T = 1), what became of a unit bears on the forecast of its failures
//! too (FORECAST §0 point 4, §5).
use dependability::kind_life::{Ended, LifeEnd, fit_life};
use dependability::rolling::{Trial, known_at, roll};
use dependability::{
    Failure, Horizon, Housed, Installed, KindPrior, SoonerLaw, Standing, UnitHistory, Window,
    fit_kind, fit_kind_in_buildings, forecast, forecast_standing,
};
use numerics::special::gamma_quantile;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// True α, β, θ of the failures.
const RATE: f64 = 0.3;
const BETA: f64 = 1.6;
const THETA: f64 = 0.6;
/// True law of being written off at z = 1.
const LAW: SoonerLaw = SoonerLaw {
    eta: 20.0,
    beta: 3.0,
};

fn uniform(rng: &mut ChaCha8Rng) -> f64 {
    (f64::from(rng.next_u32()) + 0.5) / 4_294_967_296.0
}

fn unit(installed: f64, (from, until): (f64, f64), failures: &[f64]) -> UnitHistory {
    UnitHistory {
        installed: Installed {
            earliest: installed,
            latest: installed,
        },
        windows: vec![Window {
            from,
            until,
            x: Vec::new(),
        }],
        renewals: Vec::new(),
        failures: failures
            .iter()
            .map(|at| Failure {
                part: None,
                at: *at,
                between: None,
            })
            .collect(),
        present: Vec::new(),
        merged: 0,
        written_off: false,
    }
}

/// Units put in over the 25 years before the register opened at 0, of which it saw those still there, for five years.
fn fleet(rng: &mut ChaCha8Rng, units: usize) -> Vec<UnitHistory> {
    let mut found = Vec::new();
    while found.len() < units {
        let age = 25.0 * uniform(rng);
        let z = THETA * gamma_quantile(1.0 / THETA, uniform(rng));
        let life = LAW.eta * (-uniform(rng).ln() / z).powf(1.0 / LAW.beta);
        if life <= age {
            continue;
        }
        let until = (life - age).min(5.0);
        let mut failures = Vec::new();
        // Λ(t) = z r (10/β) (t/10)^β, inverted at the sums of unit exponentials.
        let mut spent = z * RATE * 10.0 / BETA * (age / 10.0).powf(BETA);
        loop {
            spent -= uniform(rng).ln();
            let at = 10.0 * (spent * BETA / (10.0 * z * RATE)).powf(1.0 / BETA) - age;
            if at > until {
                break;
            }
            failures.push(at);
        }
        found.push(UnitHistory {
            written_off: life - age < 5.0,
            ..unit(-age, (0.0, until), &failures)
        });
    }
    found
}

fn prior(sooner: Option<SoonerLaw>) -> KindPrior {
    KindPrior {
        sooner,
        ..KindPrior::around(RATE, 0.7, Vec::new())
    }
}

/// z has the mean (1 + θ (n + d))/(1 + θ (μ + H_T(b))), worked here from its parts; μ as shown is that of the failures alone.
#[test]
fn what_became_of_a_unit_is_in_its_z_once() {
    let at = |history: &UnitHistory, sooner: Option<SoonerLaw>| {
        let prior = prior(sooner);
        let fit = fit_kind(&prior, &[]).unwrap();
        forecast(&prior, &fit, history, &[Horizon::next(13.0, 1.0)]).unwrap()
    };
    // Without a record the fit is its priors: rate 0.3, β 1.4, θ 0.5 (FORECAST §3).
    let (beta, theta) = (1.4_f64, 0.5);
    let mu = RATE * 10.0 / beta * (1.3_f64.powf(beta) - 0.8_f64.powf(beta));
    let spent = (13.0 / LAW.eta).powf(LAW.beta);
    let stands = unit(0.0, (8.0, 13.0), &[9.0, 12.0]);
    let gone = UnitHistory {
        written_off: true,
        ..stands.clone()
    };
    for (history, law, n, left) in [
        (&stands, None, 2.0, 0.0),
        (&stands, Some(LAW), 2.0, spent),
        (&gone, None, 2.0, 0.0),
        (&gone, Some(LAW), 3.0, spent),
    ] {
        let told = at(history, law);
        let z = (1.0 + theta * n) / (1.0 + theta * (mu + left));
        assert!((told.z_mean - z).abs() < 1e-9, "{} and {z}", told.z_mean);
        assert!((told.mu - mu).abs() < 1e-9 && told.n == 2);
    }
    // A gap in the record between its first window and its last: it stood all the while.
    let mut gap = stands.clone();
    gap.windows[0].until = 9.5;
    gap.windows.push(Window {
        from: 11.0,
        until: 13.0,
        x: Vec::new(),
    });
    let seen = mu - RATE * 10.0 / beta * (1.1_f64.powf(beta) - 0.95_f64.powf(beta));
    let z = (1.0 + theta * 2.0) / (1.0 + theta * (seen + spent));
    assert!((at(&gap, Some(LAW)).z_mean - z).abs() < 1e-9);
    // Never watched: nothing is known of it, and nothing said.
    let unseen = UnitHistory {
        windows: Vec::new(),
        ..stands
    };
    assert!((at(&unseen, Some(LAW)).z_mean - 1.0).abs() < 1e-9);
}

/// The same by code of its own in R 4 (`optim` on FORECAST §5's likelihood with the priors of §3, 40 fleets of 400 units drawn
/// by the law above): β 1.57 and rate 0.299 with the law, 1.32 and 0.252 without; standard deviation of one fleet's β 0.09
/// and 0.08, of its rate 0.02.
#[test]
fn survivors_are_not_taken_for_all() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let fleets = 8;
    let mean = |sums: f64| sums / f64::from(fleets);
    let (mut with, mut without) = ((0.0, 0.0), (0.0, 0.0));
    for _ in 0..fleets {
        let seen = fleet(&mut rng, 400);
        for (law, sums) in [(Some(LAW), &mut with), (None, &mut without)] {
            let fit = fit_kind(&prior(law), &seen).unwrap();
            sums.0 += fit.parameters[1].exp();
            sums.1 += fit.rate_10y();
        }
    }
    // Four standard errors of the mean of eight.
    assert!((mean(with.0) - 1.57).abs() < 0.13, "{}", mean(with.0));
    assert!((mean(with.1) - 0.299).abs() < 0.03, "{}", mean(with.1));
    assert!((mean(without.0) - 1.32).abs() < 0.12, "{}", mean(without.0));
    assert!((mean(without.1) - 0.252).abs() < 0.027);
}

fn ended(seen: &[UnitHistory]) -> Vec<Ended<'_>> {
    seen.iter()
        .map(|history| Ended {
            history,
            end: if history.written_off {
                LifeEnd::WrittenOff
            } else {
                LifeEnd::Serving
            },
        })
        .collect()
}

/// Half of all are gone where (1 + θ H)^(−1/θ) is a half.
fn median() -> f64 {
    let half = (2.0_f64.powf(THETA) - 1.0) / THETA;
    LAW.eta * half.powf(1.0 / LAW.beta)
}

/// The law is taken from the record where the record chose it (FORECAST §0 point 4: with 40 write-offs of 100 units the
/// right model is chosen in 96 to 100 of 100 fleets; here are about 90 of 400), and nowhere else.
#[test]
fn the_law_comes_from_the_record() {
    let seen = fleet(&mut ChaCha8Rng::seed_from_u64(11), 400);
    let ended = ended(&seen);
    let median = median();
    let life = fit_life(median, LAW.beta, &ended).unwrap();
    assert_eq!(life.bad_go_sooner, Some(true));
    let law = life.sooner().unwrap();
    assert!((16.0..25.0).contains(&law.eta), "{}", law.eta);
    assert!((2.2..4.0).contains(&law.beta), "{}", law.beta);
    let none = fit_life(median, LAW.beta, &ended[..5]).unwrap();
    assert_eq!(none.sooner(), None);
}

/// A trial on the past judges what would have been said then: the law is asked of what was on record at each origin, and goes
/// into fit and forecast as at night. Without a stated life it is not asked, and the survivors' forecasts lie elsewhere.
#[test]
fn a_trial_on_the_past_says_what_would_have_been_said() {
    let (seen, origin) = (fleet(&mut ChaCha8Rng::seed_from_u64(11), 400), 4.0);
    let plain = prior(None);
    let housed: Vec<Housed<'_>> = seen
        .iter()
        .map(|history| Housed {
            history,
            building: "here",
        })
        .collect();
    let rolled = |life| {
        let trial = Trial {
            prior: &plain,
            life,
            years: 1.0,
        };
        roll(&trial, &housed, &[origin]).unwrap()
    };
    let with = rolled(Some((median(), LAW.beta)));

    let known: Vec<UnitHistory> = seen.iter().map(|h| known_at(h, origin)).collect();
    let life = fit_life(median(), LAW.beta, &ended(&known)).unwrap();
    let knowing = prior(life.sooner());
    assert!(knowing.sooner.is_some(), "the record chose the law by then");
    let then: Vec<Housed<'_>> = known
        .iter()
        .map(|history| Housed {
            history,
            building: "here",
        })
        .collect();
    let fit = fit_kind_in_buildings(&knowing, &then).unwrap();
    let all: Vec<&UnitHistory> = known.iter().collect();
    let standing = Standing::of(&knowing, &fit, "here", &all).unwrap();
    for one in &with {
        let unit = (&known[one.unit], &standing);
        let told = forecast_standing(&knowing, &fit, unit, &[Horizon::next(origin, 1.0)]).unwrap();
        let watched = seen[one.unit].windows[0].until.min(origin + 1.0) - origin;
        let (said, meant) = (
            one.scored.ours.law.mean,
            told.horizons[0].expected * watched,
        );
        assert!((said / meant - 1.0).abs() < 1e-9, "{said} and {meant}");
    }
    let sum = |of: &[dependability::rolling::Rolled]| -> f64 {
        of.iter().map(|one| one.scored.ours.law.mean).sum()
    };
    let without = rolled(None);
    assert_eq!(with.len(), without.len());
    // Without the law β and the rate come out lower (above), and a unit's survival says nothing of its z.
    assert!((sum(&with) / sum(&without) - 1.0).abs() > 1e-3);
}

#[test]
fn a_law_that_cannot_be_meant_is_refused() {
    for (eta, beta) in [(0.0, 3.0), (f64::NAN, 3.0), (20.0, 0.0), (20.0, 1e9)] {
        assert!(prior(Some(SoonerLaw { eta, beta })).check().is_err());
    }
}
