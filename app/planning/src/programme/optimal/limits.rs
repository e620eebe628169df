//! The limits that can clash.
use serde::{Deserialize, Serialize};

use super::model::Problem;

/// One limit, by index and year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// The unit must be replaced, and by its latest year; without it the unit is free.
    Due(usize),
    /// The fund's balance at the end of the year is at least its floor; `None` = in every year.
    Fund(usize, Option<usize>),
    /// The fund's yearly cap; `None` = in every year.
    SpendCap(usize, Option<usize>),
    /// The building's hours of disruption; `None` = in every year.
    Hours(usize, Option<usize>),
    /// The building's first year for works that need consultation.
    Lead(usize),
    /// Units done together.
    Together(usize),
    /// Plant not out at once.
    Redundancy(usize),
}

/// Every limit of a problem; `coarse` counts funds, caps and hours once for all years.
pub fn limits(problem: &Problem, coarse: bool) -> Vec<Limit> {
    let years: Vec<Option<usize>> = if coarse {
        vec![None]
    } else {
        (0..problem.years).map(Some).collect()
    };
    let mut all = Vec::new();
    for (u, unit) in problem.units.iter().enumerate() {
        if unit.never.is_none() || unit.latest.is_some() {
            all.push(Limit::Due(u));
        }
    }
    for (f, fund) in problem.funds.iter().enumerate() {
        all.extend(years.iter().map(|t| Limit::Fund(f, *t)));
        if fund.spend_cap.is_some() {
            all.extend(years.iter().map(|t| Limit::SpendCap(f, *t)));
        }
    }
    for (b, building) in problem.buildings.iter().enumerate() {
        all.extend(years.iter().map(|t| Limit::Hours(b, *t)));
        if building.consultation_from > 0 {
            all.push(Limit::Lead(b));
        }
    }
    all.extend((0..problem.together.len()).map(Limit::Together));
    all.extend((0..problem.redundancy.len()).map(Limit::Redundancy));
    all
}
