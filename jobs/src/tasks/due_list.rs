//! Duty rules that are shipped since the estate was founded, the duties of every unit brought in line with the rules, and the visits placed again round what has changed.
use usecases::{Seat, World, duties, plan};

use super::Trouble;

pub(super) fn run(world: &World, seat: &Seat) -> Result<String, Trouble> {
    let came = duties::take_in_shipped(world, seat)?;
    let units = duties::refresh(world, seat)?;
    let once = format!("due list {}", world.now().date_naive());
    let placing = plan::place_visits(world, seat, &once)?;
    Ok(format!(
        "{}{units} units looked at; {} visits placed, {} without a day{}",
        match came.as_slice() {
            [] => String::new(),
            codes => format!("duty rules came with the program: {}; ", codes.join(" ")),
        },
        placing.placed,
        placing.unplaced,
        if placing.unchanged { ", as before" } else { "" }
    ))
}
