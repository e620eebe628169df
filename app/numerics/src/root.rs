//! Roots of continuous functions in a bracket.

/// Root of `f` in [`low`, `high`] by Brent's method (inverse quadratic steps, bisection when they do not pay), to
/// relative 4e-16 or until `f` is zero.
///
/// `None` if the ends have the same sign or a value is not a number. Source: R. P. Brent, "Algorithms for Minimization
/// without Derivatives" (1973), ch. 4, from memory.
pub fn brent(low: f64, high: f64, mut f: impl FnMut(f64) -> f64) -> Option<f64> {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fa.is_nan() || fb.is_nan() || fa * fb > 0.0 {
        return None;
    }
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut before = step;
    for _ in 0..200 {
        if fb * fc > 0.0 {
            (c, fc) = (a, fa);
            step = b - a;
            before = step;
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let tolerance = 2.0 * f64::EPSILON * b.abs() + f64::MIN_POSITIVE;
        let half = 0.5 * (c - b);
        if half.abs() <= tolerance || fb == 0.0 {
            return Some(b);
        }
        (step, before) = next_step((a, b, c), (fa, fb, fc), (step, before), tolerance);
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance {
            step
        } else {
            tolerance.copysign(half)
        };
        fb = f(b);
        if fb.is_nan() {
            return None;
        }
    }
    Some(b)
}

fn next_step(
    x: (f64, f64, f64),
    f: (f64, f64, f64),
    last: (f64, f64),
    tolerance: f64,
) -> (f64, f64) {
    let ((a, b, c), (fa, fb, fc), (step, before)) = (x, f, last);
    let half = 0.5 * (c - b);
    if before.abs() < tolerance || fa.abs() <= fb.abs() {
        return (half, half);
    }
    let s = fb / fa;
    let (mut p, mut q) = if a == c {
        (2.0 * half * s, 1.0 - s)
    } else {
        let (q, r) = (fa / fc, fb / fc);
        (
            s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)),
            (q - 1.0) * (r - 1.0) * (s - 1.0),
        )
    };
    if p > 0.0 {
        q = -q;
    } else {
        p = -p;
    }
    if 2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((before * q).abs()) {
        (p / q, step)
    } else {
        (half, half)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_fixed_point_of_the_cosine() {
        // cos x = x at 0.739085133215160641655… (the Dottie number, from memory).
        let root = brent(0.0, 1.0, |x| x.cos() - x).unwrap();
        assert!((root - 0.739_085_133_215_160_6).abs() < 1e-15);
    }

    #[test]
    fn refuses_a_bracket_without_a_change_of_sign() {
        assert_eq!(brent(0.0, 1.0, |x| x + 1.0), None);
        assert_eq!(brent(0.0, 1.0, |_| f64::NAN), None);
    }
}
