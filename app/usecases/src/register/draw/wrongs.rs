//! What a form says that cannot be drawn, a sentence for each field.
use super::DrawBuilding;
use super::layout::storey_of;
use crate::FieldError;

/// Storeys a form may ask for.
const MOST_STOREYS: u32 = 60;
/// Flats a storey may have.
const MOST_FLATS: u32 = 40;

pub(super) fn wrongs(form: &DrawBuilding) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    wrongs.extend(wrongs_of_name(form));
    wrongs.extend(wrongs_of_storeys(form));
    wrongs.extend(wrongs_of_record(form));
    wrongs
}

/// What it is called.
fn wrongs_of_name(form: &DrawBuilding) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if form.name.trim().is_empty() {
        wrongs.push(FieldError::at("name", "A building needs a name."));
    }
    let code = form.code.trim();
    if code.len() > 6 || !code.chars().all(|c| c.is_ascii_alphanumeric()) {
        wrongs.push(FieldError::at(
            "code",
            format!("“{code}” is not up to six letters and digits."),
        ));
    }
    wrongs
}

/// How it stands: storeys, their flats, the stairs between them.
fn wrongs_of_storeys(form: &DrawBuilding) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let mut say = |field: &str, sentence: String| wrongs.push(FieldError::at(field, sentence));
    if !(1..=MOST_STOREYS).contains(&form.storeys) {
        say(
            "storeys",
            format!(
                "{} is not between 1 and {MOST_STOREYS} storeys.",
                form.storeys
            ),
        );
    }
    if form.flats_a_storey > MOST_FLATS {
        say(
            "flats",
            format!(
                "{} is more than {MOST_FLATS} flats on a storey.",
                form.flats_a_storey
            ),
        );
    }
    for storey in &form.differing {
        if storey.ordinal >= form.storeys || storey.flats > MOST_FLATS {
            say(
                &format!("flats-{}", storey.ordinal),
                format!(
                    "This storey cannot be taken: {} flats on storey {} of {}.",
                    storey.flats, storey.ordinal, form.storeys
                ),
            );
        }
    }
    let flats: u32 = (0..form.storeys.min(MOST_STOREYS))
        .map(|ordinal| storey_of(form, ordinal).flats)
        .sum();
    if flats == 0 {
        say("flats", "The building has no flats this way.".to_owned());
    }
    if let Some(after) = form.stairs_after.iter().find(|n| **n > MOST_FLATS) {
        say("stairs", format!("There is no flat {after} from the left."));
    }
    wrongs
}

/// What is on record of it.
fn wrongs_of_record(form: &DrawBuilding) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let mut say = |field: &str, sentence: &str| wrongs.push(FieldError::at(field, sentence));
    if form
        .built_year
        .is_some_and(|year| !(1600..=2100).contains(&year))
    {
        say("built", "A year such as 1964 is needed.");
    }
    if form
        .hardness_mg_l
        .is_some_and(|h| !(0.0..=1000.0).contains(&h))
    {
        say("hardness", "Hardness lies between 0 and 1,000 mg/l.");
    }
    if !["unknown", "none", "clear", "present"].contains(&form.asbestos_register.as_str()) {
        say("asbestos", "Say how the asbestos register stands.");
    }
    wrongs
}
