//! Water temperatures: where they are taken, and what was found on a round.
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::codes::code_list;
use crate::{AccountId, BuildingId, Level, OutletId, SpaceId, TemperatureRoundId, UnitId};

code_list! {
    /// What an outlet tells of the water system. Codes as the water temperature log names them.
    OutletPlace, "place of an outlet" {
        /// The tap nearest to or furthest from the store: hot within a minute.
        HotSentinel = "hot_sentinel", "hot tap";
        /// The tap nearest to or furthest from the tank or main: cold within two minutes.
        ColdSentinel = "cold_sentinel", "cold tap";
        /// Hot water leaving the store.
        StoreOutflow = "store_outflow", "leaving the store";
        /// Hot water coming back to the store.
        StoreReturn = "store_return", "coming back to the store";
        /// Any other outlet: no limit is held for it.
        Other = "other", "other outlet";
    }
}

/// An outlet as known now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OutletCard {
    /// Its id.
    pub id: OutletId,
    /// Where.
    pub building: BuildingId,
    /// "Cleaner’s sink, ground floor"
    pub name: String,
    /// What it tells.
    pub place: OutletPlace,
    /// The space it is in, when it is said.
    pub space: Option<SpaceId>,
    /// The store that serves it, when there is one.
    pub unit: Option<UnitId>,
    /// Its turn in the walk through the building, lowest first.
    pub walk: i32,
    /// Seldom used: water stands in its pipe unless somebody runs it.
    pub little_used: bool,
    /// The day it was taken off the round.
    pub ended_on: Option<NaiveDate>,
}

/// One walk through a building with a thermometer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TemperatureRound {
    /// Its id.
    pub id: TemperatureRoundId,
    /// Where.
    pub building: BuildingId,
    /// The day.
    pub taken_on: NaiveDate,
    /// The thermometer as written on it.
    pub thermometer: String,
    /// Last day of its calibration, when said.
    pub calibrated_until: Option<NaiveDate>,
    /// Who walked.
    pub taken_by: AccountId,
    /// When it was sent.
    pub made_at: DateTime<Utc>,
}

/// One outlet on one round.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Temperature {
    /// Its id.
    pub id: Uuid,
    /// The round.
    pub round: TemperatureRoundId,
    /// The outlet.
    pub outlet: OutletId,
    /// What the outlet was called on the day.
    pub outlet_name: String,
    /// What it told on the day.
    pub place: OutletPlace,
    /// °C; `None` when it was not taken.
    pub temp_c: Option<f64>,
    /// Seconds the water ran before it was read.
    pub seconds_run: Option<i32>,
    /// A little-used outlet was flushed; `None` when it was not asked.
    pub flushed: Option<bool>,
    /// What the limit says; `None` when it passes.
    pub level: Option<Level>,
    /// The same in a sentence.
    pub words: String,
    /// What was done about it or is planned; empty when nothing is needed, or nothing was said yet.
    pub action: String,
    /// The rule book it was judged by.
    pub rule_book: String,
    /// The day.
    pub on: NaiveDate,
    /// When it entered the record.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
    /// When it was corrected.
    pub superseded_at: Option<DateTime<Utc>>,
}

impl Temperature {
    /// Whether the reading asks for an action.
    pub fn is_out(&self) -> bool {
        self.level.is_some_and(|level| level >= Level::Act)
    }

    /// Whether nobody has yet said what is done about it.
    pub fn is_open(&self) -> bool {
        self.is_out() && self.action.trim().is_empty()
    }
}
