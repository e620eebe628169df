//! Distribution functions and quantiles: `statrs` underneath, quantiles polished to machine precision.
use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

use crate::root::brent;

/// Above this shape the gamma law is computed from Wilson and Hilferty's cube-root normal; its relative error there is
/// below 1e-9, while the series would need thousands of terms.
const LARGE_SHAPE: f64 = 1e9;

/// Standard normal distribution function.
pub fn normal_cdf(x: f64) -> f64 {
    Normal::standard().cdf(x)
}

/// Standard normal quantile, 0 < p < 1.
pub fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

/// P(X ≤ x) for X ~ Gamma(shape, rate 1). Zero for x ≤ 0, one at infinity.
pub fn gamma_cdf(shape: f64, x: f64) -> f64 {
    if x.is_nan() || shape.is_nan() || x <= 0.0 {
        return 0.0;
    }
    if x.is_infinite() {
        return 1.0;
    }
    if shape > LARGE_SHAPE {
        return normal_cdf(wilson_hilferty(shape, x));
    }
    gamma_lr(shape, x)
}

/// P(X > x) for X ~ Gamma(shape, rate 1), accurate in the upper tail.
pub fn gamma_upper(shape: f64, x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return 1.0;
    }
    if x.is_infinite() {
        return 0.0;
    }
    if shape > LARGE_SHAPE {
        return normal_cdf(-wilson_hilferty(shape, x));
    }
    gamma_ur(shape, x)
}

fn wilson_hilferty(shape: f64, x: f64) -> f64 {
    let ninth = 1.0 / (9.0 * shape);
    ((x / shape).cbrt() - 1.0 + ninth) / ninth.sqrt()
}

/// Quantile of Gamma(shape, rate 1) at 0 < p < 1.
pub fn gamma_quantile(shape: f64, p: f64) -> f64 {
    if p <= 0.0 || shape <= 0.0 {
        return 0.0;
    }
    let ninth = 1.0 / (9.0 * shape);
    let guess = shape * (1.0 - ninth + normal_quantile(p) * ninth.sqrt()).powi(3);
    // For small shapes the cube-root guess can be negative; near zero F(x) = x^shape / Γ(shape + 1).
    let small = ((p.ln() + ln_gamma(shape + 1.0)) / shape).exp();
    let start = if guess > 0.0 && shape > 0.5 {
        guess
    } else {
        small
    };
    quantile_positive(start, |x| {
        if p < 0.5 {
            gamma_cdf(shape, x) - p
        } else {
            (1.0 - p) - gamma_upper(shape, x)
        }
    })
}

/// Quantile at 0 < p < 1 of a mixture of gamma laws (weight, shape, scale), weights summing to 1: Newton on ln x from the
/// gamma law of the same mean and variance, kept inside the bracket seen so far.
pub fn gamma_mixture_quantile(parts: &[(f64, f64, f64)], p: f64) -> f64 {
    let mean: f64 = parts.iter().map(|(w, k, s)| w * k * s).sum();
    let square: f64 = parts
        .iter()
        .map(|(w, k, s)| w * k * s * s * (1.0 + k))
        .sum();
    if mean <= 0.0 || !mean.is_finite() {
        return 0.0;
    }
    let variance = (square - mean * mean).max(1e-12 * mean * mean);
    let start = variance / mean * gamma_quantile(mean * mean / variance, p);
    let ln_gammas: Vec<f64> = parts.iter().map(|(_, k, _)| ln_gamma(*k)).collect();
    let at = |v: f64| {
        let mut sum = (-p, 0.0);
        for ((w, k, s), ln_gamma) in parts.iter().zip(&ln_gammas) {
            let y = v.exp() / s;
            sum.0 += w * gamma_cdf(*k, y);
            sum.1 += w * (k * (v - s.ln()) - y - ln_gamma).exp();
        }
        sum
    };
    let (mut low, mut high) = (-744.0, 709.0);
    let mut v = start.max(f64::MIN_POSITIVE).ln().clamp(low, high);
    for _ in 0..200 {
        let (excess, slope) = at(v);
        if excess > 0.0 {
            high = v;
        } else {
            low = v;
        }
        let newton = v + (-excess / slope).clamp(-2.0, 2.0);
        // An end of the bracket is not inside: stepping onto it again would go round in circles.
        let inside = newton > low && newton < high;
        let next = if inside {
            newton
        } else {
            f64::midpoint(low, high)
        };
        if (next - v).abs() < 1e-9 {
            return next.exp();
        }
        v = next;
    }
    v.exp()
}

/// Root of a rising function of x > 0 by bracketing outward from `start` on the log scale and Brent's method.
/// Answers 0 where even the smallest number is above it.
pub fn quantile_positive(start: f64, f: impl Fn(f64) -> f64) -> f64 {
    let centre = if start.is_finite() && start > 0.0 {
        start.ln()
    } else {
        0.0
    };
    let (mut low, mut high) = (centre - 0.1, centre + 0.1);
    let mut reach = 0.2;
    while f(low.exp()) > 0.0 {
        low -= reach;
        reach *= 2.0;
        if low < -740.0 {
            return 0.0;
        }
    }
    reach = 0.2;
    while f(high.exp()) < 0.0 {
        high += reach;
        reach *= 2.0;
        if high > 700.0 {
            return f64::MAX;
        }
    }
    brent(low, high, |v| f(v.exp())).map_or(centre.exp(), f64::exp)
}

/// e^x Γ(s, x), the upper incomplete gamma function scaled so that neither factor over- or underflows; s > 0, x ≥ 0.
pub fn scaled_upper_gamma(s: f64, x: f64) -> f64 {
    if x < 30.0 || x < 2.0 * s {
        return (x + ln_gamma(s)).exp() * gamma_upper(s, x);
    }
    // Lentz's continued fraction: Γ(s, x) = e^(−x) x^s / (x + 1 − s − 1(1 − s)/(x + 3 − s − …)).
    let mut b = x + 1.0 - s;
    let (mut c, mut d) = (1e300, 1.0 / b);
    let mut value = d;
    for i in 1..10_000 {
        let i = f64::from(i);
        let a = -i * (i - s);
        b += 2.0;
        d = 1.0 / (a * d + b);
        c = b + a / c;
        value *= d * c;
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    (s * x.ln()).exp() * value
}

/// P(X ≤ x) for a chi-squared variable.
pub fn chi2_cdf(df: f64, x: f64) -> f64 {
    gamma_cdf(df / 2.0, x / 2.0)
}

/// P(X > x) for a chi-squared variable.
pub fn chi2_upper(df: f64, x: f64) -> f64 {
    gamma_upper(df / 2.0, x / 2.0)
}

/// Chi-squared quantile.
pub fn chi2_quantile(df: f64, p: f64) -> f64 {
    2.0 * gamma_quantile(df / 2.0, p)
}

/// Twice the smaller tail of a chi-squared statistic.
pub fn chi2_two_sided(df: f64, x: f64) -> f64 {
    (2.0 * chi2_cdf(df, x).min(chi2_upper(df, x))).min(1.0)
}

/// ln(1 + x) / x, continued by 1 at 0.
pub fn ln1p_over(x: f64) -> f64 {
    if x.abs() < 1e-300 { 1.0 } else { x.ln_1p() / x }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_invert_the_distribution_function() {
        for shape in [1e-3, 0.05, 0.7, 1.0, 3.5, 40.0, 2_000.0] {
            for p in [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95] {
                let x = gamma_quantile(shape, p);
                // A shape of 1e-3 has quantiles below the smallest number: they are 0.
                assert!(
                    x == 0.0 || (gamma_cdf(shape, x) - p).abs() < 1e-11,
                    "{shape} {p} {x}"
                );
            }
        }
    }

    #[test]
    fn mixture_quantiles_invert_the_mixture() {
        let mixtures: [&[(f64, f64, f64)]; 4] = [
            &[(1.0, 2.5, 0.4)],
            &[(0.5, 0.3, 1.0), (0.5, 40.0, 0.1)],
            &[(0.9, 3.0, 1e-6), (0.1, 3.0, 1e3)],
            &[(0.25, 8_000.0, 1e-4), (0.75, 8_100.0, 1.1e-4)],
        ];
        for parts in mixtures {
            for p in [0.05, 0.1, 0.25, 0.75, 0.9, 0.95] {
                let x = gamma_mixture_quantile(parts, p);
                let got: f64 = parts.iter().map(|(w, k, s)| w * gamma_cdf(*k, x / s)).sum();
                assert!((got - p).abs() < 1e-9, "{parts:?} {p} {x} {got}");
            }
        }
    }

    #[test]
    fn chi_squared_table() {
        // Upper 5 % point of chi-squared with 10 degrees of freedom, 18.307 in every printed table (from memory).
        assert!((chi2_quantile(10.0, 0.95) - 18.307).abs() < 5e-4);
    }
}
