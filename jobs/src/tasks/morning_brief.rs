//! What Today says, kept in words each morning with the audit's head.
use chrono_tz::Europe::London;
use usecases::{Seat, World, today};

use super::Trouble;

pub(super) fn run(world: &World, seat: &Seat) -> Result<String, Trouble> {
    let local = |at: chrono::DateTime<chrono::Utc>| at.with_timezone(&London).naive_local();
    let day = local(world.now()).date();
    let told = today::today(world, seat, day)?;
    let body = wording::sentences::today::brief(&told, &local);
    if today::keep_brief(world, seat, day, &body)? {
        Ok(format!("the brief of {day} is kept"))
    } else {
        Ok(format!("there is a brief of {day} already"))
    }
}
