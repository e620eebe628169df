//! The sentences of Today and of the morning brief: who has no heat, what is unsafe, what is due, what waits, what is
//! likely. Each begins with a space or punctuation where a subject stands before it.
mod brief;
mod cover;
mod due;
mod heading;
mod likely;
mod now;
mod waiting;

use chrono::{DateTime, NaiveDateTime, Utc};
use terms::today::Place;

use super::{capital, glue};

pub use brief::{brief, building, expected};
pub use cover::{stretches, uncovered};
pub use due::{due, due_alike, due_rest, due_small, undated};
pub use heading::{finding, standing};
pub use likely::{likely, likely_why, reasons, season_words, too_thin, too_thin_why};
pub use now::{needs, outage, outage_subject, suspected, suspected_subject, trouble, unsafe_unit};
pub use waiting::{advice, quote, quote_why};

/// From an instant to the wall time of the buildings.
pub type Local<'a> = &'a dyn Fn(DateTime<Utc>) -> NaiveDateTime;

/// "Flat 14, Alder House"; the building alone when the space has no name.
pub fn place(place: &Place) -> String {
    if place.space_name.is_empty() {
        place.building_name.clone()
    } else {
        glue(&format!("{}, {}", place.space_name, place.building_name))
    }
}

/// "Combi gas boiler in flat 22, Alder House".
pub fn unit_at(kind_name: &str, place: &Place) -> String {
    let kind = capital(kind_name);
    if place.space_name.is_empty() {
        return format!("{kind}, {}", place.building_name);
    }
    let space = small(&place.space_name);
    glue(&format!("{kind} in {space}, {}", place.building_name))
}

/// The first letter made small, unless the word is in capitals.
fn small(words: &str) -> String {
    let mut letters = words.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if !second.is_uppercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => words.to_owned(),
    }
}
