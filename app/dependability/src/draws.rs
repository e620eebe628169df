//! Parameter draws around a fit: fixed, so that a page does not flicker.
use nalgebra::DMatrix;
use numerics::draws::antithetic_normals;

/// Antithetic pairs (64 draws, FORECAST §4).
const PAIRS: usize = 32;

/// 64 draws from N(parameters, covariance), capped at the box of the fit; a parameter without variance stays put.
pub(crate) fn parameter_draws(
    parameters: &[f64],
    covariance: &DMatrix<f64>,
    edges: &[(f64, f64)],
) -> Vec<Vec<f64>> {
    let free: Vec<usize> = (0..parameters.len())
        .filter(|&i| covariance[(i, i)] > 0.0)
        .collect();
    let inner = DMatrix::from_fn(free.len(), free.len(), |i, j| {
        covariance[(free[i], free[j])]
    });
    let spread = inner.clone().cholesky().map_or_else(
        // Rounded in storage and no longer positive definite: keep the variances.
        || DMatrix::from_diagonal(&inner.diagonal().map(f64::sqrt)),
        |factor| factor.l(),
    );
    antithetic_normals(free.len(), PAIRS)
        .into_iter()
        .map(|normal| {
            let shift = &spread * nalgebra::DVector::from_vec(normal);
            let mut draw = parameters.to_vec();
            for (k, &i) in free.iter().enumerate() {
                draw[i] = (draw[i] + shift[k]).clamp(edges[i].0, edges[i].1);
            }
            draw
        })
        .collect()
}
