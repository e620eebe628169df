//! Symptom tables: parts with their priors, observations, and the chance of each observation given
//! each part. Practitioner judgement, not measured; counts from closed jobs replace it.
use std::collections::BTreeMap;

use serde::Deserialize;

use crate::expr::Expr;

/// The settings shared by all tables.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ranking {
    /// Chance of an observation not listed for a part.
    pub background: f64,
    /// The same for a direct electrical or physical proof.
    pub proof: f64,
    /// Which observations are such proofs.
    pub proofs: Vec<String>,
    /// Chances are held to at least this.
    pub lowest: f64,
    /// And at most this.
    pub highest: f64,
    /// Jobs the table's prior counts for against own counts.
    pub prior_weight: f64,
    /// Jobs a table's likelihood counts for against own counts.
    pub likelihood_weight: f64,
    /// Months in which a replaced part is young.
    pub recent_months: i32,
    /// What its prior is multiplied by.
    pub recent_factor: f64,
    /// Months in which its failing again raises the warranty flag.
    pub warranty_months: i32,
    /// Least factor of age.
    pub age_least: f64,
    /// Greatest factor of age.
    pub age_most: f64,
    /// Hardness above which scaling parts weigh more, mg/l.
    pub hard_above_mg_l: f64,
    /// How much more.
    pub hard_factor: f64,
    /// Chance above which a part is taken along.
    pub take_above: f64,
    /// How all this is known.
    pub status: String,
}

/// The table of one unit kind.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// The kind.
    pub kind: String,
    /// Its name.
    pub title: String,
    /// What may be seen, in the order of the table.
    pub observations: Vec<Observation>,
    /// The parts, in the order of the table.
    pub parts: Vec<PartRow>,
    /// Which readings show an observation.
    pub from_readings: Vec<Link>,
}

impl Table {
    /// An observation by code.
    pub fn observation(&self, code: &str) -> Option<&Observation> {
        self.observations.iter().find(|o| o.code == code)
    }

    /// A part by code.
    pub fn part(&self, code: &str) -> Option<&PartRow> {
        self.parts.iter().find(|p| p.code == code)
    }
}

/// Something that may be seen.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// Its code.
    pub code: String,
    /// Its words.
    pub words: String,
    /// Asked on the call, never proposed as a test.
    #[serde(default)]
    pub complaint: bool,
    /// The functions a caller has lost who says this (`heat`, `hot_water`); empty if it says
    /// nothing of functions.
    #[serde(default)]
    pub lost: Vec<String>,
}

/// A part that may be the cause.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartRow {
    /// Its code.
    pub code: String,
    /// Its name.
    pub part: String,
    /// Its prior among failures of this kind.
    pub prior: f64,
    /// Chance of each listed observation given this part.
    pub seen: BTreeMap<String, f64>,
    /// Not a part that travels in a van.
    #[serde(default)]
    pub not_in_van: bool,
    /// Scales in hard water.
    #[serde(default)]
    pub scales: bool,
}

/// How readings answer an observation. Findings stand as `finding.ROW`, `OK` when passed.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// The observation.
    pub observation: String,
    /// Seen when this is true.
    pub seen: Expr,
    /// Looked for and not there when this is true.
    pub not_seen: Expr,
}
