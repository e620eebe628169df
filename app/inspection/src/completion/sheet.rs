//! The parts of a job sheet that completion looks at. A part that is none does not concern the job.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::absent::null_as_default;
use crate::coded::coded;

coded! {
    /// Class of a gas unsafe situation; the engineer classifies, the program stores.
    UnsafeClass {
        /// Immediately dangerous.
        ImmediatelyDangerous = "ID",
        /// At risk.
        AtRisk = "AR",
    }
}

/// A sheet at the moment somebody wants to close it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// The day.
    pub on: NaiveDate,
    /// An unsafe situation on this unit.
    #[serde(default, rename = "unsafe")]
    pub unsafe_situation: Option<Unsafe>,
    /// Work on gas-carrying, combustion, flue or case parts, and every gas safety check.
    #[serde(default, deserialize_with = "null_as_default")]
    pub gas_work: bool,
    /// Who did gas work.
    #[serde(default)]
    pub engineer: Option<Engineer>,
    /// Gas and combustion readings.
    #[serde(default)]
    pub gas: Option<Gas>,
    /// A gas safety check.
    #[serde(default)]
    pub gas_check: Option<GasCheck>,
    /// A cylinder.
    #[serde(default)]
    pub cylinder: Option<Cylinder>,
    /// A thermostatic mixing valve.
    #[serde(default)]
    pub tmv: Option<Tmv>,
    /// Electrical work.
    #[serde(default)]
    pub electrical: Option<Electrical>,
    /// Wet work.
    #[serde(default)]
    pub water: Option<Water>,
    /// A function reported lost.
    #[serde(default)]
    pub function_lost: Option<FunctionLost>,
    /// The asbestos step.
    #[serde(default)]
    pub asbestos: Option<Asbestos>,
    /// Fire-stopping.
    #[serde(default)]
    pub fire_stopping: Option<FireStopping>,
    /// The carbon monoxide alarm.
    #[serde(default)]
    pub co_alarm: Option<CoAlarm>,
    /// Soft blocks that stand, with the reason typed for each.
    #[serde(default, deserialize_with = "null_as_default")]
    pub soft: BTreeMap<String, Option<String>>,
    /// A supervisor's override.
    #[serde(default, rename = "override")]
    pub override_by: Option<Override>,
}

impl Sheet {
    /// A sheet of that day which nothing concerns yet.
    pub fn on(day: NaiveDate) -> Self {
        Self {
            on: day,
            unsafe_situation: None,
            gas_work: false,
            engineer: None,
            gas: None,
            gas_check: None,
            cylinder: None,
            tmv: None,
            electrical: None,
            water: None,
            function_lost: None,
            asbestos: None,
            fire_stopping: None,
            co_alarm: None,
            soft: BTreeMap::new(),
            override_by: None,
        }
    }
}

/// An unsafe situation.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unsafe {
    /// Its class.
    pub class: UnsafeClass,
    /// Cleared by a registered engineer's entry.
    #[serde(default)]
    pub cleared_by_registered: Option<bool>,
    /// Isolated, labelled, noticed.
    #[serde(default)]
    pub isolated: Option<bool>,
    /// The user refused permission.
    #[serde(default)]
    pub permission_refused: Option<bool>,
}

/// The engineer's registration, as on the day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Engineer {
    /// Registration number.
    pub registration_number: Option<String>,
    /// The category covers this unit.
    pub category_covers_unit: Option<bool>,
    /// Last day of validity.
    pub valid_until: Option<NaiveDate>,
}

/// Gas and combustion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Gas {
    /// Working pressure inside its limits; none if not measured.
    pub working_pressure_ok: Option<bool>,
    /// Gas rate inside its limits; none if not measured.
    pub gas_rate_ok: Option<bool>,
    /// CO, ppm.
    pub co_ppm: Option<f64>,
    /// CO₂, %.
    pub co2_percent: Option<f64>,
    /// Maker's greatest ratio; general limit if none.
    #[serde(default)]
    pub maker_ratio_max: Option<f64>,
    /// Maker's greatest CO, ppm; general limit if none.
    #[serde(default)]
    pub maker_co_max_ppm: Option<f64>,
    /// Last day of the analyser's calibration.
    pub analyser_calibrated_until: Option<NaiveDate>,
    /// The lawful alternative to combustion readings was used and stated.
    #[serde(default)]
    pub lawful_alternative: Option<bool>,
}

/// A gas safety check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct GasCheck {
    /// Appliances and flues the flat has.
    pub items_expected: Option<u32>,
    /// Those listed.
    #[serde(default, deserialize_with = "null_as_default")]
    pub items: Vec<GasCheckItem>,
    /// Signed.
    pub signed: Option<bool>,
}

/// One appliance or flue.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct GasCheckItem {
    /// What it is.
    #[serde(default)]
    pub name: Option<String>,
    /// Its result.
    #[serde(default)]
    pub result: Option<String>,
}

/// A cylinder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cylinder {
    /// The relief route was seen.
    pub relief_route_seen: Option<bool>,
    /// Hot water at the discharge.
    pub hot_discharge: Option<bool>,
    /// The cut-out was proved.
    pub cutout_proved: Option<bool>,
}

/// A mixing valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tmv {
    /// basin, shower, bath, bath_assisted or bidet.
    pub outlet: Option<String>,
    /// Mixed, °C.
    pub mix_c: Option<f64>,
    /// Highest with the cold shut, °C.
    pub cold_shut_max_c: Option<f64>,
    /// Hot water ran on with the cold shut.
    pub shut_off_fails: Option<bool>,
}

/// Electrical work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Electrical {
    /// An electrical part was fitted.
    pub part_fitted: Option<bool>,
    /// Isolated and proved dead.
    pub isolated_and_proved_dead: Option<bool>,
    /// Insulation resistance, MΩ.
    pub mohm: Option<f64>,
}

/// Wet work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Water {
    /// A leak is still there.
    pub leak_present: Option<bool>,
    /// Fall in 15 minutes, bar; none if not watched.
    pub bar_lost_in_15_min: Option<f64>,
}

/// A function reported lost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FunctionLost {
    /// Which.
    pub function: Option<String>,
    /// Tested again and found working.
    pub works_after: Option<bool>,
}

/// The asbestos step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Asbestos {
    /// Answered.
    pub step_answered: Option<bool>,
    /// Year the building was built, if known.
    pub building_year: Option<i32>,
    /// The register says some is present.
    pub register_says_present: Option<bool>,
}

/// Fire-stopping.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FireStopping {
    /// Opened.
    pub opened: Option<bool>,
    /// Made good.
    pub made_good: Option<bool>,
    /// Photographed.
    pub photo: Option<bool>,
    /// A higher-risk building.
    pub higher_risk_building: Option<bool>,
}

/// The carbon monoxide alarm.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CoAlarm {
    /// Required here.
    pub required: Option<bool>,
    /// The landlord's duty.
    pub landlords_duty: Option<bool>,
    /// It works.
    pub works: Option<bool>,
    /// Date of the job raised for it.
    pub job_raised_for: Option<NaiveDate>,
}

/// A supervisor's override; it needs all three.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Override {
    /// Who.
    pub supervisor: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// When, as recorded.
    pub at: Option<String>,
}
