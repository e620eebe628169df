//! How right past forecasts were, in one answer: sums against luck, scores, calibration, and the three ways to beat.
use numerics::count::{chances_until, convolve, table_quantile};
use serde::{Deserialize, Serialize};

use crate::baselines::Said;
use crate::dice::Dice;
use crate::score::{
    self, Scored, Versus, calibration, calibration_table, count_concordance, mean, versus,
};

/// Failures needed before more than the sums is said (FORECAST §10).
pub const LEAST_FAILURES: u64 = 30;
/// Groups (buildings) needed before everything in one is taken as dependent; below, the unit is the group (§10).
pub const LEAST_GROUPS: usize = 8;
/// Resamples of the bootstrap.
const RESAMPLES: usize = 2000;
/// Seed of the bootstrap: fixed, so that the same record gives the same interval.
const SEED: u64 = 1;
/// Units, and variance of their sum, up to which its law is found by convolution; above, by its mean and variance.
const CONVOLVED: usize = 2000;
const WIDE: f64 = 2500.0;
/// Edges of the groups of chances said.
pub const EDGES: [f64; 6] = [0.0, 0.075, 0.13, 0.2, 0.35, 1.01];

/// One forecast whose period is over.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Its building.
    pub group: String,
    /// Its unit.
    pub unit: String,
    /// Said each way, and what happened.
    pub scored: Said<Scored>,
}

/// Scores of one way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scores {
    /// Mean ln of the chance given to the number that happened.
    pub ln_count: f64,
    /// Mean ln of the chance given to "at least one" or "none", whichever happened.
    pub ln_event: f64,
    /// Mean (chance − outcome)².
    pub brier: f64,
    /// P(expected_i > expected_j | happened_i > happened_j), ties one half.
    pub concordance: Option<f64>,
    /// Mean continuous ranked probability score Σ_j (F(j) − 1[j ≥ n])², in failures; 0 is perfect (FORECAST §10).
    #[serde(default)]
    pub crps: f64,
    /// Failures it expected.
    pub expected: f64,
    /// Units that failed among the fifth it had named; a tie is shared out.
    pub named: f64,
}

/// Ours against one other way: log score of the count, positive where ours is better.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Against {
    /// Mean difference a forecast.
    pub mean: f64,
    /// 95 % interval by the standard error that lets all in one group be dependent.
    pub ci95: (f64, f64),
    /// 95 % interval by resampling the groups.
    pub bootstrap95: (f64, f64),
}

impl Against {
    /// Ours is better: both intervals lie above 0.
    pub fn better(&self) -> bool {
        self.ci95.0 > 0.0 && self.bootstrap95.0 > 0.0
    }

    /// Ours is worse: both intervals lie below 0.
    pub fn worse(&self) -> bool {
        self.ci95.1 < 0.0 && self.bootstrap95.1 < 0.0
    }
}

/// One group of chances.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Forecasts in it.
    pub units: usize,
    /// Mean chance said.
    pub said: f64,
    /// Units expected to fail: the sum of the chances.
    pub expected: f64,
    /// Units that failed.
    pub failed: usize,
    /// Where 8 years in 10 the number that fail would fall by luck alone if the chances were right.
    pub luck: (u64, u64),
}

impl Group {
    /// Inside what luck does.
    pub fn inside(&self) -> bool {
        (self.luck.0..=self.luck.1).contains(&(self.failed as u64))
    }
}

/// What is said of a set of forecasts whose period is over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// Forecasts.
    pub forecasts: usize,
    /// Failures expected.
    pub expected: f64,
    /// Failures that happened.
    pub happened: u64,
    /// Units that failed at least once.
    pub failed: usize,
    /// Where 8 in 10 the number of failures would fall by luck alone if we were right.
    pub luck80: (u64, u64),
    /// Where 19 in 20 would.
    pub luck95: (u64, u64),
    /// Scores each way.
    pub scores: Said<Scores>,
    /// Against the kind's average, age alone and the prior alone; none with fewer than two groups.
    pub against: Option<[Against; 3]>,
    /// Whether the unit, and not the building, is the group (fewer than [`LEAST_GROUPS`] buildings).
    pub by_unit: bool,
    /// Buildings the forecasts stood in.
    #[serde(default)]
    pub buildings: usize,
    /// How much more unlike units failed than chance makes them where all have the kind's average rate: Σ[(n − m)² − n]
    /// over √(2 Σm²), about standard normal if they are alike (FORECAST §2, the score for θ at 0).
    #[serde(default)]
    pub unlike: f64,
    /// Groups of chances, from the least said; empty ones are left out.
    pub groups: Vec<Group>,
    /// Intercept and slope of the calibration; (0, 1) is perfect.
    pub calibration: Option<(f64, f64)>,
    /// How many were in the fifth named.
    pub fifth: usize,
    /// Where in what was said the number that happened fell: the share of forecasts in each tenth of the probability
    /// integral transform, not randomised, from the lowest; a tenth each where the doubt was stated rightly.
    #[serde(default)]
    pub pit: Vec<f64>,
}

/// Bars of the probability integral transform.
pub const PIT_BARS: usize = 10;

impl Judgement {
    /// Inside what luck does in 8 of 10.
    pub fn inside(&self) -> bool {
        (self.luck80.0..=self.luck80.1).contains(&self.happened)
    }

    /// Outside what luck does in 19 of 20: only then, or after leaning one way three times running, is a forecast
    /// changed.
    pub fn far_outside(&self) -> bool {
        !(self.luck95.0..=self.luck95.1).contains(&self.happened)
    }

    /// Too few failures for more than the sums.
    pub fn thin(&self) -> bool {
        self.happened < LEAST_FAILURES
    }
}

/// Judges forecasts whose period is over; `None` without any.
pub fn judge(cases: &[Case]) -> Option<Judgement> {
    let ours: Vec<Scored> = cases.iter().map(|c| c.scored.ours).collect();
    let average: Vec<Scored> = cases.iter().map(|c| c.scored.average).collect();
    let age: Vec<Scored> = cases.iter().map(|c| c.scored.age).collect();
    let prior: Vec<Scored> = cases.iter().map(|c| c.scored.prior).collect();
    let fifth = cases.len().div_ceil(5);
    let scores = Said {
        ours: scores(&ours, fifth)?,
        average: scores(&average, fifth)?,
        age: scores(&age, fifth)?,
        prior: scores(&prior, fifth)?,
    };
    let buildings: std::collections::BTreeSet<&str> =
        cases.iter().map(|c| c.group.as_str()).collect();
    let by_unit = buildings.len() < LEAST_GROUPS;
    let against = |other: &[Scored]| {
        let differences: Vec<(&str, f64)> = cases
            .iter()
            .zip(ours.iter().zip(other))
            .map(|(c, (a, b))| {
                let group = if by_unit { &c.unit } else { &c.group };
                (group.as_str(), a.ln_count() - b.ln_count())
            })
            .collect();
        compared(&differences)
    };
    let all = [against(&average), against(&age), against(&prior)];
    let (happened, expected) = score::observed_expected(&ours);
    Some(Judgement {
        forecasts: cases.len(),
        expected,
        happened: happened as u64,
        failed: ours.iter().filter(|s| s.happened()).count(),
        luck80: luck(&ours, 0.1),
        luck95: luck(&ours, 0.025),
        scores,
        against: match all {
            [Some(a), Some(b), Some(c)] => Some([a, b, c]),
            _ => None,
        },
        by_unit,
        buildings: buildings.len(),
        unlike: unlike(&average),
        groups: groups(&ours),
        calibration: calibration(&ours),
        fifth,
        pit: pit_bars(&ours),
    })
}

/// Shares of the transform in each of [`PIT_BARS`] equal steps; they add up to 1.
fn pit_bars(scored: &[Scored]) -> Vec<f64> {
    let edge = |bar: usize| match bar {
        0 => 0.0,
        PIT_BARS => 1.0,
        // Nothing said lies below nought, and all of it below one, whatever was rounded.
        bar => score::pit(scored, bar as f64 / PIT_BARS as f64).unwrap_or(0.0),
    };
    (0..PIT_BARS)
        .map(|bar| (edge(bar + 1) - edge(bar)).max(0.0))
        .collect()
}

fn unlike(average: &[Scored]) -> f64 {
    let (mut top, mut squares) = (0.0, 0.0);
    for one in average {
        let (n, m) = (one.observed as f64, one.law.mean);
        top += (n - m).powi(2) - n;
        squares += m * m;
    }
    if squares > 0.0 {
        top / (2.0 * squares).sqrt()
    } else {
        0.0
    }
}

fn scores(scored: &[Scored], fifth: usize) -> Option<Scores> {
    Some(Scores {
        ln_count: mean(scored, Scored::ln_count)?,
        ln_event: mean(scored, Scored::ln_event)?,
        brier: mean(scored, Scored::brier)?,
        crps: mean(scored, Scored::crps)?,
        concordance: count_concordance(scored),
        expected: score::observed_expected(scored).1,
        named: named(scored, fifth),
    })
}

/// Units that failed among the `fifth` with the most expected; where several share the last places, those places are
/// shared out evenly among them.
fn named(scored: &[Scored], fifth: usize) -> f64 {
    let mut sorted: Vec<&Scored> = scored.iter().collect();
    sorted.sort_by(|a, b| b.law.mean.total_cmp(&a.law.mean));
    let Some(edge) = fifth.checked_sub(1).and_then(|i| sorted.get(i)) else {
        return 0.0;
    };
    let edge = edge.law.mean;
    let above: Vec<_> = sorted.iter().filter(|s| s.law.mean > edge).collect();
    let tied: Vec<_> = sorted.iter().filter(|s| s.law.mean == edge).collect();
    let failed = |of: &[&&Scored]| of.iter().filter(|s| s.happened()).count() as f64;
    let share = (fifth - above.len()) as f64 / tied.len() as f64;
    failed(&above) + share * failed(&tied)
}

/// Points `tail` and 1 − `tail` of the number of failures if what was said is right, units independent of one another.
fn luck(scored: &[Scored], tail: f64) -> (u64, u64) {
    let mean: f64 = scored.iter().map(|s| s.law.mean).sum();
    let variance: f64 = scored.iter().map(|s| s.law.variance()).sum();
    if scored.len() > CONVOLVED || variance > WIDE {
        let reach = numerics::special::normal_quantile(1.0 - tail) * variance.sqrt();
        return (
            (mean - reach).max(0.0).round() as u64,
            (mean + reach).round() as u64,
        );
    }
    let law = scored.iter().fold(vec![1.0], |sum, s| {
        convolve(&sum, &chances_until(&s.law, 1e-10), 1e-10)
    });
    (table_quantile(&law, tail), table_quantile(&law, 1.0 - tail))
}

fn groups(scored: &[Scored]) -> Vec<Group> {
    let table = calibration_table(scored, &EDGES);
    let edges = EDGES.windows(2);
    table
        .into_iter()
        .zip(edges)
        .filter_map(|(bin, edge)| {
            let said = bin.mean_chance?;
            let here = scored
                .iter()
                .map(Scored::chance)
                .filter(|c| (edge[0]..edge[1]).contains(c));
            let law = here.fold(vec![1.0], |sum, c| convolve(&sum, &[1.0 - c, c], 1e-12));
            Some(Group {
                units: bin.n,
                said,
                expected: said * bin.n as f64,
                failed: bin.failed,
                luck: (table_quantile(&law, 0.1), table_quantile(&law, 0.9)),
            })
        })
        .collect()
}

/// The mean difference with both intervals; `None` with fewer than two groups.
pub fn compared(differences: &[(&str, f64)]) -> Option<Against> {
    let Versus { mean, ci95, .. } = versus(differences)?;
    let mut sums: std::collections::BTreeMap<&str, (f64, f64)> = std::collections::BTreeMap::new();
    for (group, d) in differences {
        let sum = sums.entry(group).or_default();
        *sum = (sum.0 + d, sum.1 + 1.0);
    }
    let groups: Vec<(f64, f64)> = sums.into_values().collect();
    let mut dice = Dice::new(SEED);
    let mut means: Vec<f64> = (0..RESAMPLES)
        .map(|_| {
            let (sum, n) = (0..groups.len())
                .map(|_| groups[dice.below(groups.len())])
                .fold((0.0, 0.0), |(s, n), g| (s + g.0, n + g.1));
            sum / n
        })
        .collect();
    means.sort_by(f64::total_cmp);
    let at = |q: f64| means[((q * RESAMPLES as f64) as usize).min(RESAMPLES - 1)];
    Some(Against {
        mean,
        ci95,
        bootstrap95: (at(0.025), at(0.975)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use numerics::CountLaw;

    /// Worked by hand: of two units with one failure expected, none and two are (1 + 1 − 2)/2 = 0, none and four
    /// (1 + 9 − 4)/2 = 3.
    #[test]
    fn units_are_unlike_where_their_counts_spread_more_than_chance() {
        let one = |observed| Scored {
            law: CountLaw {
                mean: 1.0,
                inv_size: 0.0,
            },
            observed,
        };
        assert_eq!(unlike(&[one(0), one(2)]), 0.0);
        assert_eq!(unlike(&[one(0), one(4)]), 3.0);
        assert!(unlike(&[one(1), one(1)]) < 0.0);
        assert_eq!(unlike(&[]), 0.0);
    }

    /// Worked by hand, Poisson with mean ln 2: none has the chance 1/2, so that a none spreads evenly over the lower five
    /// bars; one has (ln 2)/2 = 0.3466, from 0.5 to 0.8466, and lies over the sixth to the ninth.
    #[test]
    fn bars_of_the_transform_are_where_the_number_fell() {
        let one = |observed| Scored {
            law: CountLaw {
                mean: std::f64::consts::LN_2,
                inv_size: 0.0,
            },
            observed,
        };
        let near = |got: &[f64], wanted: &[f64]| {
            let pairs = got.iter().zip(wanted);
            assert!(pairs.clone().all(|(a, b)| (a - b).abs() < 1e-9), "{got:?}");
            assert_eq!(got.len(), wanted.len());
        };
        near(
            &pit_bars(&[one(0)]),
            &[0.2, 0.2, 0.2, 0.2, 0.2, 0.0, 0.0, 0.0, 0.0, 0.0],
        );
        let wide = std::f64::consts::LN_2 / 2.0;
        let (whole, last) = (0.1 / wide, (wide - 0.3) / wide);
        near(
            &pit_bars(&[one(1)]),
            &[0.0, 0.0, 0.0, 0.0, 0.0, whole, whole, whole, last, 0.0],
        );
        // One so far beyond what was said that its chance is nothing falls into the last bar, and is a number.
        let bars = pit_bars(&[one(5_000)]);
        assert!((bars.iter().sum::<f64>() - 1.0).abs() < 1e-12 && bars[9] > 0.99);
        // None said and none happened: 0.25 = Σ (F(j) − 1[j ≥ 0])² is the CRPS's first term.
        assert!(one(0).crps() > 0.25 && one(0).crps() < 0.3);
    }
}
