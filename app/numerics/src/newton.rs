//! Damped Newton maximisation with the exact Hessian, inside a box, ending with a verdict.
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Newton decrement gᵀ(−H)⁻¹g below which a point counts as the maximum (FORECAST §2: at 1e-8 a parameter can still
/// be 1.4e-4 standard errors away).
const DECREMENT: f64 = 1e-12;
/// More steps than any well-posed fit here needs (10 to 30); past it the fit says that it failed.
const STEPS: usize = 300;
/// Longest component of a step: on the working scales used here (logs) more than this overshoots by a factor 50.
const LONGEST: f64 = 4.0;

/// Value, gradient and Hessian of the target at one point.
#[derive(Clone, Debug)]
pub struct Local {
    /// Target value.
    pub value: f64,
    /// First derivatives, one a parameter.
    pub gradient: DVector<f64>,
    /// Second derivatives, symmetric.
    pub hessian: DMatrix<f64>,
}

impl Local {
    /// A zero of the given dimension, to add terms to.
    pub fn zero(dimension: usize) -> Self {
        Self {
            value: 0.0,
            gradient: DVector::zeros(dimension),
            hessian: DMatrix::zeros(dimension, dimension),
        }
    }

    /// Adds the logarithm of an independent normal density N(mean, sd²) for parameter `i`, without its constant.
    pub fn add_normal(&mut self, i: usize, x: f64, mean: f64, sd: f64) {
        let precision = 1.0 / (sd * sd);
        self.value -= 0.5 * precision * (x - mean).powi(2);
        self.gradient[i] -= precision * (x - mean);
        self.hessian[(i, i)] -= precision;
    }

    fn is_finite(&self) -> bool {
        self.value.is_finite()
            && self.gradient.iter().all(|v| v.is_finite())
            && self.hessian.iter().all(|v| v.is_finite())
    }
}

/// How a maximisation ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// The Newton decrement is below 1e-12 and no parameter sits on the box.
    Converged,
    /// Converged in the other parameters, with these (by place) held at the edge of their box.
    Boundary(Vec<usize>),
    /// No maximum was reached; a plain reason.
    Failed(String),
}

/// The point reached.
#[derive(Clone, Debug)]
pub struct Optimum {
    /// Parameters.
    pub at: Vec<f64>,
    /// Value and derivatives there.
    pub local: Local,
    /// Verdict.
    pub end: End,
}

impl Optimum {
    /// Inverse of the negative Hessian over the parameters whose `free` is true; rows and columns of the others are
    /// zero. `None` if it is not positive definite.
    pub fn covariance(&self, free: &[bool]) -> Option<DMatrix<f64>> {
        let places: Vec<usize> = (0..self.at.len()).filter(|&i| free[i]).collect();
        let inner = -select(&self.local.hessian, &places);
        let inverse = inner.cholesky()?.inverse();
        let mut whole = DMatrix::zeros(self.at.len(), self.at.len());
        for (i, &row) in places.iter().enumerate() {
            for (j, &column) in places.iter().enumerate() {
                whole[(row, column)] = inverse[(i, j)];
            }
        }
        Some(whole)
    }
}

/// Maximises `target` from `start` over the parameters whose `free` is true, inside `bounds`.
///
/// The direction is Newton's, with the absolute curvature where the target is not concave; steps are halved until the
/// value rises. A parameter at an edge whose gradient points outward is held there. `target` answers `None` where it is
/// undefined; such points are stepped back from.
pub fn maximise(
    start: &[f64],
    free: &[bool],
    bounds: &[(f64, f64)],
    mut target: impl FnMut(&[f64]) -> Option<Local>,
) -> Optimum {
    let mut at: Vec<f64> = start
        .iter()
        .zip(bounds)
        .zip(free)
        .map(|((&x, &(low, high)), &moves)| if moves { x.clamp(low, high) } else { x })
        .collect();
    let failed = |at: &[f64], local: Local, why: &str| Optimum {
        at: at.to_vec(),
        local,
        end: End::Failed(why.to_owned()),
    };
    let Some(mut local) = target(&at).filter(Local::is_finite) else {
        let zero = Local::zero(at.len());
        return failed(&at, zero, "the target is undefined at the start");
    };
    for _ in 0..STEPS {
        let held = held_at_edge(&at, free, bounds, &local);
        let places: Vec<usize> = (0..at.len())
            .filter(|&i| free[i] && !held.contains(&i))
            .collect();
        let Some((step, decrement)) = direction(&local, &places) else {
            return failed(&at, local, "no uphill direction");
        };
        if decrement < DECREMENT {
            let end = if held.is_empty() {
                End::Converged
            } else {
                End::Boundary(held)
            };
            return Optimum { at, local, end };
        }
        match line_search(&at, &step, bounds, &local, &mut target) {
            Some((next, found)) => {
                at = next;
                local = found;
            }
            // Rounding: the value cannot rise any more although the decrement is not yet below the mark.
            None if decrement < 1e-9 => {
                let end = if held.is_empty() {
                    End::Converged
                } else {
                    End::Boundary(held)
                };
                return Optimum { at, local, end };
            }
            None => return failed(&at, local, "no step raises the target"),
        }
    }
    failed(&at, local, "too many steps")
}

fn held_at_edge(at: &[f64], free: &[bool], bounds: &[(f64, f64)], local: &Local) -> Vec<usize> {
    (0..at.len())
        .filter(|&i| {
            free[i]
                && ((at[i] <= bounds[i].0 && local.gradient[i] <= 0.0)
                    || (at[i] >= bounds[i].1 && local.gradient[i] >= 0.0))
        })
        .collect()
}

/// Step (zero outside `places`) and the Newton decrement; the decrement is infinite where the target is not concave.
///
/// Newton's step in the eigenbasis of −H, with the curvature's absolute value so that it always leads uphill, each
/// component cut at `LONGEST`.
fn direction(local: &Local, places: &[usize]) -> Option<(DVector<f64>, f64)> {
    let mut step = DVector::zeros(local.gradient.len());
    if places.is_empty() {
        return Some((step, 0.0));
    }
    let gradient = DVector::from_iterator(places.len(), places.iter().map(|&i| local.gradient[i]));
    let curvature = -select(&local.hessian, places);
    if let Some(factor) = curvature.clone().cholesky() {
        let inner = factor.solve(&gradient);
        let decrement = gradient.dot(&inner);
        if inner.amax() <= LONGEST && decrement.is_finite() {
            places
                .iter()
                .zip(inner.iter())
                .for_each(|(&i, &v)| step[i] = v);
            return Some((step, decrement));
        }
    }
    let eigen = SymmetricEigen::new(curvature);
    let turned = eigen.eigenvectors.transpose() * &gradient;
    let cut = turned.zip_map(&eigen.eigenvalues, |g, l| {
        (g / l.abs().max(1e-12)).clamp(-LONGEST, LONGEST)
    });
    let inner = &eigen.eigenvectors * cut;
    let uphill = inner.amax() > 0.0 && inner.iter().all(|v| v.is_finite());
    places
        .iter()
        .zip(inner.iter())
        .for_each(|(&i, &v)| step[i] = v);
    uphill.then_some((step, f64::INFINITY))
}

fn line_search(
    at: &[f64],
    step: &DVector<f64>,
    bounds: &[(f64, f64)],
    local: &Local,
    target: &mut impl FnMut(&[f64]) -> Option<Local>,
) -> Option<(Vec<f64>, Local)> {
    let mut length = 1.0;
    for _ in 0..60 {
        let next: Vec<f64> = at
            .iter()
            .zip(step.iter())
            .zip(bounds)
            .map(|((&x, &d), &(low, high))| {
                if d == 0.0 {
                    x
                } else {
                    (x + length * d).clamp(low, high)
                }
            })
            .collect();
        if let Some(found) = target(&next).filter(Local::is_finite)
            && (found.value > local.value
                || (found.value >= local.value - 1e-13 * local.value.abs().max(1.0)
                    && found.gradient.norm() < 0.5 * local.gradient.norm()))
        {
            return Some((next, found));
        }
        length *= 0.5;
    }
    None
}

fn select(matrix: &DMatrix<f64>, places: &[usize]) -> DMatrix<f64> {
    DMatrix::from_fn(places.len(), places.len(), |i, j| {
        matrix[(places[i], places[j])]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ln of a product of two Cauchy-like bumps is not concave away from its maximum: f = −ln(1+(x−3)²) − (y+1)⁴ − (y+1)².
    fn hilly(p: &[f64]) -> Local {
        let (u, v) = (p[0] - 3.0, p[1] + 1.0);
        let mut local = Local::zero(2);
        local.value = -(1.0 + u * u).ln() - v.powi(4) - v * v;
        local.gradient[0] = -2.0 * u / (1.0 + u * u);
        local.gradient[1] = -4.0 * v.powi(3) - 2.0 * v;
        local.hessian[(0, 0)] = -(2.0 - 2.0 * u * u) / (1.0 + u * u).powi(2);
        local.hessian[(1, 1)] = -12.0 * v * v - 2.0;
        local
    }

    #[test]
    fn finds_the_top_from_where_the_target_is_not_concave() {
        let wide = [(-50.0, 50.0), (-50.0, 50.0)];
        let found = maximise(&[-6.0, 9.0], &[true, true], &wide, |p| Some(hilly(p)));
        assert_eq!(found.end, End::Converged);
        assert!((found.at[0] - 3.0).abs() < 1e-6 && (found.at[1] + 1.0).abs() < 1e-6);
    }

    #[test]
    fn stops_at_the_edge_and_says_which() {
        let found = maximise(
            &[0.0, 0.0],
            &[true, true],
            &[(-1.0, 1.0), (-5.0, 5.0)],
            |p| Some(hilly(p)),
        );
        assert_eq!(found.end, End::Boundary(vec![0]));
        assert_eq!(found.at[0], 1.0);
    }

    #[test]
    fn an_undefined_target_fails_with_a_reason() {
        let found = maximise(&[0.0], &[true], &[(-1.0, 1.0)], |_| None);
        assert!(matches!(found.end, End::Failed(_)));
    }
}
