//! Profile intervals of a kind's rate, ageing and spread, made once beside its fit and kept with it (FORECAST §4).
//!
//! For a parameter v, P(v) = max over all others of ln likelihood + ln priors; the interval holds every v with
//! 2 (P(v̂) − P(v)) ≤ 3.841, the 95 % point of chi-squared with one degree of freedom (Wilks). The others are the kind's
//! parameters, ln τ where buildings are told apart, and the parts' shares with their Dirichlet prior, so that their doubt
//! is in it as it is in the curvature's interval. Unlike that one it need not be even on the log scale, which is what
//! few failures make of θ. Both have the priors in them.
use numerics::{End, Local, maximise};
use serde::{Deserialize, Serialize};

use crate::block::LN_TAU_BOX;
use crate::buildings::{Grouped, LN_TAU, points, target};
use crate::history::{Node, UnitHistory, nodes};
use crate::kind_fit::{Housed, KindFit, subjects};
use crate::prior::{InputError, KindPrior, SHARES_WEIGHT, T0};
use crate::record::{ALPHA, LN_BETA, LN_THETA, Subject};
use crate::recurrent::{Settings, bounds, posterior_target};
use crate::rests_on::{ThinData, priors};
use crate::shares::{Points, update_shares};
use crate::verdict::{Normal, Verdict};

/// Failures from which no profile is made: the curvature's interval then differs from it by less than it is worth
/// (judgement; the difference falls as one over the root of their number).
pub const MOST_FAILURES: u32 = 1000;
/// √3.841: where the signed root of 2 (P(v̂) − P(v)) meets the end of the interval.
const ROOT: f64 = 1.959_963_984_540_054;
/// How near to it is near enough: the end then lies within 0.1 % of its distance from the middle.
const NEAR: f64 = 2e-3;
/// Steps of the secant: the root is nearly straight in v, two or three are used.
const STEPS: usize = 12;
/// Alternations between the parameters and the shares at one value.
const ROUNDS: usize = 8;

/// Ends of an interval; `None`: the profile does not fall so far inside the box, that end is open.
pub type Ends = (Option<f64>, Option<f64>);

/// 95 % profile intervals of what a page says of a kind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Profiled {
    /// Failures a unit-year at ten years of age, in the median building.
    pub rate: Ends,
    /// β; `None` where the shapes are the trade's, part by part.
    pub beta: Option<Ends>,
    /// θ.
    pub theta: Ends,
}

/// The profile intervals of a fit made from these units. `None` where none is asked for: fewer than 15 failures (neither
/// ageing nor spread is said, FORECAST §11), [`MOST_FAILURES`] and more, a fit that failed, or a profile that could not be
/// followed.
///
/// # Errors
/// A fit of another version of the kind.
pub fn profiled(
    prior: &KindPrior,
    fit: &KindFit,
    units: &[Housed<'_>],
) -> Result<Option<Profiled>, InputError> {
    fit.fits(prior)?;
    let sound = matches!(fit.verdict, Verdict::Converged | Verdict::Boundary(_));
    if !sound || fit.thin <= ThinData::Few || fit.n_failures >= MOST_FAILURES {
        return Ok(None);
    }
    let spread = fit.buildings.as_ref().and_then(|b| b.spread.as_ref());
    let (used, building): (Vec<_>, Vec<&str>) = units
        .iter()
        .filter(|u| u.history.check(prior.covariates.len()).is_ok())
        .filter(|u| spread.is_none() || u.history.watched() > 0.0)
        .map(|u| ((u.history, nodes(u.history, prior)), u.building))
        .unzip();
    let (mut best, mut sds) = (fit.parameters.clone(), diagonal(&fit.covariance));
    if let Some(spread) = spread {
        best.push(spread.ln_tau);
        sds = diagonal(&spread.covariance);
    }
    let profile = Profile::new(prior, &used, spread.map(|_| Grouped::new(&used, &building)));
    let whole = (best, fit.shares.clone());
    let top = profile.value(&whole);
    let ends = |place: usize| {
        let sd = *sds.get(place)?;
        let side = |sign: f64| profile.end(&whole, (place, sign * sd), top).ok();
        Some((side(-1.0)?, side(1.0)?))
    };
    let told = |(low, high): Ends| (low.map(f64::exp), high.map(f64::exp));
    let beta = prior.parts.is_empty().then(|| ends(LN_BETA));
    let found = (ends(ALPHA), beta, ends(LN_THETA));
    Ok(match found {
        (Some(rate), None, Some(theta)) => Some(Profiled {
            rate: told(rate),
            beta: None,
            theta: told(theta),
        }),
        (Some(rate), Some(Some(beta)), Some(theta)) => Some(Profiled {
            rate: told(rate),
            beta: Some(told(beta)),
            theta: told(theta),
        }),
        _ => None,
    })
}

fn diagonal(covariance: &[Vec<f64>]) -> Vec<f64> {
    let own = covariance.iter().enumerate();
    own.map(|(i, row)| row.get(i).map_or(f64::NAN, |v| v.sqrt()))
        .collect()
}

/// A profile that could not be followed.
struct Lost;

/// Parameters, with ln τ last where buildings are told apart, and the parts' shares.
type Whole = (Vec<f64>, Vec<f64>);

/// A kind's target with everything that stays the same while one parameter is moved.
struct Profile<'a> {
    prior: &'a KindPrior,
    used: &'a [(&'a UnitHistory, Vec<Node>)],
    grouped: Option<Grouped<'a>>,
    /// Place of each unit's building; nought for all where they are not told apart.
    of: Vec<usize>,
    normals: Vec<Normal>,
    free: Vec<bool>,
    edges: Vec<(f64, f64)>,
    settings: Settings,
}

impl<'a> Profile<'a> {
    fn new(
        prior: &'a KindPrior,
        used: &'a [(&'a UnitHistory, Vec<Node>)],
        grouped: Option<Grouped<'a>>,
    ) -> Self {
        let mut normals = priors(prior);
        let settings = Settings {
            t0: T0,
            prior: Some(normals.clone()),
            covariates: prior.covariates.len(),
            beta_free: prior.parts.is_empty(),
        };
        let mut edges = bounds(prior.covariates.len());
        if grouped.is_some() {
            normals.push(LN_TAU);
            edges.push(LN_TAU_BOX);
        }
        let mut free = vec![true; normals.len()];
        free[LN_BETA] = settings.beta_free;
        Self {
            of: grouped
                .as_ref()
                .map_or_else(|| vec![0; used.len()], |g| g.of.clone()),
            prior,
            used,
            grouped,
            normals,
            free,
            edges,
            settings,
        }
    }

    fn subjects(&self, shares: &[f64]) -> Vec<Vec<Subject>> {
        match &self.grouped {
            Some(grouped) => grouped.subjects(self.prior, shares),
            None => vec![subjects(self.prior, self.used, shares)],
        }
    }

    fn target(&self, subjects: &[Vec<Subject>], free: &[bool], p: &[f64]) -> Local {
        if self.grouped.is_some() {
            return target(subjects, &self.normals, free, p);
        }
        let all = subjects.first().map_or(&[][..], Vec::as_slice);
        posterior_target(all, &self.settings, free, p)
    }

    /// The logarithm of the shares' Dirichlet prior, without its constant.
    fn of_shares(&self, shares: &[f64]) -> f64 {
        if shares.len() < 2 {
            return 0.0;
        }
        let told = self.prior.shares();
        let pairs = told.iter().zip(shares).filter(|(told, _)| **told > 0.0);
        pairs
            .map(|(told, own)| SHARES_WEIGHT * told * own.max(f64::MIN_POSITIVE).ln())
            .sum()
    }

    /// The whole target, all priors of the free parameters in it.
    fn value(&self, (p, shares): &Whole) -> f64 {
        self.target(&self.subjects(shares), &self.free, p).value + self.of_shares(shares)
    }

    fn points(&self, subjects: &[Vec<Subject>], p: &[f64]) -> Vec<Points> {
        match self.grouped {
            Some(_) => points(subjects, p),
            None => vec![vec![(1.0, p.to_vec())]],
        }
    }

    /// P(v) with where it is reached, all others free; `None` where no maximum was reached.
    fn highest(&self, from: &Whole, (place, v): (usize, f64)) -> Option<(f64, Whole)> {
        let mut free = self.free.clone();
        free[place] = false;
        let (mut p, mut shares) = from.clone();
        p[place] = v;
        let mut reached = None;
        for _ in 0..ROUNDS {
            let subjects = self.subjects(&shares);
            let found = maximise(&p, &free, &self.edges, |q| {
                // The prior of the parameter held counts too: the profile is that of the whole target.
                let mut local = self.target(&subjects, &free, q);
                let own = self.normals[place];
                local.add_normal(place, q[place], own.mean, own.sd);
                Some(local)
            });
            if matches!(found.end, End::Failed(_)) || !found.local.value.is_finite() {
                return None;
            }
            p = found.at;
            let value = found.local.value + self.of_shares(&shares);
            reached = Some((value, (p.clone(), shares.clone())));
            let next = update_shares(
                self.prior,
                (self.used, &self.of),
                &shares,
                &self.points(&subjects, &p),
            );
            let moved = next.iter().zip(&shares).map(|(a, b)| (a - b).abs());
            if moved.fold(0.0, f64::max) < 1e-6 {
                break;
            }
            shares = next;
        }
        reached
    }

    /// One end of the interval, by secant on √(2 (P(v̂) − P(v))), which is straight in v for a normal law; `None`: it is
    /// open.
    fn end(&self, whole: &Whole, (place, sd): (usize, f64), top: f64) -> Result<Option<f64>, Lost> {
        let centre = whole.0[place];
        let (low, high) = *self.edges.get(place).ok_or(Lost)?;
        if !sd.is_finite() || sd == 0.0 {
            return Err(Lost);
        }
        let (mut before, mut at) = ((centre, 0.0), (centre + ROOT * sd).clamp(low, high));
        let mut from = whole.clone();
        for _ in 0..STEPS {
            let (value, there) = self.highest(&from, (place, at)).ok_or(Lost)?;
            let root = (2.0 * (top - value)).max(0.0).sqrt();
            if (root - ROOT).abs() < NEAR {
                return Ok(Some(at));
            }
            if (at == low || at == high) && root < ROOT {
                return Ok(None);
            }
            let slope = (root - before.1) / (at - before.0);
            if !slope.is_finite() || slope * sd <= 0.0 {
                return Err(Lost);
            }
            // Never further than twice the reach so far: a profile that flattens out must not throw it away.
            let most = 2.0 * (at - centre).abs();
            let step = ((ROOT - root) / slope).clamp(-most, most);
            before = (at, root);
            at = (at + step).clamp(low, high);
            from = there;
        }
        Err(Lost)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use numerics::profile;

    use crate::history::{Failure, Installed, Window};
    use crate::kind_fit::{fit_kind, fit_kind_in_buildings};
    use crate::shares::tests::prior as of_parts;

    /// Sixty units watched for six years, invented: every third fails often.
    fn fleet(parts: &[&str]) -> Vec<UnitHistory> {
        (0_u32..60)
            .map(|i| {
                let often = if i.is_multiple_of(3) { 4 } else { i % 2 };
                let failures = (0..often).map(|k| Failure {
                    part: parts
                        .get((i + k) as usize % parts.len().max(1))
                        .map(|p| (*p).to_owned()),
                    at: 0.3 + f64::from(k) * 1.3 + f64::from(i) * 0.005,
                    between: None,
                });
                let installed = -2.0 - f64::from(i % 15);
                UnitHistory {
                    installed: Installed {
                        earliest: installed,
                        latest: installed,
                    },
                    windows: vec![Window {
                        from: 0.0,
                        until: 6.0,
                        x: Vec::new(),
                    }],
                    renewals: Vec::new(),
                    failures: failures.collect(),
                    present: Vec::new(),
                    merged: 0,
                    written_off: false,
                }
            })
            .collect()
    }

    fn housed<'a>(fleet: &'a [UnitHistory], names: &'a [String]) -> Vec<Housed<'a>> {
        let all = fleet.iter().enumerate();
        all.map(|(i, history)| Housed {
            history,
            building: &names[i % names.len()],
        })
        .collect()
    }

    /// Against the general search of `numerics::profile`, which brackets and bisects the same target.
    #[test]
    fn one_clock_meets_the_general_search() {
        let (prior, fleet) = (KindPrior::around(0.2, 0.7, Vec::new()), fleet(&[]));
        let fit = fit_kind(&prior, &fleet).unwrap();
        let names = ["only".to_owned()];
        let found = profiled(&prior, &fit, &housed(&fleet, &names))
            .unwrap()
            .unwrap();
        let used: Vec<(&UnitHistory, Vec<Node>)> =
            fleet.iter().map(|h| (h, nodes(h, &prior))).collect();
        let settings = Settings {
            t0: T0,
            prior: Some(priors(&prior)),
            covariates: 0,
            beta_free: true,
        };
        let subjects = subjects(&prior, &used, &[]);
        let plain = crate::recurrent::fit_frailty(&subjects, &settings);
        let all = [
            (ALPHA, found.rate),
            (LN_BETA, found.beta.unwrap()),
            (LN_THETA, found.theta),
        ];
        for (place, (low, high)) in all {
            let whole = vec![true; 3];
            let best = numerics::Optimum {
                at: plain.at.clone(),
                local: posterior_target(&subjects, &settings, &whole, &plain.at),
                end: plain.end.clone(),
            };
            let own = priors(&prior)[place];
            let (below, above) =
                profile::interval(&best, &whole, &bounds(0), place, profile::CHI2_95, |p| {
                    let mut local = posterior_target(&subjects, &settings, &[false; 3], p);
                    for (i, normal) in priors(&prior).iter().enumerate() {
                        local.add_normal(i, p[i], normal.mean, normal.sd);
                    }
                    Some(local)
                });
            let half = 0.5 * (above.unwrap() - below.unwrap());
            assert!(
                (low.unwrap().ln() - below.unwrap()).abs() < 3e-3 * half,
                "{place}"
            );
            assert!(
                (high.unwrap().ln() - above.unwrap()).abs() < 3e-3 * half,
                "{place}"
            );
            // Even-sided it would be the curvature's; it holds the middle, and is about as wide (half to twice).
            let sd = fit.covariance[place][place].sqrt();
            assert!((0.5..2.0).contains(&(half / (ROOT * sd))), "{place}");
            assert!(own.sd > sd, "own records narrow it");
        }
    }

    #[test]
    fn parts_and_buildings_are_free_while_one_is_held() {
        let (prior, fleet) = (of_parts(), fleet(&["pump", "board", "body"]));
        let names: Vec<String> = (0..7).map(|b| format!("house {b}")).collect();
        let housed = housed(&fleet, &names);
        let fit = fit_kind_in_buildings(&prior, &housed).unwrap();
        assert!(fit.buildings.as_ref().unwrap().spread.is_some());
        let found = profiled(&prior, &fit, &housed).unwrap().unwrap();
        assert_eq!(found.beta, None);
        for (place, (low, high)) in [(ALPHA, found.rate), (LN_THETA, found.theta)] {
            let middle = fit.parameters[place];
            let sd = fit.covariance[place][place].sqrt();
            let (low, high) = (low.unwrap().ln(), high.unwrap().ln());
            assert!(low < middle && middle < high);
            let ratio = (high - low) / (2.0 * ROOT * sd);
            assert!((0.5..2.0).contains(&ratio), "{place}: {ratio}");
        }
    }

    #[test]
    fn too_few_and_a_fit_of_another_kind_have_none() {
        let (prior, mut fleet) = (KindPrior::around(0.2, 0.7, Vec::new()), fleet(&[]));
        fleet.truncate(6);
        let names = ["only".to_owned()];
        let fit = fit_kind(&prior, &fleet).unwrap();
        assert!(fit.n_failures < 15);
        assert_eq!(profiled(&prior, &fit, &housed(&fleet, &names)), Ok(None));
        let nothing = fit_kind(&prior, &[]).unwrap();
        assert_eq!(profiled(&prior, &nothing, &[]), Ok(None));
        assert_eq!(
            profiled(&of_parts(), &nothing, &[]),
            Err(InputError::OtherKind)
        );
    }
}
