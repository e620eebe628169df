//! M1 over a whole fleet held as columns: the same likelihood as [`crate::record`], without a record a unit.
//!
//! Per window two logarithms are taken once; per step of the optimiser a window costs two exponentials and a unit one
//! ln1p. The sums run over a fixed number of stretches, in order, whatever the number of threads: the answer is the same
//! to the bit. For millions of units; a unit's page is told by [`crate::forecast()`].
use nalgebra::DMatrix;
use numerics::{CountLaw, End, Local, maximise};

use crate::exposure::{Exposure, of_logs, value_of_logs};
use crate::frailty::{CountTable, Posterior};
use crate::history::HALF_DAY;
use crate::prior::{InputError, within};
use crate::record::{ALPHA, GAMMA, LN_BETA, LN_THETA};
use crate::recurrent::bounds;
use crate::verdict::Normal;

/// Stretches of units summed apart.
const STRETCHES: usize = 64;
/// No unit is older than this many years.
const OLDEST: f64 = 1e4;
/// Units of the part a large fleet's fit begins with.
const BEGINNING: usize = 20_000;

/// A fleet. Windows lie one unit after another; ages in years.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    /// First window of each unit, and the number of windows at the end.
    first: Vec<u32>,
    from: Vec<f64>,
    until: Vec<f64>,
    /// ln(from/t0) and ln(until/t0).
    logs: Vec<(f64, f64)>,
    /// One column a covariate, one value a window.
    x: Vec<Vec<f64>>,
    failures: Vec<u32>,
    most: u32,
    /// Σ ln(t/t0) and Σ x over all failures.
    sum_ln_age: f64,
    sum_x: Vec<f64>,
    t0: f64,
}

/// A fit of a fleet.
#[derive(Clone, Debug)]
pub struct ColumnsFit {
    /// alpha, ln β, ln θ, γ….
    pub at: Vec<f64>,
    /// Covariance of the working parameters.
    pub covariance: DMatrix<f64>,
    /// How it ended.
    pub end: End,
}

/// What one unit adds to the derivatives of μ.
#[derive(Clone, Debug)]
struct Slopes {
    first: Vec<f64>,
    second: Vec<f64>,
}

impl Columns {
    /// An empty fleet with this many covariates and reference age.
    pub fn new(covariates: usize, t0: f64) -> Self {
        Self {
            first: vec![0],
            x: vec![Vec::new(); covariates],
            sum_x: vec![0.0; covariates],
            t0,
            ..Self::default()
        }
    }

    /// Adds a unit: windows of its age with their covariates, and the ages of its failures, which lie inside them. A unit
    /// that is refused leaves the fleet as it was.
    ///
    /// # Errors
    /// What cannot be meant, in words.
    pub fn push(
        &mut self,
        windows: &[(f64, f64, &[f64])],
        failures: &[f64],
    ) -> Result<(), InputError> {
        self.check(windows, failures)?;
        for (from, until, x) in windows {
            self.from.push(*from);
            self.until.push(*until);
            let ln = |age: f64| (age / self.t0).ln();
            self.logs.push((ln(*from), ln(*until)));
            self.x.iter_mut().zip(*x).for_each(|(c, v)| c.push(*v));
        }
        for age in failures {
            self.sum_ln_age += (age.max(HALF_DAY) / self.t0).ln();
            let window = windows.iter().find(|w| (w.0..=w.1).contains(age));
            let x = window.map_or(&[][..], |w| w.2);
            self.sum_x.iter_mut().zip(x).for_each(|(s, v)| *s += v);
        }
        self.failures.push(failures.len() as u32);
        self.most = self.most.max(failures.len() as u32);
        self.first.push(self.from.len() as u32);
        Ok(())
    }

    fn check(&self, windows: &[(f64, f64, &[f64])], failures: &[f64]) -> Result<(), InputError> {
        let mut end = f64::NEG_INFINITY;
        for (place, (from, until, x)) in windows.iter().enumerate() {
            within("age at the start of a window", *from, 0.0, OLDEST)?;
            within("age at the end of a window", *until, 0.0, OLDEST)?;
            if until < from || *from < end {
                return Err(InputError::Window(place));
            }
            end = *until;
            if x.len() != self.x.len() {
                return Err(InputError::Covariates {
                    got: x.len(),
                    wanted: self.x.len(),
                });
            }
            for value in *x {
                within("covariate", *value, -50.0, 50.0)?;
            }
        }
        for age in failures {
            if !windows.iter().any(|w| (w.0..=w.1).contains(age)) {
                return Err(InputError::OutOfRange {
                    what: "age at a failure, outside every window,".to_owned(),
                    value: age.to_string(),
                });
            }
        }
        Ok(())
    }

    /// Units.
    pub fn units(&self) -> usize {
        self.failures.len()
    }

    /// Failures.
    pub fn count(&self) -> u64 {
        self.failures.iter().map(|n| u64::from(*n)).sum()
    }

    fn windows_of(&self, unit: usize) -> std::ops::Range<usize> {
        self.first[unit] as usize..self.first[unit + 1] as usize
    }

    fn area(&self, window: usize, beta: f64) -> Exposure {
        let span = (self.from[window], self.until[window]);
        of_logs(span, self.logs[window], beta, self.t0)
    }

    fn rate(&self, window: usize, p: &[f64]) -> f64 {
        let effects = p[GAMMA..].iter().zip(&self.x);
        let shift: f64 = effects.map(|(g, column)| g * column[window]).sum();
        (p[ALPHA] + shift).exp()
    }

    /// μ of a unit with its derivatives in the parameters; `second` is the lower triangle, row by row.
    fn expected(&self, unit: usize, p: &[f64], out: &mut Slopes) -> f64 {
        let (d, beta) = (p.len(), p[LN_BETA].exp());
        out.first.fill(0.0);
        out.second.fill(0.0);
        let mut mu = 0.0;
        for w in self.windows_of(unit) {
            let rate = self.rate(w, p);
            let area = self.area(w, beta);
            let (here, slope) = (rate * area.value, rate * beta * area.slope);
            mu += here;
            out.first[LN_BETA] += slope;
            out.second[LN_BETA * d + LN_BETA] += rate * beta * beta * area.bend + slope;
            for (i, column) in self.x.iter().enumerate() {
                let x = column[w];
                out.first[GAMMA + i] += here * x;
                out.second[(GAMMA + i) * d + LN_BETA] += slope * x;
                for (j, other) in self.x[..=i].iter().enumerate() {
                    out.second[(GAMMA + i) * d + GAMMA + j] += here * x * other[w];
                }
            }
        }
        out.first[ALPHA] = mu;
        for i in 0..d {
            out.second[i * d + ALPHA] = out.first[i];
        }
        mu
    }

    fn stretch(&self, units: std::ops::Range<usize>, p: &[f64], table: &CountTable) -> Local {
        let (d, theta) = (p.len(), p[LN_THETA].exp());
        let mut total = Local::zero(d);
        let mut slopes = Slopes {
            first: vec![0.0; d],
            second: vec![0.0; d * d],
        };
        for unit in units {
            let mu = self.expected(unit, p, &mut slopes);
            let term = table.term(self.failures[unit], mu);
            total.value += term.value;
            total.gradient[LN_THETA] += theta * term.d_theta;
            total.hessian[(LN_THETA, LN_THETA)] +=
                theta * (theta * term.d_theta_theta + term.d_theta);
            for i in (0..d).filter(|&i| i != LN_THETA) {
                let own = slopes.first[i];
                total.gradient[i] += term.d_mu * own;
                total.hessian[(i.max(LN_THETA), i.min(LN_THETA))] += theta * term.d_mu_theta * own;
                for j in (0..=i).filter(|&j| j != LN_THETA) {
                    total.hessian[(i, j)] +=
                        term.d_mu * slopes.second[i * d + j] + term.d_mu_mu * own * slopes.first[j];
                }
            }
        }
        total
    }

    /// Log-likelihood (no prior) with gradient and Hessian, on this many threads.
    pub fn log_likelihood(&self, p: &[f64], threads: usize) -> Local {
        let table = CountTable::new(p[LN_THETA].exp(), self.most);
        let parts = self.in_stretches(threads, |units| self.stretch(units, p, &table));
        let mut total = Local::zero(p.len());
        for part in &parts {
            total.add_scaled(1.0, part);
        }
        let (n, beta) = (self.count() as f64, p[LN_BETA].exp());
        total.value += n * p[ALPHA] + (beta - 1.0) * self.sum_ln_age;
        total.gradient[ALPHA] += n;
        total.gradient[LN_BETA] += beta * self.sum_ln_age;
        total.hessian[(LN_BETA, LN_BETA)] += beta * self.sum_ln_age;
        for (i, sum) in self.sum_x.iter().enumerate() {
            total.value += p[GAMMA + i] * sum;
            total.gradient[GAMMA + i] += sum;
        }
        total.hessian.fill_upper_triangle_with_lower_triangle();
        total
    }

    /// Answers of every stretch of units, in order.
    fn in_stretches<T: Send>(
        &self,
        threads: usize,
        work: impl Fn(std::ops::Range<usize>) -> T + Sync,
    ) -> Vec<T> {
        let size = self.units().div_ceil(STRETCHES).max(1);
        let ranges: Vec<std::ops::Range<usize>> = (0..self.units())
            .step_by(size)
            .map(|start| start..(start + size).min(self.units()))
            .collect();
        if threads < 2 || self.units() < 10_000 {
            return ranges.into_iter().map(work).collect();
        }
        let each = ranges.len().div_ceil(threads);
        std::thread::scope(|scope| {
            let running: Vec<_> = ranges
                .chunks(each)
                .map(|chunk| scope.spawn(|| chunk.iter().cloned().map(&work).collect::<Vec<T>>()))
                .collect();
            running
                .into_iter()
                .flat_map(|thread| match thread.join() {
                    Ok(parts) => parts,
                    Err(cause) => std::panic::resume_unwind(cause),
                })
                .collect()
        })
    }

    /// Its first units.
    fn beginning(&self, units: usize) -> Self {
        let mut part = Self::new(self.x.len(), self.t0);
        let windows = self.first[units] as usize;
        part.first = self.first[..=units].to_vec();
        part.from = self.from[..windows].to_vec();
        part.until = self.until[..windows].to_vec();
        part.logs = self.logs[..windows].to_vec();
        part.x = self.x.iter().map(|c| c[..windows].to_vec()).collect();
        part.failures = self.failures[..units].to_vec();
        part.most = self.most;
        // The sums over failures are kept for the whole: the part takes its share of them.
        let share = part.count() as f64 / self.count().max(1) as f64;
        part.sum_ln_age = share * self.sum_ln_age;
        part.sum_x = self.sum_x.iter().map(|s| share * s).collect();
        part
    }

    /// Fits the fleet: maximum a posteriori with priors in the parameters' order, else maximum likelihood.
    pub fn fit(&self, prior: Option<&[Normal]>, threads: usize) -> ColumnsFit {
        let d = GAMMA + self.x.len();
        let mut start = vec![0.0; d];
        (start[LN_BETA], start[LN_THETA]) = (0.2, 0.5_f64.ln());
        let beta = start[LN_BETA].exp();
        let area: f64 = (0..self.from.len()).map(|w| self.area(w, beta).value).sum();
        if self.count() > 0 && area > 0.0 {
            start[ALPHA] = (self.count() as f64 / area).ln();
        }
        let (free, edges) = (vec![true; d], bounds(self.x.len()));
        let with_prior = |mut local: Local, p: &[f64]| {
            for (i, normal) in prior.unwrap_or(&[]).iter().enumerate() {
                local.add_normal(i, p[i], normal.mean, normal.sd);
            }
            Some(local)
        };
        if self.units() >= 2 * BEGINNING {
            // A part of the fleet is near the answer at a fraction of the price of a step over the whole.
            let part = self.beginning(BEGINNING);
            let near = maximise(&start, &free, &edges, |p| {
                with_prior(part.log_likelihood(p, threads), p)
            });
            if near.end == End::Converged {
                start = near.at;
            }
        }
        let found = maximise(&start, &free, &edges, |p| {
            with_prior(self.log_likelihood(p, threads), p)
        });
        let covariance = found.covariance(&free);
        ColumnsFit {
            covariance: covariance.unwrap_or_else(|| DMatrix::from_element(d, d, f64::NAN)),
            at: found.at,
            end: found.end,
        }
    }

    /// The next `years` of every unit from the end of its last window on, under that window's covariates, with the doubt
    /// of the parameters in it: the mean over 2d points at ±√d of a standard deviation along the factor of the
    /// covariance, exact to second order as the 64 draws of a unit's page are. A fleet worth columns has little doubt
    /// left, and the two differ by its fourth order.
    pub fn ahead(&self, fit: &ColumnsFit, years: f64, threads: usize) -> Vec<Ahead> {
        let points: Vec<Point> = sigma_points(fit, &bounds(self.x.len()))
            .iter()
            .map(|p| Point {
                p: p.clone(),
                beta: p[LN_BETA].exp(),
                theta: p[LN_THETA].exp(),
            })
            .collect();
        let one = |unit: usize| {
            let end = self
                .windows_of(unit)
                .next_back()
                .map_or(0.0, |w| self.until[w]);
            let span = (end, end + years);
            let logs = ((span.0 / self.t0).ln(), (span.1 / self.t0).ln());
            let mut sum = Ahead::default();
            for point in &points {
                let law = self.next(unit, point, span, logs);
                sum.expected += law.mean / points.len() as f64;
                sum.chance += law.at_least_one() / points.len() as f64;
            }
            sum
        };
        let parts = self.in_stretches(threads, |units| units.map(one).collect::<Vec<Ahead>>());
        parts.into_iter().flatten().collect()
    }

    fn next(&self, unit: usize, at: &Point, span: (f64, f64), logs: (f64, f64)) -> CountLaw {
        let (mut mu, mut rate) = (0.0, 0.0);
        for w in self.windows_of(unit) {
            rate = self.rate(w, &at.p);
            let own = (self.from[w], self.until[w]);
            mu += rate * value_of_logs(own, self.logs[w], at.beta, self.t0);
        }
        let posterior = Posterior {
            theta: at.theta,
            n: f64::from(self.failures[unit]),
            mu,
        };
        posterior.next(rate * value_of_logs(span, logs, at.beta, self.t0))
    }
}

/// Parameters with what is taken of them for every unit.
struct Point {
    p: Vec<f64>,
    beta: f64,
    theta: f64,
}

/// The fit ± √d times each column of its covariance's factor, inside the box; the fit alone where there is none.
fn sigma_points(fit: &ColumnsFit, edges: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let Some(factor) = fit.covariance.clone().cholesky() else {
        return vec![fit.at.clone()];
    };
    let (factor, reach) = (factor.l(), (fit.at.len() as f64).sqrt());
    let moved = |column: usize, by: f64| {
        let shifted = fit.at.iter().enumerate();
        shifted
            .map(|(i, v)| (v + by * factor[(i, column)]).clamp(edges[i].0, edges[i].1))
            .collect()
    };
    (0..fit.at.len())
        .flat_map(|column| [moved(column, reach), moved(column, -reach)])
        .collect()
}

/// A unit's time ahead.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ahead {
    /// Expected number of failures.
    pub expected: f64,
    /// Chance of at least one.
    pub chance: f64,
}
