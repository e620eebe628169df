//! The chance that replacing now turns out cheaper, exactly rather than by drawing cases.
//!
//! X = advantage + (D_old − E D_old) − (D_new − E D_new). Each D is a sum of discounted failure costs;
//! the yearly counts are Poisson, the old unit's under one common gamma multiplier (mean 1, variance s).
//! With m_i expected failures of year i, d_i its discount and φ_c the characteristic function of one
//! failure's cost, ψ(t) = Σ m_i (φ_c(d_i t) − 1), and
//! φ_old(t) = (1 − s ψ_old(t))^(−1/s) (exp ψ_old when s = 0), φ_new(t) = exp ψ_new(t).
//! φ_c(t) = (1 − i t μ cv²)^(−1/cv²) · (1 − p + p e^(i t premium)) · e^(i t disruption), a fixed cost in
//! warranty e^(i t cost). The chance follows by Davies' inversion on a grid of half steps (Biometrika
//! 60 (1973) 415–417, from memory), the case of no failure at all being taken out and counted exactly,
//! and the rest smoothed by a kernel narrow enough that halving it no longer matters.
use crate::case::FaultCost;

/// A complex number; two fields are all that is needed here.
#[derive(Clone, Copy, Debug)]
struct Complex {
    re: f64,
    im: f64,
}

impl Complex {
    fn polar(modulus: f64, phase: f64) -> Self {
        let (sin, cos) = phase.sin_cos();
        Self {
            re: modulus * cos,
            im: modulus * sin,
        }
    }

    fn times(self, other: Self) -> Self {
        Self {
            re: self.re * other.re - self.im * other.im,
            im: self.re * other.im + self.im * other.re,
        }
    }
}

/// What one failure costs, as a law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CostLaw {
    /// Always the same: excess and disruption in warranty.
    Fixed(f64),
    /// Gamma repair, premium by chance, disruption.
    Drawn(FaultCost),
}

impl CostLaw {
    /// Expected cost, pounds.
    pub fn mean(&self) -> f64 {
        match self {
            Self::Fixed(cost) => *cost,
            Self::Drawn(cost) => cost.mean(),
        }
    }

    /// Expected squared cost, pounds².
    pub fn mean_square(&self) -> f64 {
        match self {
            Self::Fixed(cost) => cost * cost,
            Self::Drawn(cost) => cost.mean_square(),
        }
    }

    /// φ_c(t).
    fn transform(&self, t: f64) -> Complex {
        match self {
            Self::Fixed(cost) => Complex::polar(1.0, t * cost),
            Self::Drawn(cost) => {
                let squared = cost.repair_cv * cost.repair_cv;
                let repair = if squared * cost.repair_mean > 0.0 {
                    let scaled = t * cost.repair_mean * squared;
                    let shape = 1.0 / squared;
                    let modulus = (-0.5 * shape * (scaled * scaled).ln_1p()).exp();
                    Complex::polar(modulus, shape * scaled.atan() + t * cost.disruption)
                } else {
                    Complex::polar(1.0, t * (cost.repair_mean + cost.disruption))
                };
                if cost.emergency_share * cost.emergency_premium > 0.0 {
                    let premium = Complex::polar(cost.emergency_share, t * cost.emergency_premium);
                    repair.times(Complex {
                        re: 1.0 - cost.emergency_share + premium.re,
                        im: premium.im,
                    })
                } else {
                    repair
                }
            }
        }
    }
}

/// The failures of one year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct YearOfFailures {
    /// m_i, expected number.
    pub expected: f64,
    /// d_i, worth today of a pound then.
    pub discount: f64,
    /// What each costs.
    pub law: CostLaw,
}

/// The discounted failure costs of one course.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FailureCosts {
    /// Year by year.
    pub years: Vec<YearOfFailures>,
    /// s, variance of the multiplier common to all years.
    pub frailty_var: f64,
}

impl FailureCosts {
    /// Σ d_i m_i c.
    pub fn mean(&self) -> f64 {
        self.years
            .iter()
            .map(|y| y.discount * y.expected * y.law.mean())
            .sum()
    }

    /// Σ d_i² m_i E[c²] + s (Σ d_i m_i c)².
    pub fn variance(&self) -> f64 {
        let own: f64 = self
            .years
            .iter()
            .map(|y| y.discount.powi(2) * y.expected * y.law.mean_square())
            .sum();
        own + self.frailty_var * self.mean().powi(2)
    }

    /// Years that can add anything.
    pub(crate) fn telling(&self) -> impl Iterator<Item = &YearOfFailures> {
        self.years
            .iter()
            .filter(|y| y.expected > 0.0 && y.law.mean() > 0.0)
    }

    /// Chance that nothing is added at all.
    pub fn nothing(&self) -> f64 {
        let expected: f64 = self.telling().map(|y| y.expected).sum();
        if self.frailty_var > 0.0 {
            (-(self.frailty_var * expected).ln_1p() / self.frailty_var).exp()
        } else {
            (-expected).exp()
        }
    }

    /// The largest of mean plus standard deviation of one failure's discounted cost.
    fn largest(&self) -> f64 {
        self.telling()
            .map(|y| {
                let (mean, square) = (y.law.mean(), y.law.mean_square());
                y.discount * (mean + (square - mean * mean).max(0.0).sqrt())
            })
            .fold(0.0, f64::max)
    }

    /// φ_D(t).
    fn transform(&self, t: f64) -> Complex {
        let mut psi = Complex { re: 0.0, im: 0.0 };
        for year in self.telling() {
            let one = year.law.transform(year.discount * t);
            psi.re += year.expected * (one.re - 1.0);
            psi.im += year.expected * one.im;
        }
        let s = self.frailty_var;
        if s > 0.0 {
            // Re(1 − sψ) ≥ 1, so the principal branch is the right one for every t.
            let (re, im) = (1.0 - s * psi.re, -s * psi.im);
            Complex::polar((-re.hypot(im).ln() / s).exp(), -im.atan2(re) / s)
        } else {
            Complex::polar(psi.re.exp(), psi.im)
        }
    }
}

/// P(X > 0) for X = advantage + (old − E old) − (new − E new).
pub fn chance_above_nought(advantage: f64, old: &FailureCosts, new: &FailureCosts) -> f64 {
    // X > 0 where Y = D_old − D_new exceeds this:
    let bar = old.mean() - new.mean() - advantage;
    let nothing = old.nothing() * new.nothing();
    let exact = if 0.0 > bar { nothing } else { 0.0 };
    let left = 1.0 - nothing;
    if left < 1e-9 {
        return exact;
    }
    let deviation = (old.variance() + new.variance()).sqrt();
    let largest = old.largest().max(new.largest());
    let span = (advantage.abs() + 25.0 * deviation + 12.0 * largest).max(f64::MIN_POSITIVE);
    if advantage.abs() > 40.0 * deviation + 40.0 * largest {
        // Further out than any sum of failures reaches with a chance worth showing.
        return if advantage > 0.0 { 1.0 } else { 0.0 };
    }
    // A wide kernel first: most laws are smooth enough for it, and it needs the fewest waves.
    let mut width = deviation.max(largest) / 50.0;
    for attempt in 0..4 {
        let waves = Waves::of(old, new, nothing, span, width);
        let narrow = waves.above(bar, width);
        let wide = waves.above(bar, 2.0 * width);
        let window =
            |w: f64| waves.above(bar - w * width, width) - waves.above(bar + w * width, width);
        // A lump at the bar itself fills both windows alike; a smooth law fills them 1 : 2.
        let lump = 2.0 * window(5.0) - window(10.0);
        if (narrow - wide).abs() < 3e-4 && lump.abs() < 1e-3 {
            return (exact + narrow).clamp(0.0, 1.0);
        }
        if attempt == 3 {
            // Equal costs are not cheaper: what lies on the bar does not count.
            return (exact + waves.above(bar + 5.0 * width, width)).clamp(0.0, 1.0);
        }
        width /= 4.0;
    }
    exact
}

/// The transform of Y without its lump at nought, on the grid u_k = (k + ½) Δ.
struct Waves {
    step: f64,
    values: Vec<Complex>,
    mass: f64,
}

impl Waves {
    /// Δ = 2π/span; as many waves as the kernel of this width lets through.
    fn of(old: &FailureCosts, new: &FailureCosts, nothing: f64, span: f64, width: f64) -> Self {
        let step = std::f64::consts::TAU / span;
        // What the kernel leaves beyond 4.5 of its own widths adds less than 1e-5.
        let count = ((4.5 / (width * step)).ceil() as usize).clamp(64, 400_000);
        let values = (0..count)
            .map(|k| {
                let u = (k as f64 + 0.5) * step;
                let mut value = old.transform(u).times(new.transform(-u));
                value.re -= nothing;
                value
            })
            .collect();
        let mass = 1.0 - nothing;
        Self { step, values, mass }
    }

    /// mass/2 + Σ_k Im[φ(u_k) e^(−i u_k y)] e^(−(width u_k)²/2)/(π (k + ½)).
    fn above(&self, y: f64, width: f64) -> f64 {
        // e^(−i u_k y) by turning, renewed now and then so that rounding does not gather.
        let turn = Complex::polar(1.0, -self.step * y);
        let mut wave = Complex::polar(1.0, -0.5 * self.step * y);
        let mut sum = 0.0;
        for (k, value) in self.values.iter().enumerate() {
            let place = k as f64 + 0.5;
            if k % 256 == 0 {
                wave = Complex::polar(1.0, -place * self.step * y);
            }
            let reach = width * self.step * place;
            if reach > 6.5 {
                break;
            }
            let part = value.re * wave.im + value.im * wave.re;
            sum += part * (-0.5 * reach * reach).exp() / (std::f64::consts::PI * place);
            wave = wave.times(turn);
        }
        self.mass / 2.0 + sum
    }
}
