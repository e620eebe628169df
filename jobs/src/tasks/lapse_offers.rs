//! Offers nobody answered in time run out; their jobs are to be placed again.
use usecases::{Seat, World, work};

use super::Trouble;

pub(super) fn run(world: &World, seat: &Seat) -> Result<String, Trouble> {
    let lapsed = work::lapse_offers(world, seat)?;
    Ok(format!("{lapsed} offers ran out"))
}
