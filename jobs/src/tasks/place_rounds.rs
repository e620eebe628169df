//! A round too large for a page, placed afresh.
use usecases::tasks::{Claimed, tell};
use usecases::{Seat, World, plan};

use super::Trouble;
use crate::LEASE;

pub(super) fn run(world: &World, seat: &Seat, task: &Claimed) -> Result<String, Trouble> {
    let placing = plan::place_afresh_slowly(world, seat, task.id, &mut |words| {
        tell(world, task.id, words, LEASE)
    })?;
    Ok(format!(
        "{} visits placed, {} without a day",
        placing.placed, placing.unplaced
    ))
}
