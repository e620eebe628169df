//! `known.json`: what is known of each case.
use std::collections::BTreeMap;

use serde::Deserialize;

/// The file.
#[derive(Debug, Deserialize)]
pub struct Known {
    /// Programmes and rounds with their instances.
    pub instances: Vec<Case>,
    /// Programmes without a plan.
    pub infeasible: Vec<ClashCase>,
    /// Re-plans.
    pub replan: Vec<ReplanCase>,
    /// Sizes made from a recipe.
    pub from_recipe: Vec<RecipeCase>,
    /// What the plain ways come to.
    pub baselines: BTreeMap<String, Baseline>,
}

/// One instance.
#[derive(Debug, Deserialize)]
pub struct Case {
    /// `programme` or `rounds`.
    pub kind: String,
    /// Its name.
    pub name: String,
    /// File of the instance.
    pub instance: String,
    /// File of the best solution known.
    pub solution: String,
    /// Its objective, pence.
    pub objective: i64,
    /// Proven bound, pence.
    pub bound: i64,
    /// Whether the optimum is proven.
    pub optimal: bool,
    /// Programme: what no plan can avoid, pence.
    pub floor: Option<i64>,
    /// Rounds: what the visits and the jobs certainly left out come to, pence.
    pub visits_part: Option<f64>,
    /// Units of a programme.
    pub units: Option<usize>,
    /// Jobs of rounds.
    pub jobs: Option<usize>,
    /// Rounds: the plain bound.
    pub lb0: Option<f64>,
    /// Rounds: jobs that cannot be placed.
    #[serde(default)]
    pub certainly_unplaced: Vec<usize>,
}

/// A programme without a plan.
#[derive(Debug, Deserialize)]
pub struct ClashCase {
    /// Its name.
    pub name: String,
    /// File of the instance.
    pub instance: String,
    /// Fewest limits that clash.
    pub fewest: usize,
    /// A smallest set of them.
    pub clash: Vec<String>,
    /// Fewest when funds, caps and hours count once for all years.
    pub coarse_fewest: usize,
    /// A smallest set of those.
    pub coarse_clash: Vec<String>,
}

/// A re-plan.
#[derive(Debug, Deserialize)]
pub struct ReplanCase {
    /// Its name.
    pub name: String,
    /// File of the case.
    pub instance: String,
    /// File of the best solution known.
    pub solution: String,
    /// Its points.
    pub objective: i64,
    /// Whether the optimum is proven.
    pub optimal: bool,
}

/// A size made from a recipe.
#[derive(Debug, Deserialize)]
pub struct RecipeCase {
    /// `programme` or `rounds`.
    pub kind: String,
    /// Its name.
    pub name: String,
    /// The command that makes it.
    pub command: String,
    /// SHA-256 of what it prints.
    pub sha256: String,
    /// Best objective known, pence.
    pub objective: Option<i64>,
    /// Proven bound, pence.
    pub bound: i64,
}

/// What the plain ways come to, and how many rules they break.
#[derive(Debug, Deserialize)]
pub struct Baseline {
    /// Programme, oldest first.
    pub oldest: Option<i64>,
    /// Units left undone or other breaches.
    pub oldest_bad: Option<usize>,
    /// Programme, on failure only.
    pub failure: Option<i64>,
    /// Breaches of it.
    pub failure_bad: Option<usize>,
    /// Rounds, due order.
    pub due: Option<i64>,
}
