//! How long units of a kind stay before they are written off, beside how they fail (model M3, FORECAST §5).
//!
//! A Weibull life around the kind's stated one, by maximum a posteriori, left-truncated at the opening of the register.
//! A removal for another reason is another cause: the life ends there unwritten.
use nalgebra::DMatrix;
use numerics::End;
use serde::{Deserialize, Serialize};

use crate::causes::{cause_chances, median_in_service};
use crate::draws::parameter_draws;
use crate::history::UnitHistory;
use crate::kind_fit::rows;
use crate::lives::{Known, LN_BETA, LN_ETA, Life, Weibull, fit_lives};
use crate::prior::{InputError, SoonerLaw, T0, within};
use crate::record::Record;
use crate::verdict::{Normal, Verdict};
use crate::written_off::{
    Choice, SHARED_EDGES, Watched, fit_both, fit_shared, shared_law, shared_posterior,
};

/// sd of ln β around the stated shape (FORECAST §5, judgement).
const LN_SHAPE_SD: f64 = 0.35;
/// sd of ln η where the table gives one year (FORECAST §5, judgement).
const LN_SCALE_SD: f64 = 0.35;
/// Write-offs from which it is asked whether bad units are written off sooner (FORECAST §0 point 4: about 40 of 100 tell;
/// below this the question is not put, judgement).
pub const LEAST_WRITE_OFFS: usize = 8;
/// Units taken out while working from which a law of that is fitted (judgement).
pub const LEAST_REMOVALS: usize = 8;
/// sd of ln β and of ln η of that law, centred at no ageing and at the stated life (judgement).
const REMOVAL_SDS: (f64, f64) = (1.0, 0.5);
/// θ at which a stated median is turned into the shared model's scale: the centre of its prior (FORECAST §3).
const USUAL_THETA: f64 = 0.5;
/// Box of the two parameters, as in the fit.
const EDGES: [(f64, f64); 2] = [(-30.0, 60.0), (-4.0, 4.0)];

/// A unit and whether its last window ends with its being written off.
#[derive(Clone, Copy, Debug)]
pub struct Ended<'a> {
    /// Its history.
    pub history: &'a UnitHistory,
    /// How its last window ends.
    pub end: LifeEnd,
}

/// How a unit's stay ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LifeEnd {
    /// It serves still.
    Serving,
    /// Written off.
    WrittenOff,
    /// Taken out while working: another cause, the life ends there unwritten.
    Removed,
}

/// What is known of the lives of a kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KindLife {
    /// How the fit ended; `NotEnough` without a write-off: the stated life is returned.
    pub verdict: Verdict,
    /// ln η, ln β.
    pub parameters: [f64; 2],
    /// Their covariance.
    pub covariance: [[f64; 2]; 2],
    /// Units watched.
    pub units: usize,
    /// Of them written off.
    pub written_off: usize,
    /// Share of the scale that rests on own records, 0 to 1.
    pub data_weight: f64,
    /// Whether units that fail more are written off sooner; `None`: not enough write-offs to tell.
    pub bad_go_sooner: Option<bool>,
    /// The model in which each unit's z bears on its write-off, where the record chose it.
    #[serde(default)]
    pub shared: Option<SharedLife>,
    /// Units taken out while working.
    #[serde(default)]
    pub removed: usize,
    /// The law of being taken out while working, from [`LEAST_REMOVALS`] such units: ln η, ln β.
    #[serde(default)]
    pub removal: Option<[f64; 2]>,
}

/// Failures and write-off with a common z, as fitted: α, ln β, ln θ, ln β_T, ln η_T.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedLife {
    /// Parameters.
    pub parameters: Vec<f64>,
    /// Their covariance.
    pub covariance: Vec<Vec<f64>>,
}

/// How a stretch of time may end for a unit in service, the two causes competing; the three add up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaysOut {
    /// Written off first.
    pub written_off: f64,
    /// Taken out while working first.
    pub removed: f64,
    /// Still in service.
    pub in_service: f64,
    /// Years until half of such units are out, one way or the other; `None` where neither ever ends them.
    pub median_years: Option<f64>,
}

/// What lies ahead of one unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LifeAhead {
    /// Chance of being written off within the horizon, and its 80 % interval over the doubt of the fit.
    pub chance: (f64, f64, f64),
    /// Years until half of such units are written off, and the 80 % interval.
    pub median_years: (f64, f64, f64),
}

/// Fits a kind's life around its stated median and shape.
///
/// # Errors
/// A stated life that cannot be meant.
pub fn fit_life(median: f64, shape: f64, units: &[Ended<'_>]) -> Result<KindLife, InputError> {
    within("stated life", median, 0.1, 1e3)?;
    within("stated shape of the life", shape, 0.05, 20.0)?;
    // η ln(2)^(1/β) is the median.
    let scale = median / std::f64::consts::LN_2.powf(1.0 / shape);
    let prior = [
        Normal {
            mean: scale.ln(),
            sd: LN_SCALE_SD,
        },
        Normal {
            mean: shape.ln(),
            sd: LN_SHAPE_SD,
        },
    ];
    let watched: Vec<(Watched, bool)> = units
        .iter()
        .filter_map(|u| Some((watched(u)?, u.end == LifeEnd::Removed)))
        .collect();
    let written_off = watched.iter().filter(|(w, _)| w.written_off).count();
    let mut answer = KindLife {
        verdict: Verdict::NotEnough { failures: 0 },
        parameters: [prior[0].mean, prior[1].mean],
        covariance: [[LN_SCALE_SD.powi(2), 0.0], [0.0, LN_SHAPE_SD.powi(2)]],
        units: watched.len(),
        written_off,
        data_weight: 0.0,
        bad_go_sooner: None,
        shared: None,
        removed: watched.iter().filter(|w| w.1).count(),
        removal: None,
    };
    if watched.is_empty() {
        return Ok(answer);
    }
    answer.removal = removal(&watched, prior[0].mean);
    let watched: Vec<Watched> = watched.into_iter().map(|(w, _)| w).collect();
    let lives: Vec<Life> = watched.iter().map(|w| life(w, w.written_off)).collect();
    let fit = fit_lives(&lives, 0, Some(&prior));
    let covariance = [
        [
            fit.covariance(LN_ETA, LN_ETA),
            fit.covariance(LN_ETA, LN_BETA),
        ],
        [
            fit.covariance(LN_BETA, LN_ETA),
            fit.covariance(LN_BETA, LN_BETA),
        ],
    ];
    let verdict = Verdict::of(&fit.end, &["life", "shape of the life"]);
    if matches!(fit.end, End::Failed(_)) || covariance.iter().flatten().any(|v| !v.is_finite()) {
        answer.verdict = match verdict {
            Verdict::Failed(why) => Verdict::Failed(why),
            _ => Verdict::Failed("the curvature at the optimum is not usable".to_owned()),
        };
        return Ok(answer);
    }
    if written_off > 0 {
        answer.verdict = verdict;
    }
    let law = fit.law();
    answer.parameters = [law.eta.ln(), law.beta.ln()];
    answer.covariance = covariance;
    answer.data_weight = (1.0 - covariance[0][0] / LN_SCALE_SD.powi(2)).clamp(0.0, 1.0);
    if written_off >= LEAST_WRITE_OFFS {
        let (chosen, start) = bad_go_sooner(&watched);
        answer.bad_go_sooner = chosen;
        if chosen == Some(true) {
            answer.shared = shared(&watched, &start, (median, shape));
        }
    }
    Ok(answer)
}

/// The law of being taken out while working; write-offs end those lives unwritten.
fn removal(watched: &[(Watched, bool)], ln_scale: f64) -> Option<[f64; 2]> {
    let lives: Vec<Life> = watched
        .iter()
        .map(|(w, removed)| life(w, *removed))
        .collect();
    if watched.iter().filter(|(_, removed)| *removed).count() < LEAST_REMOVALS {
        return None;
    }
    let (scale, shape) = REMOVAL_SDS;
    let around = [
        Normal {
            mean: ln_scale,
            sd: scale,
        },
        Normal {
            mean: 0.0,
            sd: shape,
        },
    ];
    let fit = fit_lives(&lives, 0, Some(&around));
    let found = [fit.law().eta.ln(), fit.law().beta.ln()];
    (!matches!(fit.end, End::Failed(_)) && found.iter().all(|v| v.is_finite())).then_some(found)
}

/// The shared model around the stated life; its η is that at z = 1, so the stated median is turned into it at the usual θ:
/// half of all are written off where (1 + θ H)^(−1/θ) is a half. `None` where it could not be fitted: the kind's life alone
/// is said.
fn shared(watched: &[Watched], start: &[f64], (median, shape): (f64, f64)) -> Option<SharedLife> {
    let half = (2.0_f64.powf(USUAL_THETA) - 1.0) / USUAL_THETA;
    let prior = [
        None,
        Some(Normal {
            mean: 1.4_f64.ln(),
            sd: 0.3,
        }),
        Some(Normal {
            mean: USUAL_THETA.ln(),
            sd: 0.8,
        }),
        Some(Normal {
            mean: shape.ln(),
            sd: LN_SHAPE_SD,
        }),
        Some(Normal {
            mean: (median / half.powf(1.0 / shape)).ln(),
            sd: LN_SCALE_SD,
        }),
    ];
    let fit = fit_shared(watched, T0, start, &prior);
    let sound = !matches!(fit.end, End::Failed(_))
        && fit
            .at
            .iter()
            .chain(fit.covariance.iter())
            .all(|v| v.is_finite());
    sound.then(|| SharedLife {
        covariance: rows(&fit.covariance),
        parameters: fit.at,
    })
}

/// Whether z bears on the write-off too, and where the shared model ended; `None` where the two models are about as likely or one could not be fitted.
fn bad_go_sooner(watched: &[Watched]) -> (Option<bool>, Vec<f64>) {
    let both = fit_both(watched, T0);
    let ends = [&both.faults.end, &both.life.end, &both.shared.end];
    let failed = ends.iter().any(|end| matches!(end, End::Failed(_)));
    let (difference, choice) = both.choice();
    let chosen = match choice {
        _ if failed || !difference.is_finite() => None,
        Choice::CannotTell => None,
        Choice::Independent => Some(false),
        Choice::Shared => Some(true),
    };
    (chosen, both.shared.at)
}

/// Ages at the start of the first window and the end of the last; a doubtful installation is taken at its middle.
fn watched(unit: &Ended<'_>) -> Option<Watched> {
    let history = unit.history;
    let installed = f64::midpoint(history.installed.earliest, history.installed.latest);
    let from = history
        .windows
        .iter()
        .map(|w| w.from)
        .fold(f64::INFINITY, f64::min);
    let entry = (from - installed).max(0.0);
    let exit = history.seen_until() - installed;
    (exit.is_finite() && exit > entry + 1e-9).then(|| Watched {
        entry,
        exit,
        written_off: unit.end == LifeEnd::WrittenOff,
        record: without_covariates(history.one_clock(installed)),
    })
}

/// Both models of [`bad_go_sooner`] are fitted without covariates: what differs by make-up counts as frailty in each.
fn without_covariates(mut record: Record) -> Record {
    record.sum_x.clear();
    for window in &mut record.windows {
        window.x.clear();
    }
    record
}

fn life(unit: &Watched, ended: bool) -> Life {
    Life {
        entry: unit.entry,
        known: if ended {
            Known::Event(unit.exit)
        } else {
            Known::Running(unit.exit)
        },
        count: 1.0,
        x: Vec::new(),
    }
}

impl KindLife {
    /// What lies ahead of a unit of this age over `years`, by its kind's life alone.
    pub fn ahead(&self, age: f64, years: f64) -> LifeAhead {
        let covariance = DMatrix::from_fn(2, 2, |i, j| self.covariance[i][j]);
        let laws: Vec<Weibull> = parameter_draws(&self.parameters, &covariance, &EDGES)
            .into_iter()
            .map(|p| law(p[0], p[1]))
            .collect();
        let centre = law(self.parameters[0], self.parameters[1]);
        let age = age.max(0.0);
        let chance = |l: &Weibull| -(-l.ahead(age, years)).exp_m1();
        let mean = laws.iter().map(chance).sum::<f64>() / laws.len() as f64;
        let (low, high) = ends(laws.iter().map(chance).collect());
        let (soon, late) = ends(laws.iter().map(|l| l.median_residual(age)).collect());
        LifeAhead {
            chance: (mean, low, high),
            median_years: (
                centre.median_residual(age).max(0.0),
                soon.max(0.0),
                late.max(0.0),
            ),
        }
    }
}

impl KindLife {
    /// The law by which units that fail more are written off sooner, where the record chose that model: what a unit's
    /// write-off says of its z then belongs into the fit of failures and into their forecast (FORECAST §0 point 4, §5).
    pub fn sooner(&self) -> Option<SoonerLaw> {
        let p = &self.shared.as_ref()?.parameters;
        let law = (p.len() == SHARED_EDGES.len()).then(|| shared_law(p))?;
        let usable = law.eta.is_finite() && (1e-2..=1e6).contains(&law.eta);
        usable.then_some(SoonerLaw {
            eta: law.eta,
            beta: law.beta,
        })
    }

    /// What lies ahead of one unit of this age: where units that fail more are written off sooner, by its own record too,
    /// which must end now; else by its kind's life alone.
    pub fn ahead_of(&self, history: &UnitHistory, age: f64, years: f64) -> LifeAhead {
        let own = self.shared.as_ref().and_then(|shared| {
            let unit = watched(&Ended {
                history,
                end: LifeEnd::Serving,
            })?;
            let unit = Watched {
                exit: age.max(unit.exit),
                ..unit
            };
            Some(shared.ahead(&unit, years))
        });
        own.unwrap_or_else(|| self.ahead(age, years))
    }

    /// Which way out comes first over `years`, at the middle of what is known; `None` below [`LEAST_REMOVALS`] units taken
    /// out while working. The chance of being written off, `alone`, is that of [`Self::ahead_of`], no other cause counted.
    pub fn ways_out(&self, (age, years): (f64, f64), alone: f64) -> Option<WaysOut> {
        let [ln_eta, ln_beta] = self.removal?;
        let (age, own) = (age.max(0.0), law(self.parameters[0], self.parameters[1]));
        // The unit's own chance moves the level of its kind's law, not its shape.
        let wanted = -(-alone.clamp(0.0, 1.0 - 1e-9)).ln_1p();
        let kinds = own.ahead(age, years);
        let level = if kinds > 0.0 {
            (wanted / kinds).clamp(1e-6, 1e6)
        } else {
            1.0
        };
        let written = Weibull {
            eta: own.eta / level.powf(1.0 / own.beta),
            ..own
        };
        let laws = [written, law(ln_eta, ln_beta)];
        let (chances, in_service) = cause_chances(&laws, age, years).ok()?;
        Some(WaysOut {
            written_off: chances[0],
            removed: chances[1],
            in_service,
            median_years: median_in_service(&laws, age),
        })
    }
}

impl SharedLife {
    fn ahead(&self, unit: &Watched, years: f64) -> LifeAhead {
        let d = self.parameters.len();
        let covariance = DMatrix::from_fn(d, d, |i, j| self.covariance[i][j]);
        let draws = parameter_draws(&self.parameters, &covariance, &SHARED_EDGES);
        let chance = |p: &Vec<f64>| {
            let passed = shared_law(p).ahead(unit.exit, years);
            shared_posterior(unit, p, T0).next(passed).at_least_one()
        };
        let half = |p: &Vec<f64>| half_gone(unit, p);
        let mean = draws.iter().map(chance).sum::<f64>() / draws.len() as f64;
        let (low, high) = ends(draws.iter().map(chance).collect());
        let (soon, late) = ends(draws.iter().map(half).collect());
        LifeAhead {
            chance: (mean, low, high),
            median_years: (half(&self.parameters), soon, late),
        }
    }
}

/// Years until half of such units are written off: (1 + θ' ΔH)^(−k) = 1/2 with k = 1/θ + n and θ' = θ/(1 + θ μ), then the
/// age at which H has grown by ΔH.
fn half_gone(unit: &Watched, p: &[f64]) -> f64 {
    let (z, law) = (shared_posterior(unit, p, T0), shared_law(p));
    let inv_size = z.inv_size();
    let passed = if inv_size < 1e-12 {
        std::f64::consts::LN_2 / z.mean()
    } else {
        (inv_size * std::f64::consts::LN_2).exp_m1() / (inv_size * z.mean())
    };
    let until = law.eta * (law.cumulative(unit.exit) + passed).powf(1.0 / law.beta);
    (until - unit.exit).clamp(0.0, 1e4)
}

fn law(ln_eta: f64, ln_beta: f64) -> Weibull {
    Weibull {
        beta: ln_beta.exp(),
        eta: ln_eta.exp(),
    }
}

/// The 10 and 90 % points.
fn ends(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    let at = |q: f64| {
        let place = (q * values.len() as f64) as usize;
        values.get(place).copied().unwrap_or(0.0)
    };
    (at(0.1), at(0.9))
}
