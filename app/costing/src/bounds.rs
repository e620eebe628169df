//! How far an advantage can at most move as a multiplier does: what lets a walk take many steps in one stride.
//!
//! Let h_i = φ m_i be the hazard of year i, p_i = 1 − e^(−h_i), S_i the chance of standing after it, H_i = Σ_(j≤i) h_j,
//! u_i = v^(i−½) R_i − A* Δ_i + p_i v^i (x(i) + e) what year i costs a unit that stands at its start, Δ_i = annuity(i) −
//! annuity(i−1). W\[k\] = Σ_(i≤k) S_(i−1) u_i with x(k) in place of p_k x(k) in its last year. Where every x(k) stays as it is,
//! each bound here is the sum of the sizes of what the derivative of W\[k\] is made of, at their largest; k does not matter,
//! as every term is counted for the longest course.
use crate::case::CheckedCase;
use crate::chain::{first_cost, running_of};
use crate::rates::Discounts;
use crate::weigh::{Levers, Weighed, old_failure};

/// One year of keeping the old unit, at the levers as given.
struct Year {
    /// R_i without failures, and the failures' cost, pounds.
    fixed: f64,
    fails: f64,
    /// h_i.
    hazard: f64,
    /// |x(i)| and |x(i)| + e, pounds.
    starts: f64,
    lost: f64,
}

fn years(checked: &CheckedCase, weighed: &Weighed) -> Vec<Year> {
    let old = &checked.case.old;
    let levers = Levers::default();
    (0..checked.going.len())
        .map(|i| {
            let x = weighed.start.get(i + 1).copied().flatten();
            let starts = x.map_or(0.0, |(x, _)| x.abs());
            Year {
                fixed: checked.service[i] + checked.energy[i] + checked.other[i],
                fails: checked.going[i] * old_failure(old, i, &levers),
                hazard: old.write_off_share * checked.faults[i],
                starts,
                lost: starts + old.write_off_premium,
            }
        })
        .collect()
}

/// Of multiplying how often the old unit fails, or only how many of its failures are beyond repair.
pub(crate) struct OfFailures {
    years: Vec<Discounted>,
    beyond_repair_only: bool,
}

/// The same in today's money.
struct Discounted {
    fixed: f64,
    fails: f64,
    hazard: f64,
    starts: f64,
    lost: f64,
}

impl OfFailures {
    pub fn new(
        checked: &CheckedCase,
        (weighed, table): (&Weighed, &Discounts),
        beyond_repair_only: bool,
    ) -> Self {
        let least = weighed.least_annual.unwrap_or(0.0);
        let years = years(checked, weighed).into_iter().enumerate();
        let years = years.map(|(i, year)| Discounted {
            fixed: table.middle[i] * year.fixed - least * (table.annuity[i + 1] - table.annuity[i]),
            fails: table.middle[i] * year.fails,
            hazard: year.hazard,
            starts: table.end[i + 1] * year.starts,
            lost: table.end[i + 1] * year.lost,
        });
        Self {
            years: years.collect(),
            beyond_repair_only,
        }
    }

    /// Pounds by which W can move for each 1 that the multiplier m does, up to m = `most`.
    ///
    /// With all failures, u_i = fixed + m fails + p_i(m) lost: |dW/dm| ≤ Σ (fails + h lost) + Σ H_(i−1) (|fixed| + m (fails + h
    /// lost)) + max_k H_(k−1) v^k |x(k)|. With those beyond repair only, fails is fixed, too.
    pub fn slope(&self, most: f64) -> f64 {
        let (mut sum, mut ends, mut hazards) = (0.0, 0.0_f64, 0.0);
        for year in &self.years {
            let lost = year.hazard * year.lost;
            let (moves, size) = if self.beyond_repair_only {
                (lost, (year.fixed + year.fails).abs() + most * lost)
            } else {
                let moves = year.fails + lost;
                (moves, year.fixed.abs() + most * moves)
            };
            sum += moves + hazards * size;
            ends = ends.max(hazards * year.starts);
            hazards += year.hazard;
        }
        sum + ends
    }
}

/// Of multiplying every rate, for cases whose options may all be had alike: then x(k) is the same at any rate.
pub(crate) struct OfRate {
    years: Vec<Year>,
    /// Logarithms of the multipliers between which `slope` holds.
    from: f64,
    until: f64,
    slope: f64,
}

/// A slope is worked out for so long a stretch of the multiplier's logarithm.
const STRETCH: f64 = 0.2;

impl OfRate {
    /// `None` where the options differ in when they may be had, in a grant or in what they cost at once: which of them is the
    /// best then hangs on the rate itself.
    pub fn new(checked: &CheckedCase, weighed: &Weighed) -> Option<Self> {
        let options = &checked.case.options;
        let first = options.first()?;
        let alike = options.iter().all(|o| {
            (o.from, o.to, o.grant_to) == (first.from, first.to, first.grant_to)
                && (o.grant, o.unplanned_premium) == (first.grant, first.unplanned_premium)
                && o.leaves_fault == first.leaves_fault
        });
        alike.then(|| Self {
            years: years(checked, weighed),
            from: 0.0,
            until: 0.0,
            slope: f64::INFINITY,
        })
    }

    /// The logarithm of a multiplier up to which an advantage of this size cannot be gone, from `log` on.
    pub fn reach(&mut self, checked: &CheckedCase, log: f64, size: f64, up: bool) -> f64 {
        let inside = if up {
            (self.from..self.until).contains(&log)
        } else {
            self.from < log && log <= self.until
        };
        if !inside {
            (self.from, self.until) = if up {
                (log, log + STRETCH)
            } else {
                (log - STRETCH, log)
            };
            self.slope = self.between(checked);
        }
        let far = size / self.slope;
        if up {
            f64::min(log + far, self.until)
        } else {
            f64::max(log - far, self.from)
        }
    }

    /// Pounds by which W can move for each 1 that the logarithm of the multiplier does, anywhere between `from` and `until`.
    ///
    /// −d ln D(k)/d ln(multiplier) = δ_k = Σ_(j≤k) r_j/(1 + r_j), and of D(i − ½) the same to half of year i. Worths are largest
    /// at the lowest rates (a), every δ at the highest (b). A year's own part: |δ v^(i−½) R_i − δ A* v^i| is at most the larger of
    /// the two where both are above nought, else their sum; A* itself moves by at most [`chain_slope`].
    fn between(&self, checked: &CheckedCase) -> f64 {
        let (a, b) = (
            Discounts::for_case(checked, self.from.exp()),
            Discounts::for_case(checked, self.until.exp()),
        );
        let fade = fading(&b);
        let moves = chain_slope(checked, (&a, &b), &fade);
        let least = least_annual(checked, &a);
        let largest = least.abs() + moves * (self.until - self.from);
        let level = least - moves * (self.until - self.from) >= 0.0;
        let (mut sum, mut ends, mut stands) = (0.0, 0.0_f64, 1.0);
        for (i, year) in self.years.iter().enumerate() {
            let worth = a.end[i + 1];
            let running = year.fixed + year.fails;
            let (paid, chain) = (
                a.middle[i] * running.abs() * fade[i + 1],
                largest * worth * fade[i + 1],
            );
            let own = if level && running >= 0.0 {
                paid.max(chain)
            } else {
                paid + chain
            };
            let lost = -(-year.hazard).exp_m1();
            sum += stands * (own + moves * worth + fade[i + 1] * worth * lost * year.lost);
            ends = ends.max(stands * fade[i + 1] * worth * year.starts);
            stands *= 1.0 - lost;
        }
        sum + ends
    }
}

/// δ_k, k = 0, 1, …
fn fading(table: &Discounts) -> Vec<f64> {
    let mut sum = 0.0;
    let mut all = vec![0.0];
    for pair in table.end.windows(2) {
        sum += 1.0 - pair[1] / pair[0];
        all.push(sum);
    }
    all
}

/// By how much A* can move for each 1 of the multiplier's logarithm, between the rates of `a` and of `b`.
///
/// A(n) = (K + Σ v^(i−½) R_i + v^n disposal)/annuity(n) moves by (K t + Σ v^(i−½) R_i (t − δ_i) + v^n disposal (t − δ_n))/
/// annuity(n), t = Σ_(j≤n) v^j δ_j/annuity(n), each of t and δ_i between 0 and δ_n.
fn chain_slope(checked: &CheckedCase, (a, b): (&Discounts, &Discounts), fade: &[f64]) -> f64 {
    let levers = Levers::default();
    let mut most = 0.0_f64;
    for (o, option) in checked.case.options.iter().enumerate() {
        let (mut spent, mut mean) = (0.0, 0.0);
        for (i, running) in running_of(checked, o, &levers).enumerate() {
            let n = i + 1;
            spent += a.middle[i] * running.abs();
            mean += a.end[n] * fade[n];
            let late = f64::min(mean / b.annuity[n], fade[n]);
            let rest = spent + a.end[n] * option.disposal.abs();
            let moves = first_cost(option, &levers) * late + rest * fade[n];
            most = most.max(moves / b.annuity[n]);
        }
    }
    most
}

/// A*.
fn least_annual(checked: &CheckedCase, table: &Discounts) -> f64 {
    let mut series = Vec::new();
    (0..checked.case.options.len())
        .map(|o| {
            let at = (&Levers::default(), table);
            crate::chain::best_chain(checked, o, at, &mut series).annual
        })
        .fold(f64::INFINITY, f64::min)
}
