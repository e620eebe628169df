//! The form of the drill: what it starts with, and what was typed.
use terms::Pence;
use usecases::drill::{DrillAsk, DrillView};

use crate::form::Typed;

/// A number that must be there.
fn number(form: &mut Typed, field: &str, low: f64, high: f64) -> Option<f64> {
    let read = form.number(field, low, high);
    if read.is_none() && form.error(field).is_none() {
        form.complain(field, "A number is needed here.");
    }
    read
}

fn whole(form: &mut Typed, field: &str, most: f64) -> Option<u32> {
    number(form, field, 0.0, most).map(|n| n.round() as u32)
}

fn pounds(form: &mut Typed, field: &str) -> Option<Pence> {
    let read = form.pounds(field);
    if read.is_none() && form.error(field).is_none() {
        form.complain(field, "An amount is needed here, such as 45.00.");
    }
    read
}

/// What was typed, over what the form started with; `None` with a sentence at the field that cannot be.
pub(super) fn read(form: &mut Typed, view: &DrillView) -> Option<DrillAsk> {
    let mut asked = view.ask.clone();
    let cover = &mut asked.cover;
    cover.engineers = whole(form, "engineers", 1000.0)?;
    cover.weekend_engineers = whole(form, "weekend_engineers", 1000.0)?;
    cover.visits_each = whole(form, "visits_each", 50.0)?;
    cover.heaters = whole(form, "heaters", 100_000.0)?;
    cover.heaters_a_home = whole(form, "heaters_a_home", 10.0)?;
    cover.spell_nights = whole(form, "spell_nights", 90.0)?;
    cover.spells = number(form, "spells", 0.0, 20.0)?;
    cover.spell_factor = number(form, "spell_factor", 1.0, 20.0)?;
    asked.of_ten = number(form, "of_ten", 0.0, 10.0)?;
    asked.heater_price = pounds(form, "heater_price")?;
    asked.engineer_price = pounds(form, "engineer_price")?;
    for (place, part) in asked.parts.iter_mut().enumerate() {
        part.lead_days = whole(form, &format!("lead-{place}"), 365.0)?;
        part.price = pounds(form, &format!("price-{place}"))?;
        part.on_van = form.ticked(&format!("van-{place}"));
    }
    Some(asked)
}

/// What the form starts with.
pub(super) fn starting(asked: &DrillAsk) -> Vec<(String, String)> {
    let cover = &asked.cover;
    let pounds = |p: Pence| format!("{:.2}", p.to_pounds());
    let mut all: Vec<(String, String)> = [
        ("engineers", cover.engineers.to_string()),
        ("weekend_engineers", cover.weekend_engineers.to_string()),
        ("visits_each", cover.visits_each.to_string()),
        ("heaters", cover.heaters.to_string()),
        ("heaters_a_home", cover.heaters_a_home.to_string()),
        ("spells", cover.spells.to_string()),
        ("spell_nights", cover.spell_nights.to_string()),
        ("spell_factor", cover.spell_factor.to_string()),
        ("of_ten", asked.of_ten.to_string()),
        ("heater_price", pounds(asked.heater_price)),
        ("engineer_price", pounds(asked.engineer_price)),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .to_vec();
    for (place, part) in asked.parts.iter().enumerate() {
        all.push((format!("lead-{place}"), part.lead_days.to_string()));
        all.push((format!("price-{place}"), pounds(part.price)));
        if part.on_van {
            all.push((format!("van-{place}"), "yes".to_owned()));
        }
    }
    all
}
