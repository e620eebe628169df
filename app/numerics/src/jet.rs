//! Arithmetic on [`Local`]: a value carried with its exact gradient and Hessian through the chain rule.
use crate::newton::Local;

impl Local {
    /// A number that does not depend on the parameters.
    pub fn constant(dimension: usize, value: f64) -> Self {
        Self {
            value,
            ..Self::zero(dimension)
        }
    }

    /// Parameter `place` itself.
    pub fn parameter(parameters: &[f64], place: usize) -> Self {
        let mut own = Self::constant(parameters.len(), parameters[place]);
        own.gradient[place] = 1.0;
        own
    }

    /// Adds `factor` times another.
    pub fn add_scaled(&mut self, factor: f64, other: &Self) {
        self.value += factor * other.value;
        self.gradient.axpy(factor, &other.gradient, 1.0);
        self.hessian += factor * &other.hessian;
    }

    /// This plus `factor` times another.
    #[must_use]
    pub fn plus(mut self, factor: f64, other: &Self) -> Self {
        self.add_scaled(factor, other);
        self
    }

    /// This times a number.
    #[must_use]
    pub fn scaled(mut self, factor: f64) -> Self {
        self.value *= factor;
        self.gradient *= factor;
        self.hessian *= factor;
        self
    }

    /// This plus a number.
    #[must_use]
    pub fn shifted(mut self, by: f64) -> Self {
        self.value += by;
        self
    }

    /// Product of two.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        self.with(
            other,
            [
                self.value * other.value,
                other.value,
                self.value,
                0.0,
                1.0,
                0.0,
            ],
        )
    }

    /// f(this), given f, f' and f'' at its value.
    #[must_use]
    pub fn map(&self, f: f64, slope: f64, bend: f64) -> Self {
        Self {
            value: f,
            gradient: slope * &self.gradient,
            hessian: slope * &self.hessian + bend * &self.gradient * self.gradient.transpose(),
        }
    }

    /// e to the power of this.
    #[must_use]
    pub fn exp(&self) -> Self {
        let e = self.value.exp();
        self.map(e, e, e)
    }

    /// f(this, other), given [f, f₁, f₂, f₁₁, f₁₂, f₂₂] at their values.
    #[must_use]
    pub fn with(&self, other: &Self, f: [f64; 6]) -> Self {
        let cross = &self.gradient * other.gradient.transpose();
        Self {
            value: f[0],
            gradient: f[1] * &self.gradient + f[2] * &other.gradient,
            hessian: f[1] * &self.hessian
                + f[2] * &other.hessian
                + f[3] * &self.gradient * self.gradient.transpose()
                + f[4] * (&cross + cross.transpose())
                + f[5] * &other.gradient * other.gradient.transpose(),
        }
    }
}

/// ln Σ exp(l_i) of weighted terms (weights inside the logarithms), and each term's share of the sum.
pub fn ln_sum_exp(terms: &[Local]) -> (Local, Vec<f64>) {
    let d = terms.first().map_or(0, |t| t.gradient.len());
    let top = terms
        .iter()
        .map(|t| t.value)
        .fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return (Local::constant(d, top), vec![0.0; terms.len()]);
    }
    let raw: Vec<f64> = terms.iter().map(|t| (t.value - top).exp()).collect();
    let sum: f64 = raw.iter().sum();
    let shares: Vec<f64> = raw.iter().map(|v| v / sum).collect();
    let mut total = Local::zero(d);
    for (term, share) in terms.iter().zip(&shares) {
        total.gradient.axpy(*share, &term.gradient, 1.0);
        total.hessian += *share * (&term.hessian + &term.gradient * term.gradient.transpose());
    }
    total.hessian -= &total.gradient * total.gradient.transpose();
    total.value = top + sum.ln();
    (total, shares)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ln(e^(xy) + e^(x²)) − 3y.
    fn sample(p: &[f64]) -> Local {
        let (x, y) = (Local::parameter(p, 0), Local::parameter(p, 1));
        let (sum, _) = ln_sum_exp(&[x.times(&y), x.times(&x)]);
        sum.plus(-3.0, &y)
    }

    #[test]
    fn derivatives_meet_differences() {
        let p = [0.7, -1.2];
        let at = sample(&p);
        for i in 0..2 {
            let (mut up, mut down) = (p, p);
            up[i] += 1e-6;
            down[i] -= 1e-6;
            let (up, down) = (sample(&up), sample(&down));
            assert!((at.gradient[i] - (up.value - down.value) / 2e-6).abs() < 1e-8);
            let bend = (up.gradient - down.gradient) / 2e-6;
            assert!((at.hessian.column(i) - bend).amax() < 1e-8);
        }
    }
}
