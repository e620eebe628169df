//! The month's book of forecasts, and the books whose year is over.
use usecases::forecast::keep_record;
use usecases::{Seat, World};

use super::Trouble;

pub(super) fn run(world: &World, seat: &Seat) -> Result<String, Trouble> {
    let kept = keep_record(world, seat)?;
    Ok(match kept.frozen {
        Some(units) => format!("{units} forecasts frozen, {} books scored", kept.scored),
        None => format!("{} books scored", kept.scored),
    })
}
