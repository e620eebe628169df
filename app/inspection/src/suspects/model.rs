//! One symptom table with its priors and likelihoods, changed by what is known of this unit.
use std::collections::{BTreeMap, BTreeSet};

use super::rank::{Learned, PartHistory, RankQuery};
use crate::InspectionError;
use crate::calendar::add_months;
use crate::rulebook::{PartRow, Ranking, RuleBook, Table};

/// Chances closer than this count as equal; the order of the table decides.
const TIE: f64 = 1e-9;

/// The chances of one table, on the way from the table to the posterior.
pub(super) struct Model<'a> {
    pub(super) table: &'a Table,
    settings: &'a Ranking,
    priors: Vec<f64>,
    learned: BTreeMap<(&'a str, &'a str), f64>,
}

impl<'a> Model<'a> {
    /// The table as it stands.
    pub(super) fn new(book: &'a RuleBook, table: &'a Table) -> Self {
        Self {
            table,
            settings: book.ranking(),
            priors: table.parts.iter().map(|p| p.prior).collect(),
            learned: BTreeMap::new(),
        }
    }

    fn table_likelihood(&self, part: &PartRow, observation: &str) -> f64 {
        let proof = self.settings.proofs.iter().any(|p| p == observation);
        let default = if proof {
            self.settings.proof
        } else {
            self.settings.background
        };
        part.seen.get(observation).copied().unwrap_or(default)
    }

    fn likelihood(&self, part: &PartRow, observation: &str) -> f64 {
        let key = (part.code.as_str(), observation);
        let chance = self
            .learned
            .get(&key)
            .copied()
            .unwrap_or_else(|| self.table_likelihood(part, observation));
        chance.clamp(self.settings.lowest, self.settings.highest)
    }

    /// Multiplies the priors by how often each part fails in the kind's own record, and holds their sum: before the counts
    /// of the building, so that those weigh against a prior of this estate and the same jobs do not count twice in full.
    pub(super) fn apply_rates(&mut self, query: &RankQuery) -> Result<(), InspectionError> {
        let before: f64 = self.priors.iter().sum();
        for (prior, part) in self.priors.iter_mut().zip(&self.table.parts) {
            let of_part = query.history.iter().filter(|h| h.part == part.code);
            for factor in of_part.filter_map(|h| h.rate_factor) {
                if !(factor > 0.0 && factor.is_finite()) {
                    return Err(InspectionError::impossible(
                        &part.part,
                        "a part fails some number of times as often, above 0",
                    ));
                }
                *prior *= factor;
            }
        }
        let scale = before / self.priors.iter().sum::<f64>();
        self.priors.iter_mut().for_each(|prior| *prior *= scale);
        Ok(())
    }

    pub(super) fn learn(&mut self, learned: &'a Learned) -> Result<(), InspectionError> {
        let (n, weight) = (learned.closed_jobs, self.settings.prior_weight);
        let counted = |count: f64| count >= 0.0 && count.is_finite();
        if !counted(n) || !learned.part_counts.values().all(|c| counted(*c)) {
            return Err(InspectionError::impossible(
                "learned",
                "counts cannot be below 0",
            ));
        }
        for (prior, part) in self.priors.iter_mut().zip(&self.table.parts) {
            let own = learned.part_counts.get(&part.code).copied().unwrap_or(0.0);
            *prior = (own + weight * *prior) / (n + weight);
        }
        let weight = self.settings.likelihood_weight;
        for count in &learned.observation_counts {
            let (Some(part), Some(observation)) = (
                self.table.part(&count.part),
                self.table.observation(&count.observation),
            ) else {
                continue;
            };
            if !counted(count.looked_for) || !(0.0..=count.looked_for).contains(&count.seen) {
                return Err(InspectionError::impossible(
                    "learned",
                    "an observation is seen at most as often as it was looked for",
                ));
            }
            let table = self.table_likelihood(part, &observation.code);
            let chance = (count.seen + weight * table) / (count.looked_for + weight);
            self.learned.insert((&part.code, &observation.code), chance);
        }
        Ok(())
    }

    /// Multiplies the priors by what is known of this unit's parts; returns the warranty flags.
    pub(super) fn apply_history(
        &mut self,
        query: &RankQuery,
    ) -> Result<Vec<String>, InspectionError> {
        let settings = self.settings;
        let mut flags = BTreeSet::new();
        for (prior, part) in self.priors.iter_mut().zip(&self.table.parts) {
            let entries: Vec<&PartHistory> = query
                .history
                .iter()
                .filter(|h| h.part == part.code)
                .collect();
            let replaced = entries.iter().filter_map(|h| h.replaced_on).max();
            let within = |months: i32| matches!((replaced, query.today), (Some(on), Some(today)) if on > add_months(today, -months));
            if within(settings.warranty_months) {
                flags.insert(format!("WARRANTY_OR_POOR_REPAIR:{}", part.code));
            }
            // The factor for a young part already says "young": age is not applied too.
            *prior *= if within(settings.recent_months) {
                settings.recent_factor
            } else {
                age_factor(settings, part, &entries)?
            };
        }
        Ok(flags.into_iter().collect())
    }

    pub(super) fn apply_water(&mut self, query: &RankQuery) {
        let hard = query
            .hardness_mg_l
            .is_some_and(|h| h > self.settings.hard_above_mg_l);
        if !hard || query.reducer_fitted {
            return;
        }
        let parts = self.priors.iter_mut().zip(&self.table.parts);
        for (prior, _) in parts.filter(|(_, part)| part.scales) {
            *prior *= self.settings.hard_factor;
        }
    }

    pub(super) fn posterior(&self, query: &RankQuery) -> Result<Vec<f64>, InspectionError> {
        let scores: Vec<f64> = self
            .table
            .parts
            .iter()
            .zip(&self.priors)
            .map(|(part, prior)| {
                let yes: f64 = query
                    .seen
                    .iter()
                    .map(|o| self.likelihood(part, o))
                    .product();
                let no: f64 = query
                    .not_seen
                    .iter()
                    .map(|o| 1.0 - self.likelihood(part, o))
                    .product();
                prior * yes * no
            })
            .collect();
        normalise(scores)
            .ok_or_else(|| InspectionError::impossible("ranking", "no part can explain this"))
    }

    /// The best test among what is in neither list and no complaint: observation, bits.
    pub(super) fn best_test(&self, query: &RankQuery, posterior: &[f64]) -> Option<(usize, f64)> {
        let now = entropy_bits(posterior);
        let open: Vec<(usize, f64)> = self
            .table
            .observations
            .iter()
            .enumerate()
            .filter(|(_, o)| {
                !o.complaint && !query.seen.contains(&o.code) && !query.not_seen.contains(&o.code)
            })
            .map(|(i, o)| {
                let yes: Vec<f64> = self
                    .table
                    .parts
                    .iter()
                    .zip(posterior)
                    .map(|(part, p)| p * self.likelihood(part, &o.code))
                    .collect();
                let no: Vec<f64> = posterior.iter().zip(&yes).map(|(p, y)| p - y).collect();
                let chance: f64 = yes.iter().sum();
                let after = |scores, weight: f64| {
                    normalise(scores).map_or(0.0, |p| weight * entropy_bits(&p))
                };
                (i, now - after(yes, chance) - after(no, 1.0 - chance))
            })
            .collect();
        first_of_largest(&open)
    }

    pub(super) fn take(&self, order: &[usize], posterior: &[f64]) -> Vec<String> {
        let above = self.settings.take_above;
        let chance = |n: usize| {
            order
                .get(n)
                .and_then(|&i| posterior.get(i))
                .copied()
                .unwrap_or(0.0)
        };
        let count = if chance(0) > above {
            1
        } else if chance(0) + chance(1) > above {
            2
        } else {
            0
        };
        order
            .iter()
            .take(count)
            .filter_map(|&i| self.table.parts.get(i))
            .filter(|part| !part.not_in_van)
            .map(|part| part.code.clone())
            .collect()
    }
}

/// What the ages of a part make of its prior: (age/life)^(β−1), held to the settings' limits.
fn age_factor(
    settings: &Ranking,
    part: &PartRow,
    entries: &[&PartHistory],
) -> Result<f64, InspectionError> {
    let mut factor = 1.0;
    for entry in entries {
        if let (Some(age), Some(life), Some(beta)) = (entry.age_years, entry.life_years, entry.beta)
        {
            let ratio = (age / life).powf(beta - 1.0);
            if age < 0.0 || life <= 0.0 || ratio.is_nan() {
                return Err(InspectionError::impossible(
                    &part.part,
                    "age, life and shape do not go together",
                ));
            }
            factor *= ratio.clamp(settings.age_least, settings.age_most);
        }
    }
    Ok(factor)
}

/// Scores to chances; none if they sum to nothing.
fn normalise(scores: Vec<f64>) -> Option<Vec<f64>> {
    let sum: f64 = scores.iter().sum();
    (sum > 0.0 && sum.is_finite()).then(|| scores.iter().map(|s| s / sum).collect())
}

/// H = −Σ P log₂ P, bits.
pub(super) fn entropy_bits(chances: &[f64]) -> f64 {
    -chances
        .iter()
        .filter(|p| **p > 0.0)
        .map(|p| p * p.log2())
        .sum::<f64>()
}

/// The first entry within a tie of the largest.
fn first_of_largest(entries: &[(usize, f64)]) -> Option<(usize, f64)> {
    let largest = entries
        .iter()
        .map(|e| e.1)
        .fold(f64::NEG_INFINITY, f64::max);
    entries.iter().copied().find(|e| e.1 >= largest - TIE)
}

/// Indices from likely to unlikely, ties in the order given; the first `count`.
pub(super) fn order_of(posterior: &[f64], count: usize) -> Vec<usize> {
    let mut left: Vec<(usize, f64)> = posterior.iter().copied().enumerate().collect();
    let mut order = Vec::with_capacity(count);
    while order.len() < count {
        let Some((i, _)) = first_of_largest(&left) else {
            break;
        };
        order.push(i);
        left.retain(|entry| entry.0 != i);
    }
    order
}
