//! Bayes over one symptom table, in the order the definitions give: the forecast's rates, learned counts, history, water,
//! then the observations; the chances are normalised once.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::model::{Model, entropy_bits, order_of};
use crate::InspectionError;
use crate::absent::null_as_default;
use crate::rulebook::RuleBook;

/// Counts from closed jobs of this building, part confirmed by an after-reading.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Learned {
    /// Closed jobs.
    pub closed_jobs: f64,
    /// Of these, by part.
    #[serde(default)]
    pub part_counts: BTreeMap<String, f64>,
    /// Observations counted, by part.
    #[serde(default)]
    pub observation_counts: Vec<ObservationCount>,
}

/// How often an observation was looked for and seen with a part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ObservationCount {
    /// The part.
    pub part: String,
    /// The observation.
    pub observation: String,
    /// Seen.
    pub seen: f64,
    /// Looked for, in jobs with that part.
    pub looked_for: f64,
}

/// What is known of one part of this unit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PartHistory {
    /// The part; parts the table does not hold are passed over.
    pub part: String,
    /// Day it was last replaced.
    pub replaced_on: Option<NaiveDate>,
    /// Its age, years.
    pub age_years: Option<f64>,
    /// Its life in the trade file, years.
    pub life_years: Option<f64>,
    /// Its Weibull shape.
    pub beta: Option<f64>,
    /// How many times as often as the table has it the part fails in the kind's own record, by the forecast's fit.
    pub rate_factor: Option<f64>,
}

/// What the ranking is asked.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RankQuery {
    /// Unit kind.
    pub unit_kind: String,
    /// Observations seen.
    #[serde(deserialize_with = "null_as_default")]
    pub seen: Vec<String>,
    /// Looked for, not there.
    #[serde(deserialize_with = "null_as_default")]
    pub not_seen: Vec<String>,
    /// Own counts.
    pub learned: Option<Learned>,
    /// The day, needed for replaced parts.
    pub today: Option<NaiveDate>,
    /// Parts of this unit.
    #[serde(deserialize_with = "null_as_default")]
    pub history: Vec<PartHistory>,
    /// Hardness of the main, mg/l.
    pub hardness_mg_l: Option<f64>,
    /// A scale reducer is fitted.
    #[serde(deserialize_with = "null_as_default")]
    pub reducer_fitted: bool,
}

/// One part of the top three.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ranked {
    /// Its code.
    pub code: String,
    /// Its name.
    pub part: String,
    /// Its chance.
    pub chance: f64,
}

/// The ranking.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ranking {
    /// Chance of every part.
    pub posterior: BTreeMap<String, f64>,
    /// Codes of the three likeliest.
    pub top3: Vec<String>,
    /// The three likeliest with names and chances.
    pub top: Vec<Ranked>,
    /// Entropy of the chances, bits.
    pub entropy_bits: f64,
    /// The test that splits them best, none if nothing is left to look for.
    pub best_test: Option<String>,
    /// Its words.
    pub best_test_words: Option<String>,
    /// Expected drop of entropy, bits.
    pub best_test_bits: f64,
    /// Parts to take along, by code.
    pub take: Vec<String>,
    /// `WARRANTY_OR_POOR_REPAIR:part`.
    pub flags: Vec<String>,
}

/// Ranks the parts of a unit.
///
/// # Errors
/// A kind without a table; an observation its table does not hold, or given both ways; counts or
/// ages that cannot be.
pub fn rank(book: &RuleBook, query: &RankQuery) -> Result<Ranking, InspectionError> {
    let table = book.table(&query.unit_kind)?;
    for code in query.seen.iter().chain(&query.not_seen) {
        if table.observation(code).is_none() {
            return Err(InspectionError::unknown("the symptom table", code));
        }
    }
    if let Some(both) = query.seen.iter().find(|code| query.not_seen.contains(code)) {
        return Err(InspectionError::impossible(
            both,
            "cannot be both seen and not seen",
        ));
    }
    let mut model = Model::new(book, table);
    model.apply_rates(query)?;
    if let Some(learned) = &query.learned {
        model.learn(learned)?;
    }
    let flags = model.apply_history(query)?;
    model.apply_water(query);
    let posterior = model.posterior(query)?;
    let order = order_of(&posterior, 3);
    let best = model.best_test(query, &posterior);
    let test = best.and_then(|(i, _)| table.observations.get(i));
    let top: Vec<Ranked> = order
        .iter()
        .filter_map(|&i| {
            let (part, chance) = (table.parts.get(i)?, *posterior.get(i)?);
            Some(Ranked {
                code: part.code.clone(),
                part: part.part.clone(),
                chance,
            })
        })
        .collect();
    Ok(Ranking {
        top3: top.iter().map(|r| r.code.clone()).collect(),
        top,
        entropy_bits: entropy_bits(&posterior),
        best_test: test.map(|o| o.code.clone()),
        best_test_words: test.map(|o| o.words.clone()),
        best_test_bits: best.map_or(0.0, |b| b.1),
        take: model.take(&order, &posterior),
        flags,
        posterior: table
            .parts
            .iter()
            .zip(&posterior)
            .map(|(part, chance)| (part.code.clone(), *chance))
            .collect(),
    })
}
