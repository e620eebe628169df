//! Gaps of a visit: readings not taken, instruments out of calibration.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::Finding;
use crate::InspectionError;
use crate::calendar::date_words;
use crate::coded::coded;
use crate::rulebook::{Level, ReadingSpec, RuleBook};

coded! {
    /// What is wrong with the visit.
    GapCode {
        /// A reading of the set was not taken.
        Missing = "MISSING",
        /// The instrument's calibration had ended.
        CalibrationOut = "CALIBRATION_OUT",
    }
}

/// A reading taken on the visit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Given {
    /// The reading's code.
    pub reading: String,
    /// Last day of the instrument's calibration; none if no instrument was used.
    pub calibrated_until: Option<NaiveDate>,
}

/// One gap.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// How grave.
    pub level: Level,
    /// What.
    pub code: GapCode,
    /// The reading.
    pub reading: String,
    /// Always `visit`: the unit is not at fault.
    pub on: &'static str,
}

impl Gap {
    /// The gap as a finding of the sheet.
    pub fn finding(&self, spec: &ReadingSpec, calibrated_until: Option<NaiveDate>) -> Finding {
        let sentence = match (self.code, calibrated_until) {
            (GapCode::Missing, _) => format!("{}: not measured at this visit.", spec.label),
            (GapCode::CalibrationOut, Some(day)) => format!(
                "{}: the instrument's calibration ended on {}.",
                spec.label,
                date_words(day)
            ),
            (GapCode::CalibrationOut, None) => {
                format!("{}: the instrument is out of calibration.", spec.label)
            }
        };
        Finding {
            level: self.level,
            code: self.code.code().to_owned(),
            reading: self.reading.clone(),
            row: None,
            limit: String::new(),
            sentence,
            status: "common practice, no source".to_owned(),
            on: self.on.to_owned(),
        }
    }
}

/// The gaps of a service visit, in the order of the set. Calibration is good through its last day.
///
/// # Errors
/// A unit kind without a readings set.
pub fn gaps(
    book: &RuleBook,
    unit_kind: &str,
    visit_on: NaiveDate,
    first_service: bool,
    given: &[Given],
) -> Result<Vec<Gap>, InspectionError> {
    let set = book
        .set(unit_kind)
        .ok_or_else(|| InspectionError::unknown("the readings sets", unit_kind))?;
    let gap = |level, code, spec: &ReadingSpec| Gap {
        level,
        code,
        reading: spec.code.clone(),
        on: "visit",
    };
    let expected = set
        .readings
        .iter()
        .filter(|spec| first_service || !spec.first_service);
    Ok(expected
        .filter_map(|spec| match given.iter().find(|g| g.reading == spec.code) {
            None => Some(gap(Level::Watch, GapCode::Missing, spec)),
            Some(g) if g.calibrated_until.is_some_and(|until| until < visit_on) => {
                let grave = book.calibration_acts(&spec.code);
                let level = if grave { Level::Act } else { Level::Watch };
                Some(gap(level, GapCode::CalibrationOut, spec))
            }
            Some(_) => None,
        })
        .collect())
}
