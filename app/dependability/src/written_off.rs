//! M3: faults and write-off together, with or without a common z (FORECAST §5).
//!
//! Shared: z multiplies the write-off hazard too. Working parameters: alpha, ln β, ln θ, ln β_T, ln η_T.
use nalgebra::DMatrix;
use numerics::{End, Local, maximise};

use crate::exposure::exposure;
use crate::frailty::{CountTable, Posterior};
use crate::lives::{self, Known, LONGEST, Life, LifeFit, Weibull, fit_lives};
use crate::prior::{InputError, within};
use crate::record::{ALPHA, LN_BETA, LN_BETA_BOX, LN_THETA, LN_THETA_BOX, Record, Span, Subject};
use crate::recurrent::{Fit, Settings, fit_frailty};
use crate::verdict::Normal;

const LN_BETA_T: usize = 3;
const LN_ETA_T: usize = 4;
/// Below this difference in log-likelihood the data cannot tell whether z is shared (FORECAST §5).
const CANNOT_TELL: f64 = 2.0;
/// Box of the shared model's parameters.
pub(crate) const SHARED_EDGES: [(f64, f64); 5] = [
    (-40.0, 20.0),
    LN_BETA_BOX,
    LN_THETA_BOX,
    (-4.0, 4.0),
    (-30.0, 60.0),
];

/// One unit watched over one window of age.
#[derive(Clone, Debug, PartialEq)]
pub struct Watched {
    /// Age at entry.
    pub entry: f64,
    /// Age at exit.
    pub exit: f64,
    /// Written off at exit.
    pub written_off: bool,
    /// Its faults in the window, one clock.
    pub record: Record,
}

/// Whether z is shared by faults and write-off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// Not enough write-offs to tell: taken as independent.
    CannotTell,
    /// Independent.
    Independent,
    /// Shared.
    Shared,
}

/// The shared model's fit.
#[derive(Clone, Debug)]
pub struct SharedFit {
    /// Working parameters.
    pub at: Vec<f64>,
    /// Log-likelihood.
    pub loglik: f64,
    /// Covariance.
    pub covariance: DMatrix<f64>,
    /// How it ended.
    pub end: End,
}

/// Both fits.
#[derive(Clone, Debug)]
pub struct Both {
    /// Faults when independent.
    pub faults: Fit,
    /// Write-off when independent.
    pub life: LifeFit,
    /// Shared.
    pub shared: SharedFit,
    t0: f64,
}

/// ln of (t/η_T)^β_T as a jet; `None` at age 0.
fn ln_cumulative(p: &[f64], age: f64) -> Option<Local> {
    (age > 0.0).then(|| {
        let distance =
            Local::constant(p.len(), age.ln()).plus(-1.0, &Local::parameter(p, LN_ETA_T));
        Local::parameter(p, LN_BETA_T).exp().times(&distance)
    })
}

fn unit_term(unit: &Watched, p: &[f64], t0: f64, table: &CountTable) -> Local {
    let theta = Local::parameter(p, LN_THETA).exp();
    let cumulative =
        |age: f64| ln_cumulative(p, age).map_or_else(|| Local::zero(p.len()), |u| u.exp());
    let d = u32::from(unit.written_off);
    let mu = unit.record.mu_jet(p, t0).plus(1.0, &cumulative(unit.exit));
    let n = unit.record.failures + d;
    let mut sum = unit
        .record
        .ln_hazards(p, t0)
        .plus(1.0, &table.term(n, mu.value).jet(&mu, &theta));
    let entry = cumulative(unit.entry);
    sum.add_scaled(-1.0, &table.term(0, entry.value).jet(&entry, &theta));
    if let (1, Some(ln_h)) = (d, ln_cumulative(p, unit.exit)) {
        sum.add_scaled(
            1.0,
            &ln_h
                .plus(1.0, &Local::parameter(p, LN_BETA_T))
                .shifted(-unit.exit.ln()),
        );
    }
    sum
}

/// Log-likelihood of the shared model with derivatives.
pub fn shared_log_likelihood(units: &[Watched], p: &[f64], t0: f64) -> Local {
    let most = units
        .iter()
        .map(|u| u.record.failures + 1)
        .max()
        .unwrap_or(1);
    let table = CountTable::new(p[LN_THETA].exp(), most);
    let mut total = Local::zero(p.len());
    for unit in units {
        total.add_scaled(1.0, &unit_term(unit, p, t0, &table));
    }
    total
}

/// The shared model from a start; where a prior is given for a parameter, the mode of likelihood times prior.
pub(crate) fn fit_shared(
    units: &[Watched],
    t0: f64,
    start: &[f64],
    prior: &[Option<Normal>; 5],
) -> SharedFit {
    let free = [true; 5];
    let found = maximise(start, &free, &SHARED_EDGES, |p| {
        let mut local = shared_log_likelihood(units, p, t0);
        for (i, normal) in prior.iter().enumerate() {
            if let Some(normal) = normal {
                local.add_normal(i, p[i], normal.mean, normal.sd);
            }
        }
        Some(local)
    });
    let covariance = found
        .covariance(&free)
        .unwrap_or_else(|| DMatrix::from_element(5, 5, f64::NAN));
    SharedFit {
        loglik: shared_log_likelihood(units, &found.at, t0).value,
        covariance,
        end: found.end,
        at: found.at,
    }
}

impl Watched {
    fn check(&self) -> Result<(), InputError> {
        within("age at entry", self.entry, 0.0, LONGEST)?;
        within("age at exit", self.exit, self.entry, LONGEST)?;
        within("failures", f64::from(self.record.failures), 0.0, 1e6)?;
        within(
            "sum of ln ages at failure",
            self.record.sum_ln_age,
            -1e7,
            1e7,
        )?;
        for (from, until) in &self.record.spans {
            within("first age of a failure", *from, 0.0, LONGEST)?;
            within("last age of a failure", *until, *from, LONGEST)?;
        }
        within("base of a record", self.record.ln_base, -1e7, 1e7)?;
        for window in &self.record.windows {
            if !window.x.is_empty() {
                return Err(InputError::Covariates {
                    got: window.x.len(),
                    wanted: 0,
                });
            }
            match window.span {
                Span::Clock { from, until } => {
                    within("age at the start of a window", from, 0.0, LONGEST)?;
                    within("age at the end of a window", until, from, LONGEST)?;
                }
                Span::Fixed(area) => within("exposure of a window", area, 0.0, 1e9)?,
            }
        }
        Ok(())
    }
}

/// Maximum likelihood of both models. Units that cannot be meant end every fit as failed, with the reason.
pub fn fit_both(units: &[Watched], t0: f64) -> Both {
    let wrong = units.iter().find_map(|u| u.check().err());
    if let Some(why) = wrong.or_else(|| within("reference age", t0, 1e-6, LONGEST).err()) {
        return refused(&why, t0);
    }
    let subjects: Vec<Subject> = units.iter().map(|u| u.record.clone().into()).collect();
    let settings = Settings {
        t0,
        prior: None,
        covariates: 0,
        beta_free: true,
    };
    let faults = fit_frailty(&subjects, &settings);
    let own: Vec<Life> = units
        .iter()
        .map(|u| {
            let known = if u.written_off {
                Known::Event(u.exit)
            } else {
                Known::Running(u.exit)
            };
            Life {
                entry: u.entry,
                known,
                count: 1.0,
                x: Vec::new(),
            }
        })
        .collect();
    let life = fit_lives(&own, 0, None);
    let law = life.law();
    let start = [
        faults.at[ALPHA],
        faults.at[LN_BETA],
        faults.at[LN_THETA],
        law.beta.ln(),
        law.eta.ln(),
    ];
    let shared = fit_shared(units, t0, &start, &[None; 5]);
    Both {
        faults,
        life,
        shared,
        t0,
    }
}

fn refused(why: &InputError, t0: f64) -> Both {
    let end = End::Failed(why.to_string());
    let unknown = |d: usize| DMatrix::from_element(d, d, f64::NAN);
    Both {
        faults: Fit {
            at: vec![0.0; 3],
            loglik: 0.0,
            covariance: unknown(3),
            end: end.clone(),
        },
        life: lives::refused(lives::EFFECTS, why),
        shared: SharedFit {
            at: vec![0.0; 5],
            loglik: 0.0,
            covariance: unknown(5),
            end,
        },
        t0,
    }
}

/// Write-off law at z = 1 under the shared model's parameters.
pub(crate) fn shared_law(p: &[f64]) -> Weibull {
    Weibull {
        beta: p[LN_BETA_T].exp(),
        eta: p[LN_ETA_T].exp(),
    }
}

/// z of a unit under the shared model: its faults and its write-off (or that it is not written off) both speak.
pub(crate) fn shared_posterior(unit: &Watched, p: &[f64], t0: f64) -> Posterior {
    Posterior {
        theta: p[LN_THETA].exp(),
        n: f64::from(unit.record.failures) + f64::from(u8::from(unit.written_off)),
        mu: unit.record.mu(p, t0) + shared_law(p).cumulative(unit.exit),
    }
}

impl SharedFit {
    /// Write-off law at z = 1.
    pub fn law(&self) -> Weibull {
        shared_law(&self.at)
    }

    /// Standard errors of alpha, ln β, ln θ, ln β_T, ln η_T.
    pub fn se(&self) -> Vec<f64> {
        (0..5).map(|i| self.covariance[(i, i)].sqrt()).collect()
    }
}

impl Both {
    /// Log-likelihood of the independent model.
    pub fn independent_loglik(&self) -> f64 {
        self.faults.loglik + self.life.loglik
    }

    /// l_shared − l_independent and what it says.
    pub fn choice(&self) -> (f64, Choice) {
        let difference = self.shared.loglik - self.independent_loglik();
        let choice = match difference {
            d if d.abs() < CANNOT_TELL => Choice::CannotTell,
            d if d < 0.0 => Choice::Independent,
            _ => Choice::Shared,
        };
        (difference, choice)
    }

    /// z of a unit under the chosen model.
    pub fn posterior(&self, unit: &Watched) -> Posterior {
        let own = self.faults.posterior(&unit.record, self.t0);
        if self.choice().1 != Choice::Shared {
            return own;
        }
        shared_posterior(unit, &self.shared.at, self.t0)
    }

    /// Over `horizon` from exit: chance of at least one fault (write-off ignored), chance of being written off.
    pub fn ahead(&self, unit: &Watched, horizon: f64) -> (f64, f64) {
        let shared = self.choice().1 == Choice::Shared;
        let p = if shared {
            &self.shared.at
        } else {
            &self.faults.at
        };
        let area = exposure(unit.exit, unit.exit + horizon, p[LN_BETA].exp(), self.t0).value;
        let z = self.posterior(unit);
        let fault = z.next(p[ALPHA].exp() * area).at_least_one();
        let law = if shared {
            self.shared.law()
        } else {
            self.life.law()
        };
        let written = law.ahead(unit.exit, horizon);
        (
            fault,
            if shared {
                z.next(written).at_least_one()
            } else {
                -(-written).exp_m1()
            },
        )
    }

    /// Standard errors of the independent model: alpha, ln β, ln θ, ln β_T, ln η_T.
    pub fn independent_se(&self) -> Vec<f64> {
        let faults = [ALPHA, LN_BETA, LN_THETA].map(|i| self.faults.se(i));
        let life = [lives::LN_BETA, lives::LN_ETA].map(|i| self.life.se(i));
        [faults.to_vec(), life.to_vec()].concat()
    }
}
