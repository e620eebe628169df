//! Gauss quadrature nodes from the eigenvalues of the Jacobi matrix (Golub and Welsch 1969).
use nalgebra::{DMatrix, SymmetricEigen};

/// Nodes on [−1, 1] and weights summing to 2, in rising order; exact for polynomials of degree 2n − 1.
pub fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    let beside = |k: f64| k / (4.0 * k * k - 1.0).sqrt();
    let mut nodes = golub_welsch(n, 2.0, beside);
    // One Newton step on the Legendre polynomial takes the eigenvalue's rounding away.
    for (x, w) in &mut nodes {
        let (p, slope) = legendre(n, *x);
        *x -= p / slope;
        let (_, slope) = legendre(n, *x);
        *w = 2.0 / ((1.0 - *x * *x) * slope * slope);
    }
    nodes
}

/// Nodes and weights for ∫ e^(−x²) f(x) dx over the line, weights summing to √π.
pub fn gauss_hermite(n: usize) -> Vec<(f64, f64)> {
    golub_welsch(n, std::f64::consts::PI.sqrt(), |k| (k / 2.0).sqrt())
}

fn golub_welsch(n: usize, mass: f64, beside: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let jacobi = DMatrix::from_fn(n, n, |i, j| {
        if i.abs_diff(j) == 1 {
            beside(i.max(j) as f64)
        } else {
            0.0
        }
    });
    let eigen = SymmetricEigen::new(jacobi);
    let mut nodes: Vec<(f64, f64)> = (0..n)
        .map(|k| {
            (
                eigen.eigenvalues[k],
                mass * eigen.eigenvectors[(0, k)].powi(2),
            )
        })
        .collect();
    nodes.sort_by(|a, b| a.0.total_cmp(&b.0));
    nodes
}

/// Legendre polynomial of degree n and its slope at x.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut p) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        (before, p) = (p, ((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k);
    }
    let slope = n as f64 * (x * p - before) / (x * x - 1.0);
    if n == 0 { (1.0, 0.0) } else { (p, slope) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn legendre_is_exact_for_its_degree() {
        let nodes = gauss_legendre(16);
        // ∫ x^30 over [−1, 1] = 2/31.
        let got: f64 = nodes.iter().map(|(x, w)| w * x.powi(30)).sum();
        assert!((got - 2.0 / 31.0).abs() < 1e-15, "{got}");
    }

    #[test]
    fn hermite_gives_the_fourth_moment() {
        // ∫ x⁴ e^(−x²) dx = 3√π/4.
        let got: f64 = gauss_hermite(15).iter().map(|(x, w)| w * x.powi(4)).sum();
        assert!(
            (got - 0.75 * std::f64::consts::PI.sqrt()).abs() < 1e-13,
            "{got}"
        );
    }
}
