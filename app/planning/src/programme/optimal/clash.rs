//! Why there is no plan: the smallest set of limits that cannot all be kept.
//!
//! A smallest clash is a smallest hitting set of all ways to waive limits so that a plan exists. So: the
//! smallest hitting set of the ways known so far is tried as "kept"; if a plan keeps it, that plan shows
//! one more way, which the next must hit; if none does, it is a clash, and none is smaller (Ignatiev,
//! Previti, Liffiton, Marques-Silva, "Smallest MUS extraction with minimal hitting set dualization",
//! CP 2015).
use super::estate::Estate;
use super::limits::{Limit, limits};
use super::model::Problem;
use super::waivers::{Trial, trial};
use crate::Allowance;
use crate::solver::{Effort, Ending, Model};

/// A set of limits that clash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The limits: no plan keeps them all.
    pub limits: Vec<Limit>,
    /// Whether it is proven that no smaller set clashes; then without any one of them the others can be kept.
    pub fewest: bool,
}

/// A smallest clash of the problem; `None` when a plan exists or nothing was settled in time. `coarse`
/// counts funds, caps and hours once for all years, which reads better in words.
pub fn clash(problem: &Problem, coarse: bool, allowance: &dyn Allowance) -> Option<Clash> {
    let estate = Estate::of(problem);
    let all = limits(problem, coarse);
    let mut ways: Vec<Vec<Limit>> = Vec::new();
    if !matches!(
        trial(&estate, &all, &all, allowance.seconds_left()),
        Trial::Clash
    ) {
        return None;
    }
    while !allowance.spent() {
        let Some((kept, proven)) = hitting_set(&all, &ways, allowance.seconds_left()) else {
            break;
        };
        match trial(&estate, &all, &kept, allowance.seconds_left()) {
            Trial::Clash => {
                return Some(Clash {
                    limits: kept,
                    fewest: proven,
                });
            }
            Trial::Waived(way) if !way.is_empty() => ways.push(way),
            _ => break,
        }
    }
    Some(narrowed(&estate, &all))
}

/// A smallest set that meets every way, and whether that is proven.
fn hitting_set(all: &[Limit], ways: &[Vec<Limit>], seconds: f64) -> Option<(Vec<Limit>, bool)> {
    let mut model = Model::default();
    let vars: Vec<_> = all.iter().map(|_| model.binary(1.0)).collect();
    for way in ways {
        let terms = all.iter().zip(&vars).filter(|(l, _)| way.contains(l));
        let terms: Vec<_> = terms.map(|(_, var)| (*var, 1.0)).collect();
        model.at_least(1.0, terms);
    }
    let solved = model.solve(Effort::exact(seconds), None);
    if solved.values.is_empty() {
        return None;
    }
    let kept = all.iter().zip(&vars).filter(|(_, var)| solved.is_on(**var));
    let kept = kept.map(|(limit, _)| *limit).collect();
    Some((kept, solved.ending == Ending::Optimal))
}

/// Out of time for the smallest: an irreducible clash, by leaving out one limit after the other. Each
/// trial gets a second; what is not settled in it stays in.
fn narrowed(estate: &Estate<'_>, all: &[Limit]) -> Clash {
    let mut kept = all.to_vec();
    let mut i = 0;
    while i < kept.len() {
        let without: Vec<Limit> = kept.iter().copied().filter(|l| *l != kept[i]).collect();
        if matches!(trial(estate, &without, &without, 1.0), Trial::Clash) {
            kept = without;
        } else {
            i += 1;
        }
    }
    Clash {
        limits: kept,
        fewest: false,
    }
}
