//! Scores of past forecasts against what happened (FORECAST §10).
use numerics::{CountLaw, End, Local, maximise};

/// A forecast whose period is over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scored {
    /// Law of the number of failures.
    pub law: CountLaw,
    /// Failures that happened.
    pub observed: u64,
}

impl Scored {
    /// Chance of at least one.
    pub fn chance(&self) -> f64 {
        self.law.at_least_one()
    }

    /// Whether at least one happened.
    pub fn happened(&self) -> bool {
        self.observed > 0
    }

    /// (chance − outcome)².
    pub fn brier(&self) -> f64 {
        (self.chance() - f64::from(u8::from(self.happened()))).powi(2)
    }

    /// ln of the chance given to "at least one" or to "none", whichever happened.
    pub fn ln_event(&self) -> f64 {
        if self.happened() {
            self.chance().ln()
        } else {
            self.law.ln_none()
        }
    }

    /// ln of the chance given to the number that happened.
    pub fn ln_count(&self) -> f64 {
        self.law.ln_chance(self.observed)
    }

    /// Continuous ranked probability score Σ_j (F(j) − 1[j ≥ y])².
    pub fn crps(&self) -> f64 {
        let (mut below, mut sum) = (0.0, 0.0);
        for (j, ln_p) in self.law.ln_chances().take(1_000_000).enumerate() {
            below += ln_p.exp();
            let passed = j as u64 >= self.observed;
            sum += (below - f64::from(u8::from(passed))).powi(2);
            if passed && (1.0 - below).abs() < 1e-15 {
                break;
            }
        }
        sum
    }

    /// F(y − 1) and F(y).
    fn edges(&self) -> (f64, f64) {
        let below: f64 = self
            .law
            .ln_chances()
            .take(self.observed as usize)
            .map(f64::exp)
            .sum();
        (below, below + self.ln_count().exp())
    }
}

/// Mean of a score; `None` without forecasts.
pub fn mean(scored: &[Scored], score: impl Fn(&Scored) -> f64) -> Option<f64> {
    (!scored.is_empty()).then(|| scored.iter().map(score).sum::<f64>() / scored.len() as f64)
}

/// P(score_i > score_j | outcome_i > outcome_j), ties one half; `None` without a pair.
pub fn concordance(pairs: &[(f64, f64)]) -> Option<f64> {
    let (mut won, mut all) = (0.0, 0.0);
    for a in pairs {
        for b in pairs.iter().filter(|b| a.1 > b.1) {
            all += 1.0;
            won += match a.0.total_cmp(&b.0) {
                std::cmp::Ordering::Greater => 1.0,
                std::cmp::Ordering::Equal => 0.5,
                std::cmp::Ordering::Less => 0.0,
            };
        }
    }
    (all > 0.0).then(|| won / all)
}

/// Area under the curve of the chance against "at least one".
pub fn auc(scored: &[Scored]) -> Option<f64> {
    let pairs: Vec<(f64, f64)> = scored
        .iter()
        .map(|s| (s.chance(), f64::from(u8::from(s.happened()))))
        .collect();
    concordance(&pairs)
}

/// Concordance of expected and observed counts.
pub fn count_concordance(scored: &[Scored]) -> Option<f64> {
    let pairs: Vec<(f64, f64)> = scored
        .iter()
        .map(|s| (s.law.mean, s.observed as f64))
        .collect();
    concordance(&pairs)
}

/// (observed, expected) failures.
pub fn observed_expected(scored: &[Scored]) -> (f64, f64) {
    scored.iter().fold((0.0, 0.0), |(o, e), s| {
        (o + s.observed as f64, e + s.law.mean)
    })
}

/// 95 % interval of observed over expected: O/E exp(∓1.959964 √((1 + θē)/O)).
pub fn observed_expected_ci95(scored: &[Scored], theta: f64) -> Option<(f64, f64)> {
    let (o, e) = observed_expected(scored);
    (o > 0.0 && e > 0.0).then(|| {
        let reach = (Z95 * ((1.0 + theta * e / scored.len() as f64) / o).sqrt()).exp();
        (o / e / reach, o / e * reach)
    })
}

/// 97.5 % point of the standard normal.
pub const Z95: f64 = 1.959_963_984_540_054;
/// 90 % point of the standard normal.
pub const Z80: f64 = 1.281_551_565_544_600_4;

/// Intercept and slope of the logistic regression of the event on logit(chance); perfect calibration is (0, 1).
/// `None` without a maximum (all happened, none happened, or perfectly ranked).
pub fn calibration(scored: &[Scored]) -> Option<(f64, f64)> {
    let logits: Vec<(f64, f64)> = scored
        .iter()
        .map(|s| {
            (
                s.chance().ln() - s.law.ln_none(),
                f64::from(u8::from(s.happened())),
            )
        })
        .filter(|(x, _)| x.is_finite())
        .collect();
    let found = maximise(
        &[0.0, 1.0],
        &[true, true],
        &[(-50.0, 50.0), (-50.0, 50.0)],
        |p| {
            let mut sum = Local::zero(2);
            for (x, y) in &logits {
                let eta = p[0] + p[1] * x;
                let share = 1.0 / (1.0 + (-eta).exp());
                sum.value += y * eta - eta.max(0.0) - (-eta.abs()).exp().ln_1p();
                let (gap, bend) = (y - share, share * (1.0 - share));
                sum.gradient[0] += gap;
                sum.gradient[1] += gap * x;
                sum.hessian[(0, 0)] -= bend;
                sum.hessian[(1, 1)] -= bend * x * x;
                sum.hessian[(0, 1)] -= bend * x;
            }
            sum.hessian[(1, 0)] = sum.hessian[(0, 1)];
            Some(sum)
        },
    );
    (found.end == End::Converged).then(|| (found.at[0], found.at[1]))
}

/// One line of the calibration table.
#[derive(Clone, Debug, PartialEq)]
pub struct Bin {
    /// Forecasts in it.
    pub n: usize,
    /// Their mean chance; `None` if there are none.
    pub mean_chance: Option<f64>,
    /// How many of them failed.
    pub failed: usize,
    /// Wilson's 80 % interval of the share that failed.
    pub ci80: Option<(f64, f64)>,
}

/// Forecasts by chance, in bins [edge, next edge).
pub fn calibration_table(scored: &[Scored], edges: &[f64]) -> Vec<Bin> {
    edges
        .windows(2)
        .map(|e| {
            let here: Vec<&Scored> = scored
                .iter()
                .filter(|s| (e[0]..e[1]).contains(&s.chance()))
                .collect();
            let failed = here.iter().filter(|s| s.happened()).count();
            let n = here.len();
            Bin {
                n,
                mean_chance: (n > 0)
                    .then(|| here.iter().map(|s| s.chance()).sum::<f64>() / n as f64),
                failed,
                ci80: wilson(failed as f64, n as f64, Z80),
            }
        })
        .collect()
}

/// Wilson's interval of a share; `None` for n = 0.
pub fn wilson(hits: f64, n: f64, z: f64) -> Option<(f64, f64)> {
    (n > 0.0).then(|| {
        let (share, z2) = (hits / n, z * z);
        let centre = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
        let reach = z / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
        ((centre - reach).max(0.0), (centre + reach).min(1.0))
    })
}

/// Non-randomised distribution of the probability integral transform at u: even (u) where forecasts are calibrated.
pub fn pit(scored: &[Scored], u: f64) -> Option<f64> {
    mean(scored, |s| {
        let (below, upto) = s.edges();
        ((u - below) / (upto - below)).clamp(0.0, 1.0)
    })
}

/// Five groups by rising chance, the first ones larger by one where uneven: (n, mean chance, share that failed).
pub fn fifths(scored: &[Scored]) -> Vec<(usize, f64, f64)> {
    let mut sorted = scored.to_vec();
    sorted.sort_by(|a, b| a.chance().total_cmp(&b.chance()));
    let (size, extra) = (sorted.len() / 5, sorted.len() % 5);
    let mut rest = sorted.as_slice();
    (0..5)
        .filter_map(|i| {
            let (here, after) = rest.split_at(size + usize::from(i < extra));
            rest = after;
            let failed = mean(here, |s| f64::from(u8::from(s.happened())))?;
            Some((here.len(), mean(here, Scored::chance)?, failed))
        })
        .collect()
}

/// Paired difference of two scores, positive where ours is better, with a standard error that lets everything in one
/// group be dependent: se = √(G/(G−1) Σ_g (Σ_{i∈g} (d_i − mean))²)/n.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Versus {
    /// Mean difference.
    pub mean: f64,
    /// Standard error.
    pub se: f64,
    /// 95 % interval.
    pub ci95: (f64, f64),
    /// Lower end above 0.
    pub better: bool,
}

/// Differences with their groups (building); `None` with fewer than two groups.
pub fn versus(differences: &[(&str, f64)]) -> Option<Versus> {
    let n = differences.len() as f64;
    let mean = differences.iter().map(|d| d.1).sum::<f64>() / n;
    let mut groups: std::collections::BTreeMap<&str, f64> = std::collections::BTreeMap::new();
    for (group, d) in differences {
        *groups.entry(group).or_default() += d - mean;
    }
    let g = groups.len() as f64;
    (g > 1.0).then(|| {
        let se = (g / (g - 1.0) * groups.values().map(|v| v * v).sum::<f64>()).sqrt() / n;
        let ci95 = (mean - Z95 * se, mean + Z95 * se);
        Versus {
            mean,
            se,
            ci95,
            better: ci95.0 > 0.0,
        }
    })
}
