//! ψ(u) = Σ m (φ_c(d u) − 1), the logarithm of the transform of failure costs, on a grid.
//!
//! On the grid u_k = (k + ½) Δ each failure's own transform is had from the one before it instead of anew: with
//! θ = d u μ cv², σ = d Δ μ cv² and a = 1/cv², (1 − i(θ + σ))^(−a) = (1 − iθ)^(−a) (1 − z)^(−a), z = iσ/(1 − iθ), where
//! (1 − z)^(−a) = Σ_j C(a + j − 1, j) z^j, |z| = σ/√(1 + θ²), takes a dozen terms to the last bit, and fewer as θ grows;
//! e^(i t disruption) and e^(i t premium) turn by the same angle each step. Every [`RENEWED`] steps all of it is made anew, so
//! that rounding does not gather.
use crate::amounts::FaultCost;
use crate::chance::{CostLaw, FailureCosts, YearOfFailures};

/// Steps after which what was carried forward is made anew.
const RENEWED: usize = 64;
/// A series that wants more terms is not summed: that failure's transform is made anew at every step.
const TERMS: usize = 40;
/// Failures are carried forward by so many at once.
const ABREAST: usize = 2;

/// A complex number; two fields are all that is needed here.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Complex {
    pub re: f64,
    pub im: f64,
}

impl Complex {
    pub fn polar(modulus: f64, phase: f64) -> Self {
        let (sin, cos) = phase.sin_cos();
        Self {
            re: modulus * cos,
            im: modulus * sin,
        }
    }

    pub fn times(self, other: Self) -> Self {
        Self {
            re: self.re * other.re - self.im * other.im,
            im: self.re * other.im + self.im * other.re,
        }
    }
}

/// What is drawn of a law: shape a and scale μ cv² of its gamma price; `None` where the price is always the same.
fn gamma_of(law: &CostLaw) -> Option<(f64, f64)> {
    let CostLaw::Drawn(cost) = law else {
        return None;
    };
    let squared = cost.repair_cv * cost.repair_cv;
    (squared * cost.repair_mean > 0.0).then(|| (1.0 / squared, cost.repair_mean * squared))
}

/// What every failure of a law costs beside its gamma price, and its premium with the share that pays it.
fn certain_of(law: &CostLaw) -> (f64, f64, f64) {
    match law {
        CostLaw::Fixed(cost) => (*cost, 0.0, 0.0),
        CostLaw::Drawn(cost) => {
            let price = match gamma_of(law) {
                Some(_) => 0.0,
                None => cost.repair_mean,
            };
            let (share, premium) = premium_of(cost);
            (price + cost.disruption, premium, share)
        }
    }
}

fn premium_of(cost: &FaultCost) -> (f64, f64) {
    if cost.emergency_share * cost.emergency_premium > 0.0 {
        (cost.emergency_share, cost.emergency_premium)
    } else {
        (0.0, 0.0)
    }
}

/// One number for each failure carried abreast.
type Row = [f64; ABREAST];

/// Complex numbers abreast.
#[derive(Clone, Copy, Default)]
struct Rows {
    re: Row,
    im: Row,
}

impl Rows {
    fn set(&mut self, lane: usize, to: Complex) {
        (self.re[lane], self.im[lane]) = (to.re, to.im);
    }

    fn turn(&mut self, by: &Self) {
        for lane in 0..ABREAST {
            let (re, im) = (self.re[lane], self.im[lane]);
            self.re[lane] = re * by.re[lane] - im * by.im[lane];
            self.im[lane] = re * by.im[lane] + im * by.re[lane];
        }
    }
}

/// Some years of one law, carried along the grid together.
struct Carried {
    law: CostLaw,
    years: Vec<YearOfFailures>,
    /// C(a + j − 1, j), j = 1, 2, …; empty where the price is no gamma. The first `needed` of them tell from here on.
    terms: Vec<f64>,
    needed: usize,
    weight: Row,
    share: f64,
    /// θ and σ.
    theta: Row,
    sigma: Row,
    /// (1 − iθ)^(−a) e^(i t certain), and by how much its second factor turns.
    price: Rows,
    turn: Rows,
    /// e^(i t premium) and by how much it turns.
    premium: Rows,
    premium_turn: Rows,
}

impl Carried {
    fn of(years: &[YearOfFailures], law: CostLaw, step: f64, terms: Vec<f64>) -> Self {
        let (certain, premium, share) = certain_of(&law);
        let mut carried = Self {
            law,
            years: years.to_vec(),
            needed: terms.len(),
            terms,
            weight: Row::default(),
            share,
            theta: Row::default(),
            sigma: Row::default(),
            price: Rows::default(),
            turn: Rows::default(),
            premium: Rows::default(),
            premium_turn: Rows::default(),
        };
        let scale = gamma_of(&law).map_or(0.0, |(_, scale)| scale);
        for (lane, year) in years.iter().enumerate() {
            let t = year.discount * step;
            carried.weight[lane] = year.expected;
            carried.sigma[lane] = t * scale;
            carried.turn.set(lane, Complex::polar(1.0, t * certain));
            carried
                .premium_turn
                .set(lane, Complex::polar(1.0, t * premium));
        }
        carried
    }

    /// Everything anew at u.
    fn renew(&mut self, u: f64) {
        let (certain, premium, _) = certain_of(&self.law);
        for (lane, year) in self.years.iter().enumerate() {
            let t = year.discount * u;
            self.price.set(lane, price_at(&self.law, t, certain));
            self.premium.set(lane, Complex::polar(1.0, t * premium));
            let scale = gamma_of(&self.law).map_or(0.0, |(_, scale)| scale);
            self.theta[lane] = t * scale;
        }
        let sizes = self.theta.iter().zip(&self.sigma);
        let largest = sizes.map(|(theta, sigma)| sigma / theta.hypot(1.0));
        self.needed = telling(&self.terms, largest.fold(0.0, f64::max));
    }

    /// Σ m (φ_c − 1) here.
    fn sum(&self) -> Complex {
        let (mut re, mut im) = (Row::default(), Row::default());
        for lane in 0..ABREAST {
            let (a, b) = (self.price.re[lane], self.price.im[lane]);
            let plain = 1.0 - self.share + self.share * self.premium.re[lane];
            let turned = self.share * self.premium.im[lane];
            re[lane] = self.weight[lane] * (a * plain - b * turned - 1.0);
            im[lane] = self.weight[lane] * (a * turned + b * plain);
        }
        Complex {
            re: re.iter().sum(),
            im: im.iter().sum(),
        }
    }

    /// One step on.
    fn advance(&mut self) {
        if !self.terms.is_empty() {
            self.grow();
        }
        self.price.turn(&self.turn);
        if self.share > 0.0 {
            self.premium.turn(&self.premium_turn);
        }
    }

    /// The gamma's factor from θ to θ + σ: Σ c_j z^j with real c_j, by b_j = c_j + 2 Re z b_(j+1) − |z|² b_(j+2).
    fn grow(&mut self) {
        let (mut zr, mut zi, mut square) = (Row::default(), Row::default(), Row::default());
        for lane in 0..ABREAST {
            let (theta, sigma) = (self.theta[lane], self.sigma[lane]);
            let part = sigma / (1.0 + theta * theta);
            zr[lane] = -theta * part;
            zi[lane] = part;
            square[lane] = sigma * part;
        }
        let twice = zr.map(|re| 2.0 * re);
        let (mut here, mut after) = (Row::default(), Row::default());
        for term in self.terms[..self.needed].iter().rev() {
            for lane in 0..ABREAST {
                // What waits for the term before comes last.
                let next = term - square[lane] * after[lane] + twice[lane] * here[lane];
                after[lane] = here[lane];
                here[lane] = next;
            }
        }
        let mut by = Rows::default();
        for lane in 0..ABREAST {
            by.re[lane] = 1.0 + zr[lane] * here[lane] - square[lane] * after[lane];
            by.im[lane] = zi[lane] * here[lane];
            self.theta[lane] += self.sigma[lane];
        }
        self.price.turn(&by);
    }
}

/// (1 − iθ)^(−a) e^(i t certain).
fn price_at(law: &CostLaw, t: f64, certain: f64) -> Complex {
    match gamma_of(law) {
        Some((shape, scale)) => {
            let theta = t * scale;
            let modulus = (-0.5 * shape * (theta * theta).ln_1p()).exp();
            Complex::polar(modulus, shape * theta.atan() + t * certain)
        }
        None => Complex::polar(1.0, t * certain),
    }
}

/// What a term adds is left out once it is smaller than this.
const LAST_BIT: f64 = 1e-17;

/// C(a + j − 1, j) until what they add at |z| = σ is below the last bit; `None` where that takes too many.
fn terms_of(shape: f64, sigma: f64) -> Option<Vec<f64>> {
    let (mut all, mut term, mut size) = (Vec::new(), 1.0, 1.0);
    for j in 1..=TERMS {
        let place = j as f64;
        let by = (shape + place - 1.0) / place;
        term *= by;
        size *= by * sigma;
        all.push(term);
        if size < LAST_BIT && by * sigma < 0.5 {
            return Some(all);
        }
    }
    None
}

/// How many of the terms add anything at this |z|.
fn telling(terms: &[f64], size: f64) -> usize {
    let mut power = 1.0;
    let tells = |term: &f64| {
        power *= size;
        term * power >= LAST_BIT
    };
    // Sizes rise at most at first: the last one that tells counts.
    let last = terms.iter().map(tells).collect::<Vec<_>>();
    last.iter().rposition(|tells| *tells).map_or(0, |j| j + 1)
}

/// ψ(u) = Σ m (φ_c(d u) − 1) of one course, step by step.
pub(crate) struct Psi {
    carried: Vec<Carried>,
    /// Years that are made anew at every step.
    anew: Vec<YearOfFailures>,
    grid: f64,
    at: usize,
}

impl Psi {
    pub fn new(costs: &FailureCosts, step: f64) -> Self {
        let mut by_law: Vec<(CostLaw, Vec<YearOfFailures>)> = Vec::new();
        for year in costs.telling() {
            match by_law.iter_mut().find(|(law, _)| *law == year.law) {
                Some((_, years)) => years.push(*year),
                None => by_law.push((year.law, vec![*year])),
            }
        }
        let (mut carried, mut anew) = (Vec::new(), Vec::new());
        for (law, years) in by_law {
            let far = years.iter().map(|y| y.discount).fold(0.0, f64::max) * step;
            let terms = match gamma_of(&law) {
                Some((shape, scale)) => terms_of(shape, far * scale),
                None => Some(Vec::new()),
            };
            let Some(terms) = terms else {
                anew.extend(years);
                continue;
            };
            let rows = years.chunks(ABREAST);
            carried.extend(rows.map(|some| Carried::of(some, law, step, terms.clone())));
        }
        Self {
            carried,
            anew,
            grid: step,
            at: 0,
        }
    }

    /// ψ at the next place of the grid.
    pub fn step(&mut self) -> Complex {
        let u = (self.at as f64 + 0.5) * self.grid;
        let renew = self.at.is_multiple_of(RENEWED);
        self.at += 1;
        let mut psi = Complex { re: 0.0, im: 0.0 };
        for some in &mut self.carried {
            if renew {
                some.renew(u);
            } else {
                some.advance();
            }
            let sum = some.sum();
            psi.re += sum.re;
            psi.im += sum.im;
        }
        for year in &self.anew {
            let (certain, premium, share) = certain_of(&year.law);
            let t = year.discount * u;
            let turned = Complex::polar(share, t * premium);
            let one = price_at(&year.law, t, certain).times(Complex {
                re: 1.0 - share + turned.re,
                im: turned.im,
            });
            psi.re += year.expected * (one.re - 1.0);
            psi.im += year.expected * one.im;
        }
        psi
    }
}
