//! What stands out: groups of units (a building, a batch, a branch, an installer) that fail together more often than luck
//! would have it, judged by shuffling.
//!
//! A unit's score is that of a common factor on its rate, U = (n − μ)/(1 + θμ). Under "groups mean nothing" the scores of
//! units with about the same μ may change places: they are shuffled within strata of μ (a factor of two), and a group's sum is put on the
//! scale of its own mean and spread under shuffling. Each shuffle keeps the largest value over all groups of all kinds, so
//! that the chance answered allows for how many groups were looked at (the step-down's first step of P. Westfall and S.
//! Young, "Resampling-based multiple testing", 1993, from memory).
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde::{Deserialize, Serialize};

/// Shuffles; the smallest chance that can be answered is 1 in one more than these.
pub const SHUFFLES: u32 = 1999;
/// A group is said to stand out when luck, over all groups looked at, does it at most this often (judgement).
pub const LEVEL: f64 = 1.0 / 200.0;
/// Units a group must have, and must leave outside, to be looked at.
pub const LEAST_UNITS: usize = 3;
/// Failures a group must have to be spoken of.
const LEAST_FAILURES: u32 = 3;
/// Units a stratum has at least.
const STRATUM: usize = 20;
/// The largest expected number of a stratum is this many times its smallest, where there are units enough.
const ALIKE: f64 = 2.0;

/// One unit as watched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watched {
    /// Failures.
    pub failures: u32,
    /// Failures expected of such a unit over the same time.
    pub expected: f64,
}

/// The units of one kind, and the groups they fall into; groups may overlap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kind {
    /// Its units.
    pub units: Vec<Watched>,
    /// Variance of z in its fit.
    pub theta: f64,
    /// Places in `units` of each group's members.
    pub groups: Vec<Vec<usize>>,
}

/// A group that stands out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// Place of the kind.
    pub kind: usize,
    /// Place of the group in the kind.
    pub group: usize,
    /// Its failures.
    pub failures: u32,
    /// Failures expected of its units.
    pub expected: f64,
    /// Units of it that failed.
    pub failed_units: usize,
    /// How often luck does as much in some group of all looked at.
    pub luck: f64,
    /// How often luck does as much in this very group.
    pub luck_alone: f64,
}

/// What a look found.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Look {
    /// Groups looked at.
    pub groups: usize,
    /// Kinds they are of.
    pub kinds: usize,
    /// The smallest chance of luck of any group, allowing for all; 1 where none was looked at.
    pub least: f64,
    /// The least likely first.
    pub findings: Vec<Finding>,
}

/// A kind made ready: scores by stratum, and each group's members, mean and spread.
struct Ready {
    kind: usize,
    scores: Vec<f64>,
    /// Where each stratum begins in the order of μ, and the end.
    cuts: Vec<usize>,
    groups: Vec<Members>,
}

struct Members {
    group: usize,
    /// Places in the order of μ.
    places: Vec<usize>,
    mean: f64,
    sd: f64,
}

impl Members {
    fn statistic(&self, scores: &[f64]) -> f64 {
        let sum: f64 = self.places.iter().map(|i| scores[*i]).sum();
        (sum - self.mean) / self.sd
    }
}

/// Looks at every group of every kind. The seed comes from the caller's digest of the data, so that the same data give
/// the same answer and nobody chooses it.
pub fn look(kinds: &[Kind], seed: [u8; 32]) -> Look {
    let mut ready: Vec<Ready> = kinds
        .iter()
        .enumerate()
        .map(|(place, kind)| Ready::new(place, kind))
        .filter(|r| !r.groups.is_empty())
        .collect();
    let seen: Vec<Vec<f64>> = ready
        .iter()
        .map(|r| r.groups.iter().map(|g| g.statistic(&r.scores)).collect())
        .collect();
    let mut alone: Vec<Vec<u32>> = seen.iter().map(|s| vec![0; s.len()]).collect();
    let mut above = alone.clone();
    let mut rng = ChaCha8Rng::from_seed(seed);
    for _ in 0..SHUFFLES {
        let mut top = f64::NEG_INFINITY;
        for (k, one) in ready.iter_mut().enumerate() {
            one.shuffle(&mut rng);
            for (g, members) in one.groups.iter().enumerate() {
                let statistic = members.statistic(&one.scores);
                top = top.max(statistic);
                alone[k][g] += u32::from(reaches(statistic, seen[k][g]));
            }
        }
        for (k, own) in seen.iter().enumerate() {
            for (g, statistic) in own.iter().enumerate() {
                above[k][g] += u32::from(reaches(top, *statistic));
            }
        }
    }
    let share = |count: u32| f64::from(count + 1) / f64::from(SHUFFLES + 1);
    let (mut findings, mut least) = (Vec::new(), 1.0_f64);
    for (k, one) in ready.iter().enumerate() {
        for (g, members) in one.groups.iter().enumerate() {
            let kind = &kinds[one.kind];
            let units = kind.groups[members.group].iter().map(|i| kind.units[*i]);
            let finding = Finding {
                kind: one.kind,
                group: members.group,
                failures: units.clone().map(|u| u.failures).sum(),
                expected: units.clone().map(|u| u.expected).sum(),
                failed_units: units.filter(|u| u.failures > 0).count(),
                luck: share(above[k][g]),
                luck_alone: share(alone[k][g]),
            };
            least = least.min(finding.luck);
            let together = finding.failures >= LEAST_FAILURES && finding.failed_units >= 2;
            if finding.luck <= LEVEL && together {
                findings.push(finding);
            }
        }
    }
    findings.sort_by(|a, b| {
        (a.luck, a.luck_alone)
            .partial_cmp(&(b.luck, b.luck_alone))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    Look {
        groups: ready.iter().map(|r| r.groups.len()).sum(),
        kinds: ready.len(),
        least,
        findings,
    }
}

/// As large, but for the rounding of two sums of the same numbers in another order.
fn reaches(value: f64, mark: f64) -> bool {
    value >= mark - 1e-9 * (1.0 + mark.abs())
}

/// Where the strata of rising expected numbers begin, and the end: units of which about as many are expected stay
/// together, equal ones always.
fn strata(means: &[f64]) -> Vec<usize> {
    let mut cuts = vec![0];
    for (at, mean) in means.iter().enumerate() {
        let from = cuts.last().copied().unwrap_or(0);
        let unlike = *mean > ALIKE * means[from];
        if unlike && at - from >= STRATUM && means.len() - at >= STRATUM {
            cuts.push(at);
        }
    }
    cuts.push(means.len());
    cuts
}

impl Ready {
    fn new(place: usize, kind: &Kind) -> Self {
        let mut order: Vec<usize> = (0..kind.units.len()).collect();
        order.sort_by(|&a, &b| {
            let key = |i: usize| kind.units[i].expected;
            key(a).total_cmp(&key(b)).then(a.cmp(&b))
        });
        let scores: Vec<f64> = order
            .iter()
            .map(|&i| {
                let unit = kind.units[i];
                (f64::from(unit.failures) - unit.expected) / (1.0 + kind.theta * unit.expected)
            })
            .collect();
        let mut rank = vec![0; order.len()];
        order.iter().enumerate().for_each(|(at, &i)| rank[i] = at);
        let means: Vec<f64> = order.iter().map(|&i| kind.units[i].expected).collect();
        let cuts = strata(&means);
        let mut one = Self {
            kind: place,
            scores,
            cuts,
            groups: Vec::new(),
        };
        for (group, members) in kind.groups.iter().enumerate() {
            let mut places: Vec<usize> = members.iter().map(|i| rank[*i]).collect();
            places.sort_unstable();
            places.dedup();
            if places.len() < LEAST_UNITS || places.len() + LEAST_UNITS > order.len() {
                continue;
            }
            let (mean, variance) = one.under_shuffling(&places);
            if variance > 1e-12 {
                one.groups.push(Members {
                    group,
                    places,
                    mean,
                    sd: variance.sqrt(),
                });
            }
        }
        one
    }

    /// Mean and variance of a group's sum when scores change places within strata: m of N drawn without replacement have
    /// mean m times the stratum's and variance m (N − m)/(N − 1) times its variance.
    fn under_shuffling(&self, places: &[usize]) -> (f64, f64) {
        let (mut mean, mut variance) = (0.0, 0.0);
        for cut in self.cuts.windows(2) {
            let own = &self.scores[cut[0]..cut[1]];
            let m = places
                .iter()
                .filter(|p| (cut[0]..cut[1]).contains(*p))
                .count() as f64;
            let all = own.len() as f64;
            if own.len() < 2 {
                mean += m * own.first().copied().unwrap_or(0.0);
                continue;
            }
            let centre = own.iter().sum::<f64>() / all;
            let spread = own.iter().map(|u| (u - centre).powi(2)).sum::<f64>() / all;
            mean += m * centre;
            variance += m * (all - m) / (all - 1.0) * spread;
        }
        (mean, variance)
    }

    fn shuffle(&mut self, rng: &mut ChaCha8Rng) {
        for cut in self.cuts.windows(2) {
            let own = &mut self.scores[cut[0]..cut[1]];
            for i in (1..own.len()).rev() {
                // The bias of the multiplication is below 1 in 4 thousand million for any estate.
                let j = (u64::from(rng.next_u32()) * (i as u64 + 1)) >> 32;
                own.swap(i, j as usize);
            }
        }
    }
}
