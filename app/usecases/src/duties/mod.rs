//! Duties: what must be done when, and what a completion does to the next deadline.
use chrono::NaiveDate;
use store::Tx;
use terms::unit::UnitCard;
use terms::{JobId, UnitId};

use crate::Error;

/// A duty done, or found not to be a whole check.
#[derive(Clone, Debug)]
pub struct Done {
    /// The day.
    pub on: NaiveDate,
    /// Every item the check asks for was examined.
    pub check_complete: bool,
    /// The job it was done in.
    pub job: Option<JobId>,
    /// What proves it.
    pub evidence: String,
}

/// Opens the duties the rules give this unit, each without a date until evidence comes.
pub(crate) fn ensure_for_unit(_tx: &mut Tx<'_>, _unit: &UnitCard) -> Result<(), Error> {
    Ok(())
}

/// Records that the duty `rule_code` of a unit was done, with the next deadline by its window rule.
pub(crate) fn complete(
    _tx: &mut Tx<'_>,
    _unit: UnitId,
    _rule_code: &str,
    _done: &Done,
) -> Result<(), Error> {
    Ok(())
}
