//! A maker's own limits for one unit.
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::codes::code_list;
use crate::{AccountId, UnitId};

code_list! {
    /// Where a maker's own figure for a unit was read.
    FigureSource, "source of a maker’s figure" {
        /// The unit's plate.
        Plate = "plate", "the unit’s plate";
        /// The maker's manual.
        Manual = "manual", "the maker’s manual";
    }
}

/// A maker's own limit for one unit. It comes before the general limit of its row of the rule book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MakerFigure {
    /// Its id.
    pub id: Uuid,
    /// The unit.
    pub unit: UnitId,
    /// The limit's row, "A6".
    pub row: String,
    /// What it is in that row: "ratio_max", "pass_min".
    pub name: String,
    /// Its value, in the unit of the row.
    pub value: f64,
    /// Where it was read.
    pub source: FigureSource,
    /// The page, or what else helps to find it again.
    pub reference: String,
    /// The day it was read.
    pub read_on: NaiveDate,
    /// When it was written down.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
    /// When it was taken back or stated anew.
    pub superseded_at: Option<DateTime<Utc>>,
}
