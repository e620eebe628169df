//! Imperfect repair: virtual age after Kijima. An analyst's view for a unit with a full life history (FORECAST §6).
//!
//! V after the i-th repair: I: V + q X_i; II: q (V + X_i). Gap density h(V+X) exp(−(H(V+X) − H(V))), H = (t/η)^β.
use numerics::{End, Local, Optimum, maximise};

/// How a repair takes age off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Repair {
    /// Only from the age gained since the last repair (Kijima I).
    LastGap,
    /// From the whole age (Kijima II).
    WholeAge,
}

/// Maximum-likelihood answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VirtualAge {
    /// Shape.
    pub beta: f64,
    /// Scale.
    pub eta: f64,
    /// Share of age that a repair leaves.
    pub q: f64,
    /// Log-likelihood.
    pub loglik: f64,
}

/// Least q: at 0 the age after a repair is exactly 0, where its logarithm has no slope.
const LEAST_Q: f64 = 1e-9;

/// (gaps between repairs, last gap without one) of a system.
pub type Gaps = (Vec<f64>, f64);

fn system(p: &[f64], gaps: &Gaps, repair: Repair) -> Local {
    let (ln_beta, ln_eta, q) = (
        Local::parameter(p, 0),
        Local::parameter(p, 1),
        Local::parameter(p, 2),
    );
    let beta = ln_beta.exp();
    let mut age: Option<Local> = None;
    let mut total = Local::zero(p.len());
    for (i, gap) in gaps.0.iter().chain([&gaps.1]).enumerate() {
        let censored = i == gaps.0.len();
        let ln_after = match &age {
            None => Local::constant(p.len(), gap.ln()),
            Some(v) => {
                let sum = v.value + gap;
                v.map(sum.ln(), 1.0 / sum, -1.0 / (sum * sum))
            }
        };
        let after = beta.times(&ln_after.clone().plus(-1.0, &ln_eta));
        total.add_scaled(-1.0, &spent(&beta, age.as_ref(), *gap, &ln_eta, &after));
        if !censored {
            total.add_scaled(1.0, &after.plus(1.0, &ln_beta).plus(-1.0, &ln_after));
        }
        let before = age.take().unwrap_or_else(|| Local::zero(p.len()));
        age = Some(match repair {
            Repair::LastGap => before.plus(*gap, &q),
            Repair::WholeAge => before.shifted(*gap).times(&q),
        });
    }
    total
}

/// H(V + X) − H(V) = (V/η)^β expm1(β ln1p(X/V)); H(X) from new.
fn spent(beta: &Local, age: Option<&Local>, gap: f64, ln_eta: &Local, after: &Local) -> Local {
    let Some(v) = age else { return after.exp() };
    let (x, sum) = (v.value, v.value + gap);
    // Far beyond the age left, the difference is the later term but for its last digits.
    if gap / x > 1e6 {
        let ln_v = v.map(x.ln(), 1.0 / x, -1.0 / (x * x));
        let start = beta.times(&ln_v.plus(-1.0, ln_eta)).exp();
        return after.exp().plus(-1.0, &start);
    }
    let ln_v = v.map(x.ln(), 1.0 / x, -1.0 / (x * x));
    let start = beta.times(&ln_v.plus(-1.0, ln_eta)).exp();
    let ratio = v.map(
        (gap / x).ln_1p(),
        1.0 / sum - 1.0 / x,
        1.0 / (x * x) - 1.0 / (sum * sum),
    );
    let grown = beta.times(&ratio);
    let e = grown.value.exp();
    start.times(&grown.map(grown.value.exp_m1(), e, e))
}

/// Maximum likelihood with LEAST_Q ≤ q ≤ `q_max`, the best of several starts; `None` if none converges.
pub fn fit_virtual_age(systems: &[Gaps], repair: Repair, q_max: f64) -> Option<VirtualAge> {
    let repairs: f64 = systems.iter().map(|s| s.0.len() as f64).sum();
    let time: f64 = systems.iter().map(|s| s.0.iter().sum::<f64>() + s.1).sum();
    let sound = |(gaps, last): &Gaps| {
        gaps.iter().all(|g| g.is_finite() && *g > 0.0)
            && last.is_finite()
            && *last >= 0.0
            && (!gaps.is_empty() || *last > 0.0)
    };
    if repairs < 1.0 || time <= 0.0 || !time.is_finite() || !systems.iter().all(sound) {
        return None;
    }
    if !(q_max.is_finite() && q_max > LEAST_Q) {
        return None;
    }
    let edges = [(-3.0, 3.0), (-30.0, 60.0), (LEAST_Q, q_max)];
    let starts = [0.05, 0.2, 0.5, 0.8, 1.1].map(|q| f64::min(q, q_max));
    let runs = starts.iter().map(|q| {
        maximise(&[0.2, (time / repairs).ln(), *q], &[true; 3], &edges, |p| {
            let mut total = Local::zero(3);
            for gaps in systems {
                total.add_scaled(1.0, &system(p, gaps, repair));
            }
            Some(total)
        })
    });
    let better = |a: Option<Optimum>, b: Optimum| match a {
        Some(a) if a.local.value >= b.local.value => Some(a),
        _ => Some(b),
    };
    let best = runs
        .filter(|o| !matches!(o.end, End::Failed(_)))
        .fold(None, better)?;
    Some(VirtualAge {
        beta: best.at[0].exp(),
        eta: best.at[1].exp(),
        q: best.at[2],
        loglik: best.local.value,
    })
}
