//! Buildings and spaces as known on a day.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::{BuildingId, Country, LevelId, SpaceId, UsedAs};

/// What is known of a building.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BuildingCard {
    /// Its id.
    pub id: BuildingId,
    /// The short code that starts its units' numbers.
    pub code: String,
    /// "Alder House"
    pub name: String,
    /// Where it stands.
    pub address: String,
    /// Whose rule set applies.
    pub country: Country,
    /// Year it was built.
    pub built_year: Option<i32>,
    /// Eighteen metres or seven storeys and more.
    pub higher_risk: Option<bool>,
    /// Hardness of the cold main, mg/l as calcium carbonate.
    pub hardness_mg_l: Option<f64>,
    /// "unknown", "none", "clear" or "present".
    pub asbestos_register: String,
    /// Free words.
    pub note: String,
}

/// A storey.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LevelCard {
    /// Its id.
    pub id: LevelId,
    /// 0 is the ground; −1 below it.
    pub ordinal: i32,
    /// "G", "1", "roof"
    pub label: String,
}

/// What is known of a space.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpaceCard {
    /// Its id.
    pub id: SpaceId,
    /// The building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The storey.
    pub level: LevelId,
    /// The storey's ordinal.
    pub ordinal: i32,
    /// Column in the section, from 0.
    pub place: i32,
    /// "Flat 14"
    pub name: String,
    /// Its use.
    pub used_as: UsedAs,
    /// The stair that reaches it.
    pub stair: Option<String>,
    /// Tenancy or lease under seven years; `None` when unknown.
    pub let_short: Option<bool>,
    /// What options need to know of the space, as JSON.
    pub site: serde_json::Value,
}

/// A need of whoever lives there: what the visitor must do, never a diagnosis.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Need {
    /// The space.
    pub space: SpaceId,
    /// "needs heat the same day"
    pub words: String,
    /// Shortens the clock.
    pub same_day: bool,
    /// Since when.
    pub from_on: NaiveDate,
}
