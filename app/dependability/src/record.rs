//! One unit's record and the likelihood of many (model M1, FORECAST §2).
//!
//! Working parameters, in this order everywhere: alpha (log rate at t0), ln β, ln θ, γ₁ … γ_G.
//! μ_u = Σ_w exp(alpha + γ·x_w) A_w, with A_w a power-law exposure on the unit's age or a fixed sum over part clocks.
use nalgebra::DMatrix;
use numerics::Local;
use numerics::jet::ln_sum_exp;

use crate::exposure::{Exposure, exposure};
use crate::frailty::{CountTable, Posterior, UnitTerm};

/// Place of alpha.
pub const ALPHA: usize = 0;
/// Place of ln β.
pub const LN_BETA: usize = 1;
/// Place of ln θ.
pub const LN_THETA: usize = 2;
/// Place of the first covariate effect.
pub const GAMMA: usize = 3;
/// Box of ln β (FORECAST §2).
pub const LN_BETA_BOX: (f64, f64) = (-2.5, 2.5);
/// Box of ln θ (FORECAST §2).
pub const LN_THETA_BOX: (f64, f64) = (-9.0, 4.0);
pub(crate) const ALPHA_BOX: (f64, f64) = (-40.0, 20.0);
pub(crate) const GAMMA_BOX: (f64, f64) = (-8.0, 8.0);

/// What a window exposes the unit to at alpha = 0, x = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Span {
    /// Unit ages [from, until] on the one power-law clock whose β is fitted.
    Clock {
        /// Age at the window's start.
        from: f64,
        /// Age at its end.
        until: f64,
    },
    /// A base exposure already summed over clocks of known shape.
    Fixed(f64),
}

/// A stretch in which every failure would have been recorded, with constant covariates.
#[derive(Clone, Debug, PartialEq)]
pub struct Exposed {
    /// Exposure.
    pub span: Span,
    /// Covariates, G of them.
    pub x: Vec<f64>,
}

/// What a unit's being written off, or not yet, says of its z, where units that fail more are written off sooner: z
/// multiplies that hazard too (FORECAST §5, α_T = 1). All noughts where it does not.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Leaving {
    /// H_T at the first moment it was watched: it had survived until then.
    pub entry: f64,
    /// H_T at the last.
    pub exit: f64,
    /// 1 where it was written off then, else 0.
    pub ended: u32,
}

/// One unit's windows and the sufficient statistics of its failures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Windows; several with gaps are legal.
    pub windows: Vec<Exposed>,
    /// Failures inside the windows.
    pub failures: u32,
    /// Σ ln(t_j/t0) over failures on the fitted clock.
    pub sum_ln_age: f64,
    /// Ages between which failures of no known day fell, on the fitted clock: Σ ln (∫h/(b − a)) in place of Σ ln h.
    pub spans: Vec<(f64, f64)>,
    /// Σ x over failures, G of them (empty counts as zeros).
    pub sum_x: Vec<f64>,
    /// Σ ln h over failures on clocks of known shape, and ln h_T where it was written off.
    pub ln_base: f64,
    /// What its write-off says.
    pub leaving: Leaving,
}

/// A unit whose age may be in doubt: records at quadrature nodes of its installation date, weights summing to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject {
    /// (weight, record); one node of weight 1 where the date is known.
    pub nodes: Vec<(f64, Record)>,
}

impl From<Record> for Subject {
    fn from(record: Record) -> Self {
        Self {
            nodes: vec![(1.0, record)],
        }
    }
}

/// μ with its first and second derivatives in the working parameters.
#[derive(Clone)]
struct Expected {
    mu: f64,
    first: Vec<f64>,
    second: DMatrix<f64>,
    /// Σ ln of the mean intensity over spans, with its first and second derivatives in ln β; alpha does not move it.
    spans: [f64; 3],
}

impl Expected {
    fn new(d: usize) -> Self {
        Self {
            mu: 0.0,
            first: vec![0.0; d],
            second: DMatrix::zeros(d, d),
            spans: [0.0; 3],
        }
    }

    /// What it is once alpha has grown by ln `factor`: alpha multiplies all of it.
    fn grown(&self, factor: f64, out: &mut Self) {
        out.mu = factor * self.mu;
        out.spans = self.spans;
        let first = out.first.iter_mut().zip(&self.first);
        first.for_each(|(to, from)| *to = factor * from);
        let second = out.second.iter_mut().zip(self.second.iter());
        second.for_each(|(to, from)| *to = factor * from);
    }
}

impl Record {
    /// Failures expected at z = 1.
    pub fn mu(&self, p: &[f64], t0: f64) -> f64 {
        let beta = p[LN_BETA].exp();
        self.windows
            .iter()
            .map(|w| (p[ALPHA] + dot(&p[GAMMA..], &w.x)).exp() * base(w.span, beta, t0).value)
            .sum()
    }

    /// z given the record: Gamma(1/θ + n + d, 1/θ + μ + H_T(exit)), the survivors at entry being
    /// Gamma(1/θ, 1/θ + H_T(entry)); without a law of leaving d and H_T are 0 (FORECAST §2, §5).
    pub fn posterior(&self, p: &[f64], t0: f64) -> Posterior {
        Posterior {
            theta: theta_of(p),
            n: f64::from(self.counted()),
            mu: self.mu(p, t0) + self.leaving.exit,
        }
    }

    /// n + d: failures, and the write-off where it bears on z.
    pub(crate) fn counted(&self) -> u32 {
        self.failures + self.leaving.ended
    }

    /// The unit's term of the likelihood where `mu` failures were expected: φ(n + d, μ + H_T(exit)) − φ(0, H_T(entry)), with
    /// φ of `frailty`; without a law of leaving φ(n, μ).
    pub(crate) fn term(&self, table: &CountTable, mu: f64) -> UnitTerm {
        let mut term = table.term(self.counted(), mu + self.leaving.exit);
        if self.leaving.entry > 0.0 {
            // Of what holds for survivors at entry only θ is a parameter: H_T is taken as known.
            let survived = table.term(0, self.leaving.entry);
            term.value -= survived.value;
            term.d_theta -= survived.d_theta;
            term.d_theta_theta -= survived.d_theta_theta;
        }
        term
    }

    /// μ with its derivatives; parameters after the covariates' effects (such as ln τ) do not move it.
    pub(crate) fn mu_jet(&self, p: &[f64], t0: f64) -> Local {
        let mut work = Expected::new(p.len());
        self.expected(p, t0, &mut work);
        let mut jet = Local {
            value: work.mu,
            gradient: work.first.into(),
            hessian: work.second,
        };
        jet.hessian.fill_upper_triangle_with_lower_triangle();
        jet
    }

    /// Σ ln h at z = 1 over the unit's failures, with its derivatives.
    pub(crate) fn ln_hazards(&self, p: &[f64], t0: f64) -> Local {
        let n = f64::from(self.failures);
        let mut sum = Local::parameter(p, LN_BETA)
            .exp()
            .shifted(-1.0)
            .scaled(self.sum_ln_age);
        sum.add_scaled(n, &Local::parameter(p, ALPHA));
        for (i, x) in self.sum_x.iter().enumerate() {
            sum.add_scaled(*x, &Local::parameter(p, GAMMA + i));
        }
        let [value, first, second] = self.ln_spans(p[LN_BETA].exp(), t0);
        sum.value += value;
        sum.gradient[LN_BETA] += first;
        sum.hessian[(LN_BETA, LN_BETA)] += second;
        sum.shifted(self.ln_base)
    }

    /// Σ ln (A(a, b)/(b − a)) over the spans, A = ∫h, with its derivatives in ln β: with A′ and A″ those of A in β,
    /// β A′/A and β² (A″/A − (A′/A)²) + β A′/A.
    pub(crate) fn ln_spans(&self, beta: f64, t0: f64) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for (from, until) in &self.spans {
            let area = exposure(*from, *until, beta, t0);
            let value = area.value.max(f64::MIN_POSITIVE);
            let slope = beta * area.slope / value;
            sum[0] += (value / (until - from)).ln();
            sum[1] += slope;
            sum[2] += beta * beta * area.bend / value - slope * slope + slope;
        }
        sum
    }

    fn expected(&self, p: &[f64], t0: f64, out: &mut Expected) {
        let beta = p[LN_BETA].exp();
        out.spans = self.ln_spans(beta, t0);
        out.mu = 0.0;
        out.first.fill(0.0);
        out.second.fill(0.0);
        for window in &self.windows {
            let rate = (p[ALPHA] + dot(&p[GAMMA..], &window.x)).exp();
            let area = base(window.span, beta, t0);
            let mu = rate * area.value;
            let slope = rate * beta * area.slope;
            out.mu += mu;
            out.first[LN_BETA] += slope;
            out.second[(LN_BETA, LN_BETA)] += rate * beta * beta * area.bend + slope;
            for (i, x) in window.x.iter().enumerate() {
                out.first[GAMMA + i] += mu * x;
                out.second[(GAMMA + i, LN_BETA)] += slope * x;
                let row = window.x[..=i].iter().enumerate();
                row.for_each(|(j, y)| out.second[(GAMMA + i, GAMMA + j)] += mu * x * y);
            }
        }
        out.first[ALPHA] = out.mu;
        // alpha multiplies all: its second derivatives are the first ones.
        for i in 0..out.first.len() {
            out.second[(i, ALPHA)] = out.first[i];
        }
    }

    fn add(&self, p: &[f64], t0: f64, table: &CountTable, work: &mut Expected, total: &mut Local) {
        self.expected(p, t0, work);
        self.add_known(p, table, work, total);
    }

    fn add_known(&self, p: &[f64], table: &CountTable, work: &Expected, total: &mut Local) {
        let (beta, theta) = (p[LN_BETA].exp(), theta_of(p));
        let term = self.term(table, work.mu);
        let gamma = &p[GAMMA..];
        total.value += f64::from(self.failures) * p[ALPHA]
            + (beta - 1.0) * self.sum_ln_age
            + dot(gamma, &self.sum_x)
            + self.ln_base
            + work.spans[0]
            + term.value;
        total.gradient[ALPHA] += f64::from(self.failures);
        total.gradient[LN_BETA] += beta * self.sum_ln_age + work.spans[1];
        total.hessian[(LN_BETA, LN_BETA)] += beta * self.sum_ln_age + work.spans[2];
        for (i, x) in self.sum_x.iter().enumerate() {
            total.gradient[GAMMA + i] += x;
        }
        total.gradient[LN_THETA] += theta * term.d_theta;
        total.hessian[(LN_THETA, LN_THETA)] += theta * (theta * term.d_theta_theta + term.d_theta);
        for i in 0..p.len() {
            if i == LN_THETA {
                continue;
            }
            total.gradient[i] += term.d_mu * work.first[i];
            let cross = theta * term.d_mu_theta * work.first[i];
            total.hessian[(i.max(LN_THETA), i.min(LN_THETA))] += cross;
            for j in (0..=i).filter(|&j| j != LN_THETA) {
                let both =
                    term.d_mu * work.second[(i, j)] + term.d_mu_mu * work.first[i] * work.first[j];
                // Lower triangle only; `log_likelihood` mirrors it.
                total.hessian[(i, j)] += both;
            }
        }
    }
}

/// θ of a parameter vector; minus infinity on the working scale is θ = 0, the Poisson process.
pub fn theta_of(p: &[f64]) -> f64 {
    p[LN_THETA].exp()
}

fn base(span: Span, beta: f64, t0: f64) -> Exposure {
    match span {
        Span::Clock { from, until } => exposure(from, until, beta, t0),
        Span::Fixed(value) => Exposure {
            value,
            slope: 0.0,
            bend: 0.0,
        },
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Log-likelihood (no prior) with gradient and Hessian in the working parameters.
pub fn log_likelihood(subjects: &[Subject], p: &[f64], t0: f64) -> Local {
    let most = subjects
        .iter()
        .flat_map(|s| &s.nodes)
        .map(|(_, r)| r.counted())
        .max()
        .unwrap_or(0);
    let table = CountTable::new(theta_of(p), most);
    let d = p.len();
    let mut work = Expected::new(d);
    let mut total = Local::zero(d);
    for subject in subjects {
        if let [(_, record)] = subject.nodes.as_slice() {
            record.add(p, t0, &table, &mut work, &mut total);
        } else {
            add_mixture(subject, p, t0, &table, &mut work, &mut total);
        }
    }
    total.hessian.fill_upper_triangle_with_lower_triangle();
    total
}

/// ln Σ w_i exp(l_i) over the nodes of a doubtful date.
fn add_mixture(
    s: &Subject,
    p: &[f64],
    t0: f64,
    table: &CountTable,
    work: &mut Expected,
    total: &mut Local,
) {
    let terms: Vec<Local> = s
        .nodes
        .iter()
        .map(|(weight, record)| {
            let mut local = Local::zero(p.len());
            record.add(p, t0, table, work, &mut local);
            local.hessian.fill_upper_triangle_with_lower_triangle();
            local.shifted(weight.ln())
        })
        .collect();
    total.add_scaled(1.0, &ln_sum_exp(&terms).0);
}

/// Subjects at parameters of which alpha alone is moved: what the windows expect of them is reckoned once.
pub(crate) struct AlphaMoved<'a> {
    subjects: &'a [Subject],
    p: &'a [f64],
    expected: Vec<Vec<Expected>>,
    table: CountTable,
}

impl<'a> AlphaMoved<'a> {
    pub fn new(subjects: &'a [Subject], p: &'a [f64], t0: f64) -> Self {
        let records = || subjects.iter().flat_map(|s| &s.nodes).map(|(_, r)| r);
        let most = records().map(Record::counted).max().unwrap_or(0);
        let at = |record: &Record| {
            let mut own = Expected::new(p.len());
            record.expected(p, t0, &mut own);
            own
        };
        Self {
            expected: subjects
                .iter()
                .map(|s| s.nodes.iter().map(|(_, r)| at(r)).collect())
                .collect(),
            table: CountTable::new(theta_of(p), most),
            subjects,
            p,
        }
    }

    /// [`log_likelihood`] with alpha moved by `e`.
    pub fn log_likelihood(&self, e: f64) -> Local {
        let (d, factor) = (self.p.len(), e.exp());
        let mut p = self.p.to_vec();
        p[ALPHA] += e;
        let mut work = Expected::new(d);
        let mut total = Local::zero(d);
        for (subject, expected) in self.subjects.iter().zip(&self.expected) {
            let mut add = |(record, own): (&Record, &Expected), to: &mut Local| {
                own.grown(factor, &mut work);
                record.add_known(&p, &self.table, &work, to);
            };
            if let ([(_, record)], [own]) = (subject.nodes.as_slice(), expected.as_slice()) {
                add((record, own), &mut total);
                continue;
            }
            let nodes = subject.nodes.iter().zip(expected);
            let terms: Vec<Local> = nodes
                .map(|((weight, record), own)| {
                    let mut local = Local::zero(d);
                    add((record, own), &mut local);
                    local.hessian.fill_upper_triangle_with_lower_triangle();
                    local.shifted(weight.ln())
                })
                .collect();
            total.add_scaled(1.0, &ln_sum_exp(&terms).0);
        }
        total.hessian.fill_upper_triangle_with_lower_triangle();
        total
    }
}

/// Posterior weights of a subject's nodes at the parameters.
pub fn node_weights(subject: &Subject, p: &[f64], t0: f64) -> Vec<f64> {
    if subject.nodes.len() == 1 {
        return vec![1.0];
    }
    let most = subject
        .nodes
        .iter()
        .map(|(_, r)| r.counted())
        .max()
        .unwrap_or(0);
    let table = CountTable::new(theta_of(p), most);
    let beta = p[LN_BETA].exp();
    let values: Vec<f64> = subject
        .nodes
        .iter()
        .map(|(_, r)| {
            r.term(&table, r.mu(p, t0)).value
                + (beta - 1.0) * r.sum_ln_age
                + r.ln_spans(beta, t0)[0]
                + r.ln_base
        })
        .collect();
    let top = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = subject
        .nodes
        .iter()
        .zip(&values)
        .map(|((w, _), v)| w * (v - top).exp())
        .collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|w| w / sum).collect()
}
