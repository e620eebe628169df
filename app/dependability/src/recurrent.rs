//! M1: fitting the gamma-frailty power-law process with windows, gaps, left truncation and covariates (FORECAST §2).
use nalgebra::DMatrix;
use numerics::{End, Local, Optimum, maximise, profile};

use crate::exposure::exposure;
use crate::frailty::Posterior;
use crate::record::{
    ALPHA, ALPHA_BOX, GAMMA, GAMMA_BOX, LN_BETA, LN_BETA_BOX, LN_THETA, LN_THETA_BOX, Record,
    Subject, dot, log_likelihood,
};
use crate::verdict::Normal;

/// What to fit and from where.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Reference age of the rate.
    pub t0: f64,
    /// Independent normal priors in the order of the parameters; `None` for maximum likelihood.
    pub prior: Option<Vec<Normal>>,
    /// Number of covariates.
    pub covariates: usize,
    /// Whether β is fitted; if not, ln β stays at 0 (every span is fixed).
    pub beta_free: bool,
}

/// A fitted model.
#[derive(Clone, Debug)]
pub struct Fit {
    /// alpha, ln β, ln θ, γ…; ln θ is −∞ where θ is 0.
    pub at: Vec<f64>,
    /// Log-likelihood without the prior.
    pub loglik: f64,
    /// Inverse negative Hessian of the target (zero rows for what was not fitted).
    pub covariance: DMatrix<f64>,
    /// How it ended.
    pub end: End,
}

impl Fit {
    /// Standard error of a working parameter.
    pub fn se(&self, place: usize) -> f64 {
        self.covariance[(place, place)].sqrt()
    }

    /// 1 − (se/prior sd)², clamped to [0, 1]: how much the data say against the prior.
    pub fn data_weight(&self, place: usize, prior: Normal) -> f64 {
        (1.0 - self.covariance[(place, place)] / (prior.sd * prior.sd)).clamp(0.0, 1.0)
    }

    /// Failures expected at z = 1 between two unit ages with covariates x.
    pub fn ahead(&self, ages: (f64, f64), x: &[f64], t0: f64) -> f64 {
        let area = exposure(ages.0, ages.1, self.at[LN_BETA].exp(), t0).value;
        (self.at[ALPHA] + dot(&self.at[GAMMA..], x)).exp() * area
    }

    /// The posterior of z of a record at the fitted parameters.
    pub fn posterior(&self, record: &Record, t0: f64) -> Posterior {
        record.posterior(&self.at, t0)
    }
}

/// Box of every parameter.
pub fn bounds(covariates: usize) -> Vec<(f64, f64)> {
    let mut all = vec![ALPHA_BOX, LN_BETA_BOX, LN_THETA_BOX];
    all.extend(std::iter::repeat_n(GAMMA_BOX, covariates));
    all
}

/// The frailty model: MAP with priors, else maximum likelihood over θ inside its box.
pub fn fit_frailty(subjects: &[Subject], settings: &Settings) -> Fit {
    let start_theta = settings
        .prior
        .as_ref()
        .map_or(0.5_f64.ln(), |p| p[LN_THETA].mean);
    fit_from(subjects, settings, start_theta, true)
}

/// The Poisson process (θ = 0).
pub fn fit_poisson(subjects: &[Subject], settings: &Settings) -> Fit {
    fit_from(subjects, settings, f64::NEG_INFINITY, false)
}

/// ½ Σ [(n − μ)² − n], the score for θ at θ = 0; not above zero at the Poisson optimum means that θ is 0.
pub fn score_theta0(subjects: &[Subject], poisson: &Fit, t0: f64) -> f64 {
    subjects
        .iter()
        .filter_map(|s| s.nodes.first())
        .map(|(_, r)| {
            let n = f64::from(r.failures);
            0.5 * ((n - r.mu(&poisson.at, t0)).powi(2) - n)
        })
        .sum()
}

/// Log-likelihood plus the log priors of the free parameters.
pub(crate) fn posterior_target(
    subjects: &[Subject],
    settings: &Settings,
    free: &[bool],
    p: &[f64],
) -> Local {
    let mut local = log_likelihood(subjects, p, settings.t0);
    if let Some(prior) = &settings.prior {
        for (i, normal) in prior.iter().enumerate().filter(|&(i, _)| free[i]) {
            local.add_normal(i, p[i], normal.mean, normal.sd);
        }
    }
    local
}

/// 95 % profile interval of a working parameter of the frailty model; a side is `None` where the profile never falls
/// far enough inside the box (for θ: the interval reaches 0).
pub fn profile95(
    subjects: &[Subject],
    settings: &Settings,
    fit: &Fit,
    place: usize,
) -> (Option<f64>, Option<f64>) {
    let mut free = vec![true; fit.at.len()];
    free[LN_BETA] = settings.beta_free;
    let best = Optimum {
        at: fit.at.clone(),
        local: posterior_target(subjects, settings, &free, &fit.at),
        end: fit.end.clone(),
    };
    profile::interval(
        &best,
        &free,
        &bounds(settings.covariates),
        place,
        profile::CHI2_95,
        |p| Some(posterior_target(subjects, settings, &free, p)),
    )
}

fn fit_from(subjects: &[Subject], settings: &Settings, ln_theta: f64, theta_free: bool) -> Fit {
    let d = GAMMA + settings.covariates;
    let mut free = vec![true; d];
    free[LN_BETA] = settings.beta_free;
    free[LN_THETA] = theta_free;
    let mut start = vec![0.0; d];
    start[LN_THETA] = ln_theta;
    if settings.beta_free {
        start[LN_BETA] = 0.2;
    }
    let (n, area) = subjects
        .iter()
        .filter_map(|s| s.nodes.first())
        .fold((0.0, 0.0), |(n, a), (_, r)| {
            (n + f64::from(r.failures), a + r.mu(&start, settings.t0))
        });
    start[ALPHA] = if n > 0.0 && area > 0.0 {
        f64::ln(n / area)
    } else {
        settings.prior.as_ref().map_or(0.0, |p| p[ALPHA].mean)
    };
    let target = |p: &[f64]| Some(posterior_target(subjects, settings, &free, p));
    let found = maximise(&start, &free, &bounds(settings.covariates), target);
    let loglik = log_likelihood(subjects, &found.at, settings.t0).value;
    let covariance = found
        .covariance(&free)
        .unwrap_or_else(|| DMatrix::from_element(d, d, f64::NAN));
    let end = if covariance.iter().all(|v| v.is_finite()) {
        found.end
    } else {
        End::Failed("the curvature at the optimum is not usable".to_owned())
    };
    Fit {
        at: found.at,
        loglik,
        covariance,
        end,
    }
}
