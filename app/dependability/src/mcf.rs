//! Mean cumulative function with robust variance (Nelson; Lawless and Nadeau), FORECAST §8.
//!
//! M(t) = Σ_{t_k ≤ t} d_k/R_k. Robust variance Σ_u (Σ_{t_k ≤ t} Y_u(t_k)/R_k (d_u(t_k) − d_k/R_k))².
//! Where nobody is at risk the curve breaks; it is never bridged.
use serde::Serialize;

use crate::observed::Observed;
use crate::prior::InputError;

/// One step of the curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Time of the step.
    pub time: f64,
    /// Units at risk there.
    pub at_risk: u32,
    /// M(t).
    pub mean: f64,
    /// Square root of Σ d/R², for comparison only: it assumes identical units without memory.
    pub se_poisson: f64,
    /// Square root of the robust variance.
    pub se_robust: f64,
}

/// The curve over all units; equal times are one step, steps without anybody at risk are left out.
///
/// # Errors
/// A window or an event that cannot be meant.
pub fn mean_cumulative(units: &[Observed]) -> Result<Vec<Step>, InputError> {
    units.iter().try_for_each(Observed::check)?;
    let mut events: Vec<(f64, usize, f64)> = units
        .iter()
        .enumerate()
        .flat_map(|(u, unit)| unit.events.iter().map(move |&(t, d)| (t, u, d)))
        .collect();
    events.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut influence = vec![0.0; units.len()];
    let (mut mean, mut poisson) = (0.0, 0.0);
    let mut steps = Vec::new();
    for same in events.chunk_by(|a, b| a.0 == b.0) {
        let time = same[0].0;
        let here: Vec<usize> = (0..units.len())
            .filter(|&u| units[u].at_risk(time))
            .collect();
        if here.is_empty() {
            continue;
        }
        let risk = here.len() as f64;
        let amount: f64 = same
            .iter()
            .filter(|e| units[e.1].at_risk(time))
            .map(|e| e.2)
            .sum();
        mean += amount / risk;
        poisson += amount / (risk * risk);
        for &u in &here {
            influence[u] -= amount / (risk * risk);
        }
        for (_, u, d) in same.iter().filter(|e| units[e.1].at_risk(time)) {
            influence[*u] += d / risk;
        }
        steps.push(Step {
            time,
            at_risk: here.len() as u32,
            mean,
            se_poisson: poisson.max(0.0).sqrt(),
            se_robust: influence.iter().map(|v| v * v).sum::<f64>().sqrt(),
        });
    }
    Ok(steps)
}

/// A point of the curve over many units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Age.
    pub age: f64,
    /// Units at risk there.
    pub at_risk: u32,
    /// M.
    pub mean: f64,
    /// Square root of the robust variance.
    pub se: f64,
    /// Nobody was at risk at some age since the point before: the curve breaks here.
    pub broken: bool,
}

impl Point {
    /// M exp(∓ 1.96 se/M), the 95 % interval (FORECAST §8); M alone where it is nought.
    pub fn ci95(&self) -> (f64, f64) {
        if self.mean <= 0.0 {
            return (self.mean, self.mean);
        }
        let reach = (crate::score::Z95 * self.se / self.mean).exp();
        (self.mean / reach, self.mean * reach)
    }
}

/// The curve from the first age at which `least` units are at risk, told at `most` of its steps at most, the last one among
/// them; with that age, `None` where so many never are. For an event of each unit's amount as [`mean_cumulative`], but in
/// time that grows as events · ln events + points · windows: with Q(t) = Σ_{t_k ≤ t} d_k/R_k², a unit's part of the
/// variance is Σ own d/R − Σ_windows (Q(end) − Q(start)), squared.
///
/// # Errors
/// A window or an event that cannot be meant.
pub fn curve(
    units: &[Observed],
    least: u32,
    most: usize,
) -> Result<Option<(f64, Vec<Point>)>, InputError> {
    units.iter().try_for_each(Observed::check)?;
    let risk = Risk::new(units);
    let Some(from) = risk.first(least) else {
        return Ok(None);
    };
    let mut events: Vec<(f64, usize, f64)> = units
        .iter()
        .enumerate()
        .flat_map(|(u, unit)| {
            let own = unit
                .events
                .iter()
                .filter(|e| e.0 > from && unit.at_risk(e.0));
            own.map(move |e| (e.0, u, e.1))
        })
        .collect();
    events.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    // Age, units at risk, M and Q after each step.
    let mut steps: Vec<(f64, u32, f64, f64)> = Vec::new();
    let mut own: Vec<Vec<(f64, f64)>> = vec![Vec::new(); units.len()];
    let (mut mean, mut spread) = (0.0, 0.0);
    for same in events.chunk_by(|a, b| a.0 == b.0) {
        let (age, at_risk) = (same[0].0, risk.at(same[0].0));
        let amount: f64 = same.iter().map(|e| e.2).sum();
        mean += amount / f64::from(at_risk);
        spread += amount / f64::from(at_risk).powi(2);
        for (_, u, d) in same {
            own[*u].push((age, d / f64::from(at_risk)));
        }
        steps.push((age, at_risk, mean, spread));
    }
    let until = |age: f64| {
        let passed = steps.partition_point(|s| s.0 <= age);
        passed.checked_sub(1).map_or(0.0, |last| steps[last].3)
    };
    let variance = |age: f64| -> f64 {
        let part = |(unit, own): (&Observed, &Vec<(f64, f64)>)| {
            let failed: f64 = own.iter().take_while(|e| e.0 <= age).map(|e| e.1).sum();
            let stood = unit.windows.iter().filter(|w| w.0 < age);
            failed - stood.map(|w| until(w.1.min(age)) - until(w.0)).sum::<f64>()
        };
        units.iter().zip(&own).map(|u| part(u).powi(2)).sum()
    };
    let kept = thinned(steps.len(), most);
    let mut before = from;
    let points = kept.into_iter().map(|place| {
        let (age, at_risk, mean, _) = steps[place];
        let broken = risk.none_between(before, age);
        before = age;
        Point {
            age,
            at_risk,
            mean,
            se: variance(age).sqrt(),
            broken,
        }
    });
    Ok(Some((from, points.collect())))
}

/// At most `most` of so many places, evenly, the last one among them.
fn thinned(steps: usize, most: usize) -> Vec<usize> {
    if steps <= most.max(1) {
        return (0..steps).collect();
    }
    (1..=most.max(1))
        .map(|k| k * steps / most.max(1) - 1)
        .collect()
}

/// How many are at risk at any time: those whose window has begun less those whose has ended.
struct Risk {
    starts: Vec<f64>,
    ends: Vec<f64>,
    /// Stretches between the first start and the last end in which nobody is.
    gaps: Vec<(f64, f64)>,
}

impl Risk {
    fn new(units: &[Observed]) -> Self {
        let windows = || units.iter().flat_map(|u| &u.windows).filter(|w| w.1 > w.0);
        let mut starts: Vec<f64> = windows().map(|w| w.0).collect();
        let mut ends: Vec<f64> = windows().map(|w| w.1).collect();
        starts.sort_by(f64::total_cmp);
        ends.sort_by(f64::total_cmp);
        let mut risk = Self {
            starts,
            ends,
            gaps: Vec::new(),
        };
        let empty = |end: &f64| risk.after(*end) == 0;
        let gaps: Vec<(f64, f64)> = risk
            .ends
            .iter()
            .filter(|end| empty(end))
            .filter_map(|end| {
                let next = risk.starts.partition_point(|s| s <= end);
                Some((*end, *risk.starts.get(next)?))
            })
            .collect();
        risk.gaps = gaps;
        risk
    }

    /// At risk at a time: start < time ≤ end.
    fn at(&self, time: f64) -> u32 {
        let begun = self.starts.partition_point(|s| *s < time);
        (begun - self.ends.partition_point(|e| *e < time)) as u32
    }

    /// At risk just after a time.
    fn after(&self, time: f64) -> u32 {
        let begun = self.starts.partition_point(|s| *s <= time);
        (begun - self.ends.partition_point(|e| *e <= time)) as u32
    }

    fn first(&self, least: u32) -> Option<f64> {
        let least = least.max(1);
        self.starts
            .iter()
            .copied()
            .find(|s| self.after(*s) >= least)
    }

    fn none_between(&self, from: f64, until: f64) -> bool {
        self.gaps.iter().any(|gap| gap.0 >= from && gap.1 <= until)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_counts_only_who_is_watched() {
        let unit = |windows: &[(f64, f64)], times: &[f64]| Observed {
            windows: windows.to_vec(),
            events: times.iter().map(|t| (*t, 1.0)).collect(),
        };
        let steps = mean_cumulative(&[
            unit(&[(0.0, 10.0)], &[2.0, 8.0]),
            unit(&[(0.0, 1.0), (5.0, 10.0)], &[8.0]),
            unit(&[(9.0, 10.0)], &[]),
        ])
        .unwrap();
        let seen: Vec<(f64, u32, f64)> =
            steps.iter().map(|s| (s.time, s.at_risk, s.mean)).collect();
        assert_eq!(seen, [(2.0, 1, 1.0), (8.0, 2, 2.0)]);
    }

    /// Forty units in windows of their own, some with a gap, and events on half years so that several fall together.
    fn fleet() -> Vec<Observed> {
        (0_u32..40)
            .map(|i| {
                let start = f64::from(i % 7) * 0.5;
                let middle = start + 2.0 + f64::from(i % 3);
                let mut windows = vec![(start, middle)];
                let mut later = Vec::new();
                if i.is_multiple_of(4) {
                    windows.push((middle + 1.0, middle + 4.0));
                    later.push((middle + 2.0, 1.0));
                }
                let events = (1..=i % 5).map(|k| (start + f64::from(k) * 0.5, 1.0));
                Observed {
                    windows,
                    events: events.chain(later).collect(),
                }
            })
            .collect()
    }

    #[test]
    fn the_quick_curve_is_the_plain_one() {
        let units = fleet();
        let plain = mean_cumulative(&units).unwrap();
        let (from, quick) = curve(&units, 1, usize::MAX).unwrap().unwrap();
        assert_eq!((from, quick.len()), (0.0, plain.len()));
        for (a, b) in plain.iter().zip(&quick) {
            assert_eq!((a.time, a.at_risk), (b.age, b.at_risk));
            assert!((a.mean - b.mean).abs() < 1e-12 && (a.se_robust - b.se).abs() < 1e-12);
        }
        // Fewer points are some of the same, the last among them.
        let (_, few) = curve(&units, 1, 4).unwrap().unwrap();
        assert_eq!(few.len(), 4);
        assert!(
            few.iter()
                .all(|p| quick.iter().any(|q| (q.age, q.se) == (p.age, p.se)))
        );
        assert_eq!(few.last().unwrap().age, quick.last().unwrap().age);
    }

    #[test]
    fn it_begins_where_enough_are_watched_and_breaks_where_nobody_is() {
        let unit = |windows: &[(f64, f64)], times: &[f64]| Observed {
            windows: windows.to_vec(),
            events: times.iter().map(|t| (*t, 1.0)).collect(),
        };
        let units = [
            unit(&[(0.0, 4.0)], &[0.5, 3.0]),
            unit(&[(1.0, 4.0), (6.0, 9.0)], &[8.0]),
        ];
        let (from, points) = curve(&units, 2, 100).unwrap().unwrap();
        assert_eq!(from, 1.0);
        let seen: Vec<(f64, f64, bool)> =
            points.iter().map(|p| (p.age, p.mean, p.broken)).collect();
        assert_eq!(seen, [(3.0, 0.5, false), (8.0, 1.5, true)]);
        assert_eq!(curve(&units, 3, 100), Ok(None));
        assert_eq!(curve(&[], 1, 100), Ok(None));
        let none = [unit(&[(0.0, 1.0)], &[])];
        assert_eq!(curve(&none, 1, 100), Ok(Some((0.0, Vec::new()))));
    }
}
