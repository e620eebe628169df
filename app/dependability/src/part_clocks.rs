//! M4: part lives of their own and a never-renewed remainder, sharing one frailty (FORECAST §6).
//!
//! Unit hazard z exp(γ·x) Σ_c h_c(clock age): part (β/η)(t/η)^(β−1), remainder exp(alpha)(t/t0)^(β−1).
//! Working parameters: alpha, ln β of the remainder, then ln η and ln β of each part, ln θ, γ₁ … γ_G.
use nalgebra::DMatrix;
use numerics::root::brent;
use numerics::{End, Local, maximise};

use crate::draws::parameter_draws;
use crate::exposure::{Exposure, exposure};
use crate::frailty::{CountTable, Posterior};
use crate::history::{HALF_DAY, UnitHistory};
use crate::predictive::{Element, Predictive, predict};
use crate::record::{LN_BETA_BOX, LN_THETA_BOX};
use crate::verdict::Normal;

/// What the model is of.
#[derive(Clone, Debug, PartialEq)]
pub struct PartModel {
    /// Codes of the parts with clocks of their own; any other failure belongs to the remainder.
    pub parts: Vec<String>,
    /// Number of covariates.
    pub covariates: usize,
    /// Reference age of the remainder's rate.
    pub t0: f64,
    /// Priors in the order of the parameters.
    pub prior: Vec<Normal>,
}

/// One unit: ages its clocks ran through, ages at failure, per clock; the remainder last.
struct Clocks {
    stretches: Vec<Vec<(f64, f64)>>,
    failures: Vec<Vec<f64>>,
    x: Vec<f64>,
}

/// A fitted model.
#[derive(Clone, Debug)]
pub struct PartFit {
    model: PartModel,
    /// Working parameters.
    pub at: Vec<f64>,
    /// Log-likelihood without the prior.
    pub loglik: f64,
    /// Covariance of the working parameters.
    pub covariance: DMatrix<f64>,
    /// How it ended.
    pub end: End,
}

impl PartModel {
    fn theta(&self) -> usize {
        2 + 2 * self.parts.len()
    }

    fn gamma(&self) -> usize {
        self.theta() + 1
    }

    /// Number of parameters.
    pub fn dimension(&self) -> usize {
        self.gamma() + self.covariates
    }

    fn bounds(&self) -> Vec<(f64, f64)> {
        let mut all = vec![(-40.0, 20.0), LN_BETA_BOX];
        for _ in &self.parts {
            all.extend([(-10.0, 30.0), LN_BETA_BOX]);
        }
        all.push(LN_THETA_BOX);
        all.resize(self.dimension(), (-8.0, 8.0));
        all
    }

    /// Clock of a failure: the part's, else the remainder's.
    fn clock_of(&self, part: Option<&str>) -> usize {
        part.and_then(|code| self.parts.iter().position(|p| p == code))
            .unwrap_or(self.parts.len())
    }

    fn codes(&self) -> impl Iterator<Item = Option<&str>> {
        self.parts.iter().map(|p| Some(p.as_str())).chain([None])
    }

    fn clocks(&self, history: &UnitHistory) -> Clocks {
        let installed = history.installed.earliest;
        let span = |code: Option<&str>| {
            let windows = history.windows.iter();
            windows
                .flat_map(|w| history.stretches(code, installed, (w.from, w.until)))
                .collect()
        };
        let mut failures = vec![Vec::new(); self.parts.len() + 1];
        for failure in history.counted() {
            let place = self.clock_of(failure.part.as_deref());
            let code = self.parts.get(place).map(String::as_str);
            let start = history.clock_start(code, installed, failure.at);
            failures[place].push((failure.at - start).max(HALF_DAY));
        }
        Clocks {
            stretches: self.codes().map(span).collect(),
            failures,
            x: history.present.clone(),
        }
    }

    /// ln level of a clock's hazard at t0 and its shape: h = level (t/t0)^(β−1).
    fn law(&self, p: &[f64], place: usize) -> (Local, Local) {
        if place == self.parts.len() {
            return (Local::parameter(p, 0), Local::parameter(p, 1).exp());
        }
        let (ln_eta, ln_beta) = (
            Local::parameter(p, 2 + 2 * place),
            Local::parameter(p, 3 + 2 * place),
        );
        let beta = ln_beta.exp();
        let distance = Local::constant(p.len(), self.t0.ln()).plus(-1.0, &ln_eta);
        let level = ln_beta
            .plus(-1.0, &ln_eta)
            .plus(1.0, &beta.clone().shifted(-1.0).times(&distance));
        (level, beta)
    }

    fn ln_scale(&self, p: &[f64], x: &[f64]) -> Local {
        let mut sum = Local::zero(p.len());
        for (i, value) in x.iter().enumerate() {
            sum.add_scaled(*value, &Local::parameter(p, self.gamma() + i));
        }
        sum
    }

    fn log_likelihood_of(&self, units: &[Clocks], p: &[f64]) -> Local {
        let theta = Local::parameter(p, self.theta()).exp();
        let most = units
            .iter()
            .map(|u| u.failures.iter().map(Vec::len).sum::<usize>())
            .max();
        let table = CountTable::new(theta.value, most.unwrap_or(0) as u32);
        let laws: Vec<(Local, Local)> = (0..=self.parts.len()).map(|c| self.law(p, c)).collect();
        let mut total = Local::zero(p.len());
        for unit in units {
            let scale = self.ln_scale(p, &unit.x);
            let mut mu = Local::zero(p.len());
            let mut n = 0;
            for ((level, beta), (stretches, failures)) in
                laws.iter().zip(unit.stretches.iter().zip(&unit.failures))
            {
                let area = summed(stretches, beta.value, self.t0);
                mu.add_scaled(
                    1.0,
                    &level
                        .exp()
                        .times(&beta.map(area.value, area.slope, area.bend)),
                );
                n += failures.len();
                let ages: f64 = failures.iter().map(|t| (t / self.t0).ln()).sum();
                let count = failures.len() as f64;
                total.add_scaled(count, level);
                total.add_scaled(ages, &beta.clone().shifted(-1.0));
                total.add_scaled(count, &scale);
            }
            let mu = mu.times(&scale.exp());
            total.add_scaled(1.0, &table.term(n as u32, mu.value).jet(&mu, &theta));
        }
        total
    }

    /// Log-likelihood (no prior) with derivatives.
    pub fn log_likelihood(&self, units: &[UnitHistory], p: &[f64]) -> Local {
        let clocks: Vec<Clocks> = units.iter().map(|u| self.clocks(u)).collect();
        self.log_likelihood_of(&clocks, p)
    }

    /// Maximum a posteriori. Histories are taken at their earliest installation and must have been checked.
    pub fn fit(&self, units: &[UnitHistory]) -> PartFit {
        let clocks: Vec<Clocks> = units.iter().map(|u| self.clocks(u)).collect();
        let start: Vec<f64> = self.prior.iter().map(|n| n.mean).collect();
        let free = vec![true; self.dimension()];
        let found = maximise(&start, &free, &self.bounds(), |p| {
            let mut local = self.log_likelihood_of(&clocks, p);
            for (i, normal) in self.prior.iter().enumerate() {
                local.add_normal(i, p[i], normal.mean, normal.sd);
            }
            Some(local)
        });
        let d = self.dimension();
        PartFit {
            loglik: self.log_likelihood_of(&clocks, &found.at).value,
            covariance: found
                .covariance(&free)
                .unwrap_or_else(|| DMatrix::from_element(d, d, f64::NAN)),
            model: self.clone(),
            end: found.end,
            at: found.at,
        }
    }
}

fn summed(stretches: &[(f64, f64)], beta: f64, t0: f64) -> Exposure {
    stretches
        .iter()
        .map(|(a, b)| exposure(*a, *b, beta, t0))
        .fold(Exposure::default(), |sum, e| Exposure {
            value: sum.value + e.value,
            slope: sum.slope + e.slope,
            bend: sum.bend + e.bend,
        })
}

impl PartFit {
    /// Failures expected at z = 1 over stretches of clock age, per clock.
    fn areas(&self, p: &[f64], x: &[f64], stretches: &[Vec<(f64, f64)>]) -> Vec<f64> {
        let scale = self.model.ln_scale(p, x).value.exp();
        let one = |(c, ages): (usize, &Vec<(f64, f64)>)| {
            let (level, beta) = self.model.law(p, c);
            scale * level.value.exp() * summed(ages, beta.value, self.model.t0).value
        };
        stretches.iter().enumerate().map(one).collect()
    }

    fn posterior_at(&self, p: &[f64], clocks: &Clocks) -> Posterior {
        Posterior {
            theta: p[self.model.theta()].exp(),
            n: clocks.failures.iter().map(Vec::len).sum::<usize>() as f64,
            mu: self.areas(p, &clocks.x, &clocks.stretches).iter().sum(),
        }
    }

    /// The unit's z at the fit.
    pub fn posterior(&self, history: &UnitHistory) -> Posterior {
        self.posterior_at(&self.at, &self.model.clocks(history))
    }

    /// Failures expected at z = 1 over the next `years` from the end of the last window, per clock, remainder last.
    pub fn ahead(&self, history: &UnitHistory, years: f64) -> Vec<f64> {
        self.ahead_at(&self.at, history, years)
    }

    fn ahead_at(&self, p: &[f64], history: &UnitHistory, years: f64) -> Vec<f64> {
        let now = history.seen_until();
        let installed = history.installed.earliest;
        let stretches: Vec<Vec<(f64, f64)>> = self
            .model
            .codes()
            .map(|code| {
                let age = now - history.clock_start(code, installed, now.next_up());
                vec![(age, age + years)]
            })
            .collect();
        self.areas(p, &history.present, &stretches)
    }

    /// Time until the chance of at least one failure is a half; `None` beyond a thousand years.
    pub fn years_to_half(&self, history: &UnitHistory) -> Option<f64> {
        let z = self.posterior(history);
        brent(0.0, 1_000.0, |h| {
            z.next(self.ahead(history, h).iter().sum()).at_least_one() - 0.5
        })
    }

    /// The next `years` with the doubt of the parameters in it.
    pub fn predictive(&self, history: &UnitHistory, years: f64) -> Predictive {
        let clocks = self.model.clocks(history);
        let draws = parameter_draws(&self.at, &self.covariance, &self.model.bounds());
        let even = 1.0 / draws.len() as f64;
        let elements: Vec<Element> = draws
            .iter()
            .map(|p| Element {
                weight: even,
                posterior: self.posterior_at(p, &clocks),
                usual: self.posterior_at(p, &clocks).mu,
                ahead: self.ahead_at(p, history, years).iter().sum(),
            })
            .collect();
        predict(&elements)
    }
}
