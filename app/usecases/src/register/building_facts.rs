//! What is known of a building, stated anew: its year, its water, its height, its asbestos register.
use chrono::Datelike;
use serde::Serialize;
use serde_json::json;
use terms::BuildingId;

use super::WRITERS;
use crate::{Error, FieldError, Seat, World};

/// The shapes a top may have.
const ROOFS: [&str; 3] = ["flat", "pitched", "sheds"];

/// What is stated of a building.
#[derive(Clone, Debug, Serialize)]
pub struct BuildingFacts {
    /// Where it stands.
    pub address: String,
    /// Year it was built.
    pub built_year: Option<i32>,
    /// Eighteen metres or seven storeys and more; `None` when not known.
    pub higher_risk: Option<bool>,
    /// Hardness of the cold main, mg/l as calcium carbonate.
    pub hardness_mg_l: Option<f64>,
    /// "unknown", "none", "clear" or "present".
    pub asbestos_register: String,
    /// The shape of its top: "flat", "pitched" or "sheds".
    pub roof: String,
}

/// States a building anew; what stood before stays readable. Forecasts that rest on its water are told again tonight.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::NotFound`] outside the seat's reach.
pub fn correct_building(
    world: &World,
    seat: &Seat,
    (building, form): (BuildingId, BuildingFacts),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    seat.must_reach(building)?;
    let this_year = world.now().year();
    let mut wrongs = Vec::new();
    if form
        .built_year
        .is_some_and(|y| !(1600..=this_year + 5).contains(&y))
    {
        wrongs.push(FieldError::at(
            "built",
            format!("It was built between 1600 and {}.", this_year + 5),
        ));
    }
    if form
        .hardness_mg_l
        .is_some_and(|h| !(0.0..=1000.0).contains(&h))
    {
        wrongs.push(FieldError::at(
            "hardness",
            "Hardness lies between 0 and 1,000 mg/l.",
        ));
    }
    if !["unknown", "none", "clear", "present"].contains(&form.asbestos_register.as_str()) {
        wrongs.push(FieldError::at("asbestos", "Say what the register says."));
    }
    if !ROOFS.contains(&form.roof.as_str()) {
        wrongs.push(FieldError::at("roof", "Say how its top is shaped."));
    }
    Error::unless_empty(wrongs)?;
    world.acting(seat, |tx| {
        tx.once(once, &(building, &form), |tx| {
            let mut card = tx.building(building)?;
            form.address.trim().clone_into(&mut card.address);
            card.built_year = form.built_year;
            card.higher_risk = form.higher_risk;
            card.hardness_mg_l = form.hardness_mg_l;
            card.asbestos_register.clone_from(&form.asbestos_register);
            tx.state_building(building, &card)?;
            tx.state_roof(building, &form.roof)?;
            tx.note(
                "building corrected",
                &format!("building {building}"),
                &json!({ "facts": form }),
            );
            Ok(())
        })
    })
}

/// States the shape of a building's top alone.
///
/// # Errors
/// [`Error::Invalid`] at `roof` for a shape that is none.
pub fn state_roof(
    world: &World,
    seat: &Seat,
    (building, roof): (BuildingId, &str),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    seat.must_reach(building)?;
    if !ROOFS.contains(&roof) {
        return Err(Error::field("roof", "Say how its top is shaped."));
    }
    world.acting(seat, |tx| {
        tx.once(once, &("roof", building, roof), |tx| {
            tx.building(building)?;
            tx.state_roof(building, roof)?;
            tx.note(
                "roof stated",
                &format!("building {building}"),
                &json!({ "roof": roof }),
            );
            Ok(())
        })
    })
}
