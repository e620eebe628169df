//! What binds a programme besides its purse: shared setting-up, replacements a year, consultation, and what
//! people asked for.
use serde::{Deserialize, Serialize};
use terms::{Pence, UnitId};

/// When leaseholders must be consulted, and what that costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Consultation {
    /// A year that pays more than this (strictly) needs it.
    pub above: Pence,
    /// What one consultation costs.
    pub costs: Pence,
    /// First year (place in the programme) in which works that need it can happen.
    pub from: u32,
}

/// Units that must not all be out in one year: at most `at_once` of them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Apart {
    /// What they serve, as a person calls it.
    pub name: String,
    /// The units.
    pub units: Vec<UnitId>,
    /// Most of them in one year: N − n where n of N are needed.
    pub at_once: u32,
}

/// Everything but the purse. The default binds nothing.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ProgrammeLimits {
    /// Paid once in a year in which anything is replaced.
    pub set_up: Pence,
    /// Paid once in a year for each stair or riser in which anything is replaced.
    pub stair_set_up: Pence,
    /// Real yearly rate at which those payments are discounted (the units' own costs are already).
    pub rate: f64,
    /// Most replacements in one year; `None` = any number.
    pub homes_a_year: Option<u32>,
    /// Most home-hours of disruption in one year; `None` = any number.
    #[serde(default)]
    pub hours_a_year: Option<u32>,
    /// Consultation; `None` = never needed.
    pub consultation: Option<Consultation>,
    /// Units a person pinned to a year (place in the programme).
    pub pinned: Vec<(UnitId, u32)>,
    /// Years a person forbade a unit.
    pub forbidden: Vec<(UnitId, u32)>,
    /// Units done in one year, or none of them.
    pub together: Vec<Vec<UnitId>>,
    /// Plant that must not all be out at once.
    pub apart: Vec<Apart>,
}
