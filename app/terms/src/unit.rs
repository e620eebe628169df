//! A unit as known on a day, and what happened to it.
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::{BuildingId, FailureId, Fate, JobId, Pence, SpaceId, UnitId};

/// What is known of a unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnitCard {
    /// Its id.
    pub id: UnitId,
    /// The lasting number on its label.
    pub number: String,
    /// "CB", "HIU", …
    pub kind: String,
    /// Serial number as text; may be empty.
    pub serial: String,
    /// First and last day it may have been fitted; equal when known, `None` when not.
    pub installed: Option<(NaiveDate, NaiveDate)>,
    /// Rated output, kW.
    pub rated_kw: Option<f64>,
    /// Stored water, litres.
    pub litres: Option<f64>,
    /// A filter is fitted on the system.
    pub filter_fitted: Option<bool>,
    /// A scale reducer is fitted.
    pub reducer_fitted: Option<bool>,
    /// Last day of the warranty.
    pub warranty_until: Option<NaiveDate>,
    /// In service, or how it ended.
    pub fate: Fate,
    /// When it ended.
    pub fate_on: Option<NaiveDate>,
    /// Free words.
    pub note: String,
    /// Where it stands now (or stood last).
    pub space: SpaceId,
    /// The space's name, "Flat 14".
    pub space_name: String,
    /// Its building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// Since when it stands there; `None` when unknown.
    pub placed_from: Option<NaiveDate>,
    /// First day the register watched it: failures before are unknown.
    pub watched_from: NaiveDate,
    /// Hardness of the cold main, mg/l as calcium carbonate.
    pub hardness_mg_l: Option<f64>,
}

/// A failure on record, before repeat visits are merged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FailureRecord {
    /// Its id.
    pub id: FailureId,
    /// The unit.
    pub unit: UnitId,
    /// The part, when known.
    pub part: Option<String>,
    /// What was lost.
    pub function_lost: Option<String>,
    /// First day it may have happened.
    pub happened_on: NaiveDate,
    /// Last day, when only a month or year is known.
    pub happened_until: Option<NaiveDate>,
    /// Found at a planned visit, not by loss of function.
    pub found_at_service: bool,
    /// The engineer found nothing wrong.
    pub no_fault_found: bool,
    /// What it cost, including VAT.
    pub cost: Option<Pence>,
    /// The job that answered it.
    pub job: Option<JobId>,
    /// Records with the same non-empty mark are one failure.
    pub same_as: String,
    /// Original words.
    pub words: String,
    /// When it entered the register.
    pub recorded_at: DateTime<Utc>,
}

/// A part that was fitted: its clock restarts here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartFitted {
    /// The unit.
    pub unit: UnitId,
    /// The part.
    pub part: String,
    /// When.
    pub fitted_on: NaiveDate,
    /// Planned, not after a failure.
    pub planned: bool,
    /// The job.
    pub job: Option<JobId>,
}

/// Work on a unit that was not a failure, with its cost.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ServiceRecord {
    /// The unit.
    pub unit: UnitId,
    /// "service", "check", "repair", "replacement", …
    pub what: String,
    /// When.
    pub happened_on: NaiveDate,
    /// What it cost, including VAT.
    pub cost: Option<Pence>,
    /// Original words.
    pub words: String,
    /// The job.
    pub job: Option<JobId>,
}

/// A measured value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The unit.
    pub unit: UnitId,
    /// "hot_c", "flow_lpm", …
    pub code: String,
    /// The number, when it is one.
    pub value: Option<f64>,
    /// The words, when it is not.
    pub words: String,
    /// Unit of measure.
    pub measured_in: String,
    /// Where it was taken.
    pub place: String,
    /// Flow, outside temperature, how long running.
    pub conditions: String,
    /// "before" or "after" the work.
    pub stage: String,
    /// What it was taken with.
    pub instrument: String,
    /// Last day of that instrument's calibration.
    pub calibrated_until: Option<NaiveDate>,
    /// When.
    pub taken_at: DateTime<Utc>,
}
