//! Cumulative baseline of a power-law clock and its derivatives in the shape.
//!
//! h(t) = (t/t0)^(β−1); A(a, b) = ∫ h over [a, b] = (t0/β) [(b/t0)^β − (a/t0)^β]. Stable forms of FORECAST §2.
use std::sync::LazyLock;

use numerics::quadrature::gauss_legendre;

static EIGHT: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_legendre(8));

/// A(a, b) with its first and second derivative in β.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exposure {
    /// A(a, b), in the unit of t0.
    pub value: f64,
    /// dA/dβ.
    pub slope: f64,
    /// d²A/dβ².
    pub bend: f64,
}

/// A(a, b) for 0 ≤ a ≤ b, β > 0, reference age `t0` > 0; an empty or reversed interval has no exposure.
pub fn exposure(from: f64, until: f64, beta: f64, t0: f64) -> Exposure {
    if until <= from || until <= 0.0 {
        return Exposure::default();
    }
    of_logs(
        (from, until),
        ((from / t0).ln(), (until / t0).ln()),
        beta,
        t0,
    )
}

/// The same for 0 ≤ from, where the logarithms ln(from/t0) and ln(until/t0) are at hand (that of 0 is not used).
pub(crate) fn of_logs(span: (f64, f64), logs: (f64, f64), beta: f64, t0: f64) -> Exposure {
    let ((from, until), (low, high)) = (span, logs);
    if until <= from || until <= 0.0 {
        return Exposure::default();
    }
    if from <= 0.0 {
        return at_end(high, beta, t0);
    }
    // ln(until/from) loses digits as a difference of logs when the window is short.
    let width = if until < 1.5 * from {
        ((until - from) / from).ln_1p()
    } else {
        high - low
    };
    if beta * width < 1e-2 {
        return by_quadrature(low, width, beta, t0);
    }
    let (top, bottom) = (at_end(high, beta, t0), at_end(low, beta, t0));
    let value = if beta * width < 0.5 {
        t0 * (beta * low).exp() * (beta * width).exp_m1() / beta
    } else {
        top.value - bottom.value
    };
    Exposure {
        value,
        slope: top.slope - bottom.slope,
        bend: top.bend - bottom.bend,
    }
}

/// A alone, as [`of_logs`].
pub(crate) fn value_of_logs(span: (f64, f64), logs: (f64, f64), beta: f64, t0: f64) -> f64 {
    let ((from, until), (low, high)) = (span, logs);
    if until <= from || until <= 0.0 {
        return 0.0;
    }
    if from <= 0.0 {
        return t0 * (beta * high).exp() / beta;
    }
    let width = if until < 1.5 * from {
        beta * ((until - from) / from).ln_1p()
    } else {
        beta * (high - low)
    };
    // expm1 keeps its digits however short the window: no quadrature is needed without the derivatives.
    if width < 0.5 {
        t0 * (beta * low).exp() * width.exp_m1() / beta
    } else {
        t0 * ((beta * high).exp() - (beta * low).exp()) / beta
    }
}

/// A(0, t0 e^u) and its derivatives.
fn at_end(u: f64, beta: f64, t0: f64) -> Exposure {
    let y = t0 * (beta * u).exp();
    Exposure {
        value: y / beta,
        slope: y * (u / beta - beta.powi(-2)),
        bend: y * (u * u / beta - 2.0 * u / beta.powi(2) + 2.0 * beta.powi(-3)),
    }
}

/// ∫ t0 e^(βs) s^k ds over [low, low + width], k = 0, 1, 2.
fn by_quadrature(low: f64, width: f64, beta: f64, t0: f64) -> Exposure {
    let mut sum = Exposure::default();
    for (x, w) in EIGHT.iter() {
        let s = low + width * 0.5 * (1.0 + x);
        let part = 0.5 * width * w * t0 * (beta * s).exp();
        sum.value += part;
        sum.slope += part * s;
        sum.bend += part * s * s;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_meet_differences_in_every_branch() {
        for (a, b, beta) in [
            (0.0, 7.0, 1.4),
            (3.0, 9.0, 0.6),
            (8.0, 8.001, 2.2),
            (1e-6, 40.0, 3.5),
        ] {
            let step = 1e-5;
            let (up, mid, down) = (
                exposure(a, b, beta + step, 10.0),
                exposure(a, b, beta, 10.0),
                exposure(a, b, beta - step, 10.0),
            );
            let slope = (up.value - down.value) / (2.0 * step);
            let bend = (up.slope - down.slope) / (2.0 * step);
            assert!(
                (mid.slope - slope).abs() < 1e-7 * (1.0 + slope.abs()),
                "{a} {b} {beta}"
            );
            assert!(
                (mid.bend - bend).abs() < 1e-6 * (1.0 + bend.abs()),
                "{a} {b} {beta}"
            );
        }
    }

    #[test]
    fn shape_one_counts_time() {
        assert!((exposure(2.0, 5.5, 1.0, 10.0).value - 3.5).abs() < 1e-14);
        assert_eq!(exposure(5.0, 5.0, 1.3, 10.0), Exposure::default());
    }
}
