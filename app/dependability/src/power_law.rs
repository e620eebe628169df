//! Closed forms of the power-law process for identical systems, and its fit to counts per interval.
use numerics::special::{chi2_quantile, chi2_two_sided};
use numerics::{Local, maximise};
use statrs::function::gamma::ln_gamma;

use crate::prior::{InputError, within};

/// No time is shorter, and none longer than one over it.
const SHORTEST: f64 = 1e-9;

/// How watching ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Truncation {
    /// At a time fixed beforehand.
    Time,
    /// At the last failure.
    Failure,
}

/// Closed-form answers for K systems watched from 0 to the same end T, N failures, S = Σ ln(T/t).
#[derive(Clone, Debug, PartialEq)]
pub struct PowerLaw {
    /// N.
    pub n: usize,
    /// N/S.
    pub beta_mle: f64,
    /// N/(K T^β).
    pub lambda_mle: f64,
    /// T/(N/K)^(1/β).
    pub eta_mle: f64,
    /// (N−1)/S; (N−2)/S if watching ended at a failure.
    pub beta_unbiased: f64,
    /// N/(K T^β_unbiased).
    pub lambda_from_unbiased: f64,
    /// 95 % interval of β.
    pub beta_ci95: (f64, f64),
    /// β N/(K T).
    pub intensity_end: f64,
    /// K T/(N β_unbiased).
    pub mtbf_unbiased: f64,
    /// Log-likelihood at the MLE, times through ln intensity.
    pub loglik: f64,
    /// Laplace's statistic.
    pub laplace_z: f64,
    /// 2 Σ ln(T/t).
    pub mil_stat: f64,
    /// Its degrees of freedom.
    pub mil_df: usize,
    /// Its two-sided p-value.
    pub mil_p: f64,
    /// Points in the Cramér–von Mises statistic.
    pub cvm_m: usize,
    /// Cramér–von Mises statistic.
    pub cvm_stat: f64,
}

/// Answers for the given failure times (any order, of all systems together).
///
/// # Errors
/// Fewer than 3 failures, no system, times outside (0, end], or all at the end, where β has no finite estimate.
pub fn power_law(
    times: &[f64],
    systems: usize,
    end: f64,
    truncation: Truncation,
) -> Result<PowerLaw, InputError> {
    let mut times = times.to_vec();
    times.sort_by(f64::total_cmp);
    within("failures", times.len() as f64, 3.0, 1e9)?;
    within("systems", systems as f64, 1.0, 1e9)?;
    within("end of watching", end, SHORTEST, 1.0 / SHORTEST)?;
    for time in &times {
        within("time of a failure", *time, SHORTEST, end)?;
    }
    let found = closed(&times, systems, end, truncation);
    found.check().map(|()| found)
}

fn closed(times: &[f64], systems: usize, end: f64, truncation: Truncation) -> PowerLaw {
    let n = times.len();
    let m = if truncation == Truncation::Failure {
        n - 1
    } else {
        n
    };
    let (nf, mf, k) = (n as f64, m as f64, systems as f64);
    let sum: f64 = times[..m].iter().map(|t| (end / t).ln()).sum();
    let beta = nf / sum;
    let unbiased = (mf - 1.0) / sum;
    let lambda = nf / (k * end.powf(beta));
    let df = 2 * m;
    let limit = |q: f64| beta * chi2_quantile(df as f64, q) / (2.0 * nf);
    let ln_intensity: f64 = times
        .iter()
        .map(|t| (lambda * beta).ln() + (beta - 1.0) * t.ln())
        .sum();
    let laplace: f64 = times[..m].iter().map(|t| t - end / 2.0).sum();
    let cvm: f64 = times[..m]
        .iter()
        .enumerate()
        .map(|(i, t)| ((t / end).powf(unbiased) - (2.0 * i as f64 + 1.0) / (2.0 * mf)).powi(2))
        .sum();
    PowerLaw {
        n,
        beta_mle: beta,
        lambda_mle: lambda,
        eta_mle: end / (nf / k).powf(1.0 / beta),
        beta_unbiased: unbiased,
        lambda_from_unbiased: nf / (k * end.powf(unbiased)),
        beta_ci95: (limit(0.025), limit(0.975)),
        intensity_end: beta * nf / (k * end),
        mtbf_unbiased: k * end / (nf * unbiased),
        loglik: ln_intensity - nf,
        laplace_z: laplace / (mf * end * end / 12.0).sqrt(),
        mil_stat: 2.0 * sum,
        mil_df: df,
        mil_p: chi2_two_sided(df as f64, 2.0 * sum),
        cvm_m: m,
        cvm_stat: 1.0 / (12.0 * mf) + cvm,
    }
}

impl PowerLaw {
    /// Times so close to the end, or so far apart, that a figure overflows.
    fn check(&self) -> Result<(), InputError> {
        let figures = [
            ("shape", self.beta_mle),
            ("rate", self.lambda_mle),
            ("scale", self.eta_mle),
            ("shape without bias", self.beta_unbiased),
            ("rate by that shape", self.lambda_from_unbiased),
            ("lower limit of the shape", self.beta_ci95.0),
            ("upper limit of the shape", self.beta_ci95.1),
            ("intensity at the end", self.intensity_end),
            ("mean time between failures", self.mtbf_unbiased),
            ("log-likelihood", self.loglik),
            ("Laplace's statistic", self.laplace_z),
            ("chance of the handbook's statistic", self.mil_p),
            ("Cramér-von Mises statistic", self.cvm_stat),
        ];
        figures
            .iter()
            .try_for_each(|(what, value)| within(what, *value, -f64::MAX, f64::MAX))
    }

    /// The handbook's approximate 80 % limits of the mean time between failures at the end (r = N, z = 1.28155156).
    pub fn mtbf80_limits(&self) -> (f64, f64) {
        let (r, z) = (self.n as f64, 1.281_551_56_f64);
        let low =
            r * (r - 1.0) / (r + z * z / 4.0 + (r * z * z / 2.0 + z.powi(4) / 16.0).sqrt()).powi(2);
        let high = r * (r - 1.0) / (r - z * (r / 2.0).sqrt()).powi(2);
        (self.mtbf_unbiased * low, self.mtbf_unbiased * high)
    }
}

/// A fit of Λ(t) = λ t^β to counts per interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Grouped {
    /// β.
    pub beta: f64,
    /// λ.
    pub lambda: f64,
    /// Σ ln Poisson probabilities.
    pub loglik: f64,
    /// Expected counts.
    pub expected: Vec<f64>,
    /// Σ (n − m)²/m.
    pub chi2: f64,
    /// Intensity at the last end.
    pub intensity_end: f64,
}

/// Maximum likelihood from (start, end, count) intervals; `None` without a usable maximum.
pub fn grouped(intervals: &[(f64, f64, f64)]) -> Option<Grouped> {
    let last = intervals.iter().map(|i| i.1).fold(0.0, f64::max);
    let total: f64 = intervals.iter().map(|i| i.2).sum();
    if total <= 0.0 || last <= 0.0 {
        return None;
    }
    // Working parameters: a = ln λ + β ln(last), ln β; m_i = e^a [(end/last)^β − (start/last)^β].
    let power = |p: &[f64], t: f64| {
        if t <= 0.0 {
            Local::zero(2)
        } else {
            Local::parameter(p, 1).exp().scaled((t / last).ln()).exp()
        }
    };
    let target = |p: &[f64]| {
        let level = Local::parameter(p, 0).exp();
        let mut sum = Local::zero(2);
        for (start, end, count) in intervals {
            let mean = level.times(&power(p, *end).plus(-1.0, &power(p, *start)));
            let m = mean.value;
            sum.add_scaled(
                1.0,
                &mean.map(count * m.ln() - m, count / m - 1.0, -count / (m * m)),
            );
        }
        Some(sum)
    };
    let found = maximise(
        &[total.ln(), 0.0],
        &[true, true],
        &[(-50.0, 50.0), (-3.0, 3.0)],
        target,
    );
    if let numerics::End::Failed(_) = found.end {
        return None;
    }
    let beta = found.at[1].exp();
    let lambda = (found.at[0] - beta * last.ln()).exp();
    let expected: Vec<f64> = intervals
        .iter()
        .map(|(a, b, _)| lambda * (b.powf(beta) - a.powf(beta)))
        .collect();
    let pairs = || intervals.iter().map(|i| i.2).zip(&expected);
    Some(Grouped {
        beta,
        lambda,
        loglik: pairs()
            .map(|(n, m)| n * m.ln() - m - ln_gamma(n + 1.0))
            .sum(),
        chi2: pairs().map(|(n, m)| (n - m).powi(2) / m).sum(),
        intensity_end: lambda * beta * last.powf(beta - 1.0),
        expected,
    })
}
