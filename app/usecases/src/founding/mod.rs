//! A new estate with the trade's starting data, and the people who come in.
mod people;
mod shipped;
mod stays;
pub(crate) mod table;

pub use people::{
    NewEngineer, NewPerson, add_engineer, add_firm, add_grant, add_person, instruments,
};
pub use shipped::{
    BASES, ConsultAbove, Formula, Shipped, WorkAsked, WriteOffs, applies, bank_holidays,
    consult_above, duties, formulas, holds_on, kinds, once_a_building, parts, prices, rates,
    shipped, works, write_offs,
};
pub use stays::{StaysWith, stays};
pub use table::DataError;

use chrono::NaiveDate;
use serde_json::json;
use store::Tx;
use terms::trade::Authority;
use terms::{Country, EstateId, Pence, Role};

use crate::{Error, Seat, World};

/// Who may agree what before anybody says otherwise: role, pence, pence in an emergency. The landlord's ten
/// million pounds stands for "no limit".
const AUTHORITIES: [(Role, i64, i64); 3] = [
    (Role::Contractor, 25_000, 50_000),
    (Role::Agent, 50_000, 150_000),
    (Role::Landlord, 1_000_000_000, 1_000_000_000),
];

/// Settings of a new estate. Tests and pages read them by these keys.
const SETTINGS: [(&str, &str); 4] = [
    (
        "authority_status",
        "starting figures, common practice, no source: set your own",
    ),
    ("bank_holidays_source", "table shipped with the program"),
    ("repeat_visit_days", "30"),
    ("failure_costs_months", "36"),
];

/// Founds an estate: its place at the door, and the trade's data as the program ships it. Answers the
/// program's own seat in it.
///
/// # Errors
/// [`Error::Invalid`] when the name is empty or taken.
pub fn found_estate(world: &World, name: &str, demo: bool) -> Result<Seat, Error> {
    let name = name.trim();
    if name.is_empty() {
        return Err(Error::field("name", "An estate needs a name."));
    }
    let shipped = shipped()?;
    let at = world.now();
    let estate = world.pool.at_door(|door| {
        if door.estates()?.iter().any(|(_, known, _)| known == name) {
            return Err(Error::field(
                "name",
                format!("There is already an estate called {name}."),
            ));
        }
        keep_bank_holidays(door, &shipped, at)?;
        Ok(door.add_estate(name, demo, at)?)
    })?;
    let seat = Seat::program(estate, name);
    world.acting(&seat, |tx| load(tx, &shipped))?;
    Ok(seat)
}

fn keep_bank_holidays(
    door: &mut store::door::Door<'_>,
    shipped: &Shipped,
    at: chrono::DateTime<chrono::Utc>,
) -> Result<(), Error> {
    for &country in Country::ALL {
        let days: Vec<(NaiveDate, String)> = shipped
            .bank_holidays
            .iter()
            .filter(|(c, _, _)| *c == country)
            .map(|(_, day, name)| (*day, name.clone()))
            .collect();
        if !days.is_empty() {
            door.keep_bank_holidays(country, &days, "shipped with the program", at)?;
        }
    }
    Ok(())
}

fn load(tx: &mut Tx<'_>, shipped: &Shipped) -> Result<(), Error> {
    tx.add_kinds(&shipped.kinds)?;
    tx.add_part_shares(&shipped.parts)?;
    tx.add_duty_rules(&shipped.duties)?;
    tx.add_prices(&shipped.prices)?;
    for rate in &shipped.rates {
        tx.add_rate(rate)?;
    }
    let book = inspection::RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    tx.keep_rule_book(
        book.digest(),
        inspection::RuleBook::shipped_text(),
        book.as_at(),
    )?;
    for (role, limit, emergency) in AUTHORITIES {
        tx.state_authority(&Authority {
            role,
            account: None,
            limit: Pence(limit),
            emergency: Pence(emergency),
            from_on: tx.today(),
            until_on: None,
        })?;
    }
    for (key, value) in SETTINGS {
        tx.set(key, value)?;
    }
    tx.note(
        "estate founded",
        "estate",
        &json!({
            "kinds": shipped.kinds.len(),
            "parts": shipped.parts.len(),
            "duties": shipped.duties.len(),
            "prices": shipped.prices.len(),
            "rule_book": book.digest(),
        }),
    );
    Ok(())
}

/// The estates this server holds: id, name, whether it is the demo.
pub fn open_estates(world: &World) -> Result<Vec<(EstateId, String, bool)>, Error> {
    world.pool.at_door(|door| Ok(door.estates()?))
}
