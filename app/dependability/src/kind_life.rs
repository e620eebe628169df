//! How long units of a kind stay before they are written off, beside how they fail (model M3, FORECAST §5).
//!
//! A Weibull life around the kind's stated one, by maximum a posteriori, left-truncated at the opening of the register.
//! A removal for another reason is another cause: the life ends there unwritten.
use nalgebra::DMatrix;
use numerics::End;
use serde::{Deserialize, Serialize};

use crate::draws::parameter_draws;
use crate::history::UnitHistory;
use crate::lives::{Known, LN_BETA, LN_ETA, Life, Weibull, fit_lives};
use crate::prior::{InputError, T0, within};
use crate::record::Record;
use crate::verdict::{Normal, Verdict};
use crate::written_off::{Choice, Watched, fit_both};

/// sd of ln β around the stated shape (FORECAST §5, judgement).
const LN_SHAPE_SD: f64 = 0.35;
/// sd of ln η where the table gives one year (FORECAST §5, judgement).
const LN_SCALE_SD: f64 = 0.35;
/// Write-offs from which it is asked whether bad units are written off sooner (FORECAST §0 point 4: about 40 of 100 tell;
/// below this the question is not put, judgement).
pub const LEAST_WRITE_OFFS: usize = 8;
/// Box of the two parameters, as in the fit.
const EDGES: [(f64, f64); 2] = [(-30.0, 60.0), (-4.0, 4.0)];

/// A unit and whether its last window ends with its being written off.
#[derive(Clone, Copy, Debug)]
pub struct Ended<'a> {
    /// Its history.
    pub history: &'a UnitHistory,
    /// Written off at the end of its last window.
    pub written_off: bool,
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
    let watched: Vec<Watched> = units.iter().filter_map(watched).collect();
    let written_off = watched.iter().filter(|w| w.written_off).count();
    let mut answer = KindLife {
        verdict: Verdict::NotEnough { failures: 0 },
        parameters: [prior[0].mean, prior[1].mean],
        covariance: [[LN_SCALE_SD.powi(2), 0.0], [0.0, LN_SHAPE_SD.powi(2)]],
        units: watched.len(),
        written_off,
        data_weight: 0.0,
        bad_go_sooner: None,
    };
    if watched.is_empty() {
        return Ok(answer);
    }
    let lives: Vec<Life> = watched.iter().map(life).collect();
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
        answer.bad_go_sooner = bad_go_sooner(&watched);
    }
    Ok(answer)
}

/// Whether z bears on the write-off too; `None` where the two models are about as likely or one could not be fitted.
fn bad_go_sooner(watched: &[Watched]) -> Option<bool> {
    let both = fit_both(watched, T0);
    let ends = [&both.faults.end, &both.life.end, &both.shared.end];
    let failed = ends.iter().any(|end| matches!(end, End::Failed(_)));
    let (difference, choice) = both.choice();
    if failed || !difference.is_finite() {
        return None;
    }
    match choice {
        Choice::CannotTell => None,
        Choice::Independent => Some(false),
        Choice::Shared => Some(true),
    }
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
        written_off: unit.written_off,
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

fn life(unit: &Watched) -> Life {
    Life {
        entry: unit.entry,
        known: if unit.written_off {
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
