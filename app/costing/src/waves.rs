//! The transform of old less new failure costs on a grid, and sums over it.
use crate::chance::FailureCosts;
use crate::psi::{Complex, Psi};

/// Logarithm of (1 − s ψ)^(−1/s), or of exp ψ: of its modulus, and its phase.
fn log_of(psi: Complex, s: f64) -> (f64, f64) {
    if s > 0.0 {
        // Re(1 − sψ) ≥ 1, so the principal branch is the right one for every t.
        let (re, im) = (1.0 - s * psi.re, -s * psi.im);
        (-0.5 * (re * re + im * im).ln() / s, -im.atan2(re) / s)
    } else {
        (psi.re, psi.im)
    }
}

/// The transform of Y without its lump at nought, on the grid u_k = (k + ½) Δ, as far as it was asked for.
pub(crate) struct Waves {
    step: f64,
    values: Vec<Complex>,
    nothing: f64,
    kept: (Psi, f64),
    fitted: (Psi, f64),
}

/// What lies above a bar, told by kernels of one width and of two, and how much lies near it.
pub(crate) struct Around {
    pub narrow: f64,
    pub wide: f64,
    /// Between 5 and 10 widths on either side of it.
    pub within_5: f64,
    pub within_10: f64,
}

impl Waves {
    /// Δ = 2π/span; `nothing` is the lump.
    pub fn new(old: &FailureCosts, new: &FailureCosts, (nothing, span): (f64, f64)) -> Self {
        let step = std::f64::consts::TAU / span;
        Self {
            step,
            values: Vec::new(),
            nothing,
            kept: (Psi::new(old, step), old.frailty_var),
            fitted: (Psi::new(new, step), new.frailty_var),
        }
    }

    /// As many waves as the kernel of this width lets through.
    fn up_to(&mut self, width: f64) {
        // What the kernel leaves beyond 4.5 of its own widths adds less than 1e-5.
        let count = ((4.5 / (width * self.step)).ceil() as usize).clamp(64, 400_000);
        self.values
            .reserve_exact(count.saturating_sub(self.values.len()));
        while self.values.len() < count {
            let (a, b) = (
                log_of(self.kept.0.step(), self.kept.1),
                log_of(self.fitted.0.step(), self.fitted.1),
            );
            // New failures are taken off: their transform at −u is the conjugate of that at u.
            let mut value = Complex::polar((a.0 + b.0).exp(), a.1 - b.1);
            value.re -= self.nothing;
            self.values.push(value);
        }
    }

    /// With S(y, w) = mass/2 + Σ_k Im[φ(u_k) e^(−i u_k y)] e^(−(w u_k)²/2)/(π (k + ½)): S(y, w), S(y, 2 w), and S(y − δ, w) −
    /// S(y + δ, w) = Σ_k 2 sin(δ u_k) Re[φ(u_k) e^(−i u_k y)] e^(−(w u_k)²/2)/(π (k + ½)) for δ of 5 w and 10 w.
    pub fn around(&mut self, y: f64, width: f64) -> Around {
        self.up_to(width);
        // e^(−i u_k y) by turning, renewed now and then so that rounding does not gather; likewise e^(5 i u_k w), and the
        // kernel, whose quotient from one place to the next falls by the same factor every time.
        let at = |place: f64, far: f64| Complex::polar(1.0, place * self.step * far);
        let turns = (at(1.0, -y), at(1.0, 5.0 * width));
        let mut waves = (at(0.5, -y), at(0.5, 5.0 * width));
        let square = (width * self.step).powi(2);
        let fall = (-square).exp();
        let (mut kernel, mut quotient) = (1.0, 1.0);
        let (mut narrow, mut wide, mut five, mut ten) = (0.0, 0.0, 0.0, 0.0);
        for (k, value) in self.values.iter().enumerate() {
            let place = k as f64 + 0.5;
            if k.is_multiple_of(256) {
                waves = (at(place, -y), at(place, 5.0 * width));
            }
            if k.is_multiple_of(32) {
                kernel = (-0.5 * square * place * place).exp();
                quotient = (-square * (place + 0.5)).exp();
            }
            let reach = width * self.step * place;
            if reach > 6.5 {
                break;
            }
            let (here, window) = waves;
            let (even, odd) = (
                value.re * here.re - value.im * here.im,
                value.re * here.im + value.im * here.re,
            );
            let share = 1.0 / (std::f64::consts::PI * place);
            narrow += odd * kernel * share;
            if reach <= 3.25 {
                wide += odd * kernel.powi(4) * share;
            }
            let sine = 2.0 * window.im * even * kernel * share;
            five += sine;
            ten += 2.0 * window.re * sine;
            waves = (here.times(turns.0), window.times(turns.1));
            kernel *= quotient;
            quotient *= fall;
        }
        let half = (1.0 - self.nothing) / 2.0;
        Around {
            narrow: half + narrow,
            wide: half + wide,
            within_5: five,
            within_10: ten,
        }
    }
}
