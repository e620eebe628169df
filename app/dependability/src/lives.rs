//! Weibull lives: left-truncated, right-, left- and interval-censored, with covariates (FORECAST §5).
//!
//! H(t) = exp(x·c)(t/η)^β. Working parameters: ln η, ln β, c₁ … c_G.
use numerics::special::scaled_upper_gamma;
use numerics::{End, Local, Optimum, maximise, profile};
use statrs::function::gamma::gamma;

use crate::prior::{InputError, within};
use crate::verdict::Normal;

/// No life is watched for longer, in any unit of time.
pub(crate) const LONGEST: f64 = 1e9;
/// Place of ln η.
pub const LN_ETA: usize = 0;
/// Place of ln β.
pub const LN_BETA: usize = 1;
/// Place of the first covariate effect.
pub const EFFECTS: usize = 2;

/// What is known of one life.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Known {
    /// The event came at this age.
    Event(f64),
    /// Still running at this age.
    Running(f64),
    /// The event came between entry and this age.
    Before(f64),
    /// The event came between two ages.
    Between(f64, f64),
}

/// One life, or several alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Life {
    /// Age from which it was watched; 0 from new.
    pub entry: f64,
    /// What is known.
    pub known: Known,
    /// How many alike.
    pub count: f64,
    /// Covariates.
    pub x: Vec<f64>,
}

/// A fitted Weibull law.
#[derive(Clone, Debug)]
pub struct LifeFit {
    optimum: Optimum,
    prior: Vec<Normal>,
    /// Log-likelihood without the prior.
    pub loglik: f64,
    /// How it ended.
    pub end: End,
    covariance: nalgebra::DMatrix<f64>,
}

/// ln H of one age, as a jet; `None` at age 0, where H is 0.
fn ln_hazard_sum(p: &[f64], age: f64, x: &[f64]) -> Option<Local> {
    (age > 0.0).then(|| {
        let distance = Local::constant(p.len(), age.ln()).plus(-1.0, &Local::parameter(p, LN_ETA));
        let mut u = Local::parameter(p, LN_BETA).exp().times(&distance);
        for (i, value) in x.iter().enumerate() {
            u.add_scaled(*value, &Local::parameter(p, EFFECTS + i));
        }
        u
    })
}

fn cumulative(p: &[f64], age: f64, x: &[f64]) -> Local {
    ln_hazard_sum(p, age, x).map_or_else(|| Local::zero(p.len()), |u| u.exp())
}

/// ln(1 − e^(−w)).
fn ln_failed(w: &Local) -> Local {
    let e = w.value.exp_m1();
    w.map((-(-w.value).exp_m1()).ln(), 1.0 / e, -(e + 1.0) / (e * e))
}

fn term(p: &[f64], life: &Life) -> Local {
    let entry = cumulative(p, life.entry, &life.x);
    let h = |age: f64| cumulative(p, age, &life.x);
    match life.known {
        Known::Running(age) => entry.plus(-1.0, &h(age)),
        Known::Event(age) => {
            let own = entry
                .plus(-1.0, &h(age))
                .plus(1.0, &Local::parameter(p, LN_BETA));
            match ln_hazard_sum(p, age, &life.x) {
                Some(u) => own.shifted(-age.ln()).plus(1.0, &u),
                None => Local::constant(p.len(), f64::NAN),
            }
        }
        Known::Before(age) => ln_failed(&h(age).plus(-1.0, &entry)),
        Known::Between(low, high) => {
            let first = h(low);
            let passed = h(high).plus(-1.0, &first);
            entry.plus(-1.0, &first).plus(1.0, &ln_failed(&passed))
        }
    }
}

/// Log-likelihood with gradient and Hessian.
pub fn log_likelihood(lives: &[Life], p: &[f64]) -> Local {
    let mut total = Local::zero(p.len());
    for life in lives {
        total.add_scaled(life.count, &term(p, life));
    }
    total
}

fn bounds(d: usize) -> Vec<(f64, f64)> {
    let mut all = vec![(-30.0, 60.0), (-4.0, 4.0)];
    all.resize(d, (-20.0, 20.0));
    all
}

impl Life {
    /// Refuses what cannot be meant.
    ///
    /// # Errors
    /// In words.
    pub fn check(&self, covariates: usize) -> Result<(), InputError> {
        within("age a life was watched from", self.entry, 0.0, LONGEST)?;
        within("lives alike", self.count, 0.0, 1e12)?;
        let (low, high) = match self.known {
            Known::Event(age) | Known::Running(age) | Known::Before(age) => (self.entry, age),
            Known::Between(low, high) => (low, high),
        };
        within("age a life is known at", low, self.entry, LONGEST)?;
        within("age a life is known at", high, low, LONGEST)?;
        if self.x.len() != covariates {
            return Err(InputError::Covariates {
                got: self.x.len(),
                wanted: covariates,
            });
        }
        self.x
            .iter()
            .try_for_each(|x| within("covariate of a life", *x, -1e6, 1e6))
    }
}

/// A fit that was refused: nothing is found, and why stands in its end.
pub(crate) fn refused(d: usize, why: &InputError) -> LifeFit {
    let end = End::Failed(why.to_string());
    LifeFit {
        optimum: Optimum {
            at: vec![0.0; d],
            local: Local::zero(d),
            end: end.clone(),
        },
        prior: Vec::new(),
        loglik: 0.0,
        end,
        covariance: nalgebra::DMatrix::from_element(d, d, f64::NAN),
    }
}

/// Maximum likelihood without a prior, else the mode of likelihood times prior (normals in the parameters' order). Lives
/// that cannot be meant, and a curvature that is not usable, end it as failed with the reason.
pub fn fit_lives(lives: &[Life], covariates: usize, prior: Option<&[Normal]>) -> LifeFit {
    let d = EFFECTS + covariates;
    if let Some(why) = lives.iter().find_map(|l| l.check(covariates).err()) {
        return refused(d, &why);
    }
    let normals = prior.map(<[Normal]>::to_vec).unwrap_or_default();
    let (mut events, mut time) = (0.0, 0.0);
    for life in lives {
        let (age, hit) = match life.known {
            Known::Event(age) | Known::Before(age) => (age, 1.0),
            Known::Between(low, high) => (f64::midpoint(low, high), 1.0),
            Known::Running(age) => (age, 0.0),
        };
        events += life.count * hit;
        time += life.count * (age - life.entry);
    }
    let mut start = vec![0.0; d];
    start[LN_ETA] = if events > 0.0 && time > 0.0 {
        f64::ln(time / events)
    } else {
        0.0
    };
    if let (0.0, Some(centre)) = (events, normals.first()) {
        start[LN_ETA] = centre.mean;
    }
    let target = |p: &[f64]| Some(with_prior(lives, &normals, p));
    let optimum = maximise(&start, &vec![true; d], &bounds(d), target);
    let covariance = optimum
        .covariance(&vec![true; d])
        .unwrap_or_else(|| nalgebra::DMatrix::from_element(d, d, f64::NAN));
    let loglik = log_likelihood(lives, &optimum.at).value;
    let usable = loglik.is_finite() && covariance.iter().all(|v| v.is_finite());
    let end = match &optimum.end {
        End::Failed(why) => End::Failed(why.clone()),
        _ if !usable => End::Failed("the curvature at the optimum is not usable".to_owned()),
        end => end.clone(),
    };
    LifeFit {
        loglik,
        end,
        prior: normals,
        covariance,
        optimum,
    }
}

fn with_prior(lives: &[Life], normals: &[Normal], p: &[f64]) -> Local {
    let mut local = log_likelihood(lives, p);
    for (i, normal) in normals.iter().enumerate() {
        local.add_normal(i, p[i], normal.mean, normal.sd);
    }
    local
}

impl LifeFit {
    /// The law at x = 0.
    pub fn law(&self) -> Weibull {
        Weibull {
            beta: self.optimum.at[LN_BETA].exp(),
            eta: self.optimum.at[LN_ETA].exp(),
        }
    }

    /// Effects of the covariates on the log hazard.
    pub fn effects(&self) -> &[f64] {
        &self.optimum.at[EFFECTS..]
    }

    /// The law at covariates x: η shrinks by exp(−x·c/β).
    pub fn law_at(&self, x: &[f64]) -> Weibull {
        let base = self.law();
        let shift: f64 = x.iter().zip(self.effects()).map(|(x, c)| x * c).sum();
        Weibull {
            beta: base.beta,
            eta: base.eta * (-shift / base.beta).exp(),
        }
    }

    /// Covariance of two working parameters.
    pub fn covariance(&self, i: usize, j: usize) -> f64 {
        self.covariance[(i, j)]
    }

    /// Standard error of a working parameter.
    pub fn se(&self, place: usize) -> f64 {
        self.covariance[(place, place)].sqrt()
    }

    /// 1 − (se/prior sd)² per parameter; empty without a prior.
    pub fn data_weights(&self) -> Vec<f64> {
        let weight = |(i, n): (usize, &Normal)| {
            (1.0 - self.covariance[(i, i)] / n.sd.powi(2)).clamp(0.0, 1.0)
        };
        self.prior.iter().enumerate().map(weight).collect()
    }

    /// 95 % profile interval of a parameter on the working scale.
    pub fn profile95(&self, lives: &[Life], place: usize) -> (Option<f64>, Option<f64>) {
        if matches!(self.end, End::Failed(_)) {
            return (None, None);
        }
        let d = self.optimum.at.len();
        profile::interval(
            &self.optimum,
            &vec![true; d],
            &bounds(d),
            place,
            profile::CHI2_95,
            |p| Some(with_prior(lives, &self.prior, p)),
        )
    }
}

/// A Weibull law: H(t) = (t/η)^β.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibull {
    /// Shape.
    pub beta: f64,
    /// Scale, the age at which H = 1.
    pub eta: f64,
}

impl Weibull {
    /// H(t).
    pub fn cumulative(&self, age: f64) -> f64 {
        (age / self.eta).powf(self.beta)
    }

    /// Hazard h(t).
    pub fn hazard(&self, age: f64) -> f64 {
        self.beta / self.eta * (age / self.eta).powf(self.beta - 1.0)
    }

    /// H(age + h) − H(age), without loss of digits when h is short.
    pub fn ahead(&self, age: f64, h: f64) -> f64 {
        if age <= 0.0 {
            return self.cumulative(h);
        }
        self.cumulative(age) * (self.beta * (h / age).ln_1p()).exp_m1()
    }

    /// P(survives h more | running at age).
    pub fn survives(&self, age: f64, h: f64) -> f64 {
        (-self.ahead(age, h)).exp()
    }

    /// Age by which the share p has failed.
    pub fn quantile(&self, p: f64) -> f64 {
        self.eta * (-(-p).ln_1p()).powf(1.0 / self.beta)
    }

    /// Mean life η Γ(1 + 1/β).
    pub fn mean(&self) -> f64 {
        self.eta * gamma(1.0 + 1.0 / self.beta)
    }

    /// Mean further life of a unit running at this age: (η/β) e^H Γ(1/β, H).
    pub fn mean_residual(&self, age: f64) -> f64 {
        self.eta / self.beta * scaled_upper_gamma(1.0 / self.beta, self.cumulative(age.max(0.0)))
    }

    /// Median further life of a unit running at this age.
    pub fn median_residual(&self, age: f64) -> f64 {
        self.eta * (self.cumulative(age) + std::f64::consts::LN_2).powf(1.0 / self.beta) - age
    }
}
