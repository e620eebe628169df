//! Bank holidays: shipped with the program, added to from an open list.
use chrono::NaiveDate;
use terms::Country;

use crate::{Error, World};

/// Keeps the bank holidays of a country; days already known are left as they are. Answers how many were new.
pub fn keep_bank_holidays(
    world: &World,
    country: Country,
    days: &[(NaiveDate, String)],
    source: &str,
) -> Result<usize, Error> {
    let at = world.now();
    world
        .pool
        .at_door(|door| door.keep_bank_holidays(country, days, source, at))
        .map_err(Error::from)
}

/// The bank holidays known for a country, in order.
pub fn bank_holidays(world: &World, country: Country) -> Result<Vec<NaiveDate>, Error> {
    world
        .pool
        .at_door(|door| door.bank_holidays(country))
        .map_err(Error::from)
}
