//! A firm's own days and hours, and when somebody opens: stated by form, answered by placing again with the fewest moves.
use actix_web::{HttpResponse, web};
use terms::FirmId;
use usecases::plan::{AskCard, RoundWish, Rounds, Times};
use uuid::Uuid;
use wording::Choice;
use wording::sentences::dates::WEEKDAYS;
use wording::sentences::list;

use super::act::{find, load};
use super::asks::{asked, rounds_again, visit_again};
use super::days::clock;
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::seats::Desk;
use crate::state::State;

/// The firms, to choose one.
pub(super) fn firms(rounds: &Rounds, form: &Typed) -> Vec<Choice> {
    let chosen = form.value("hours_firm").to_owned();
    let all = rounds.names.firms.iter().map(|firm| {
        let id = firm.id.to_string();
        let is_chosen = id == chosen;
        Choice::new(id, firm.name.clone(), is_chosen)
    });
    all.collect()
}

/// "Firm A works on Monday and Tuesday, 08:00 to 12:00"
pub(super) fn words(rounds: &Rounds, card: &AskCard) -> String {
    let Some(times) = &card.ask.times else {
        return String::new();
    };
    let days: Vec<&str> = times
        .weekdays
        .iter()
        .filter_map(|day| WEEKDAYS.get(*day as usize).copied())
        .collect();
    let minute = |m: u32| clock(i32::try_from(m).unwrap_or(0));
    let when = format!(
        "{}, {} to {}",
        list(&days),
        minute(times.from_minute),
        minute(times.until_minute)
    );
    match (times.firm, &card.unit) {
        (Some(firm), _) => format!("{} works on {when}", rounds.names.firm(firm)),
        (None, Some(unit)) => format!(
            "At {}, {} somebody opens on {when} only",
            unit.space_name, unit.building_name
        ),
        _ => format!("Somebody opens on {when} only"),
    }
}

/// The days ticked and the hours, under names that begin with `who`.
fn read(form: &mut Typed, who: &str) -> Option<Times> {
    let days = form.values(&format!("{who}_days"));
    let weekdays: Vec<u32> = days.iter().filter_map(|day| day.parse().ok()).collect();
    let (from_field, until_field) = (format!("{who}_from"), format!("{who}_until"));
    let (from, until) = (form.time(&from_field), form.time(&until_field));
    for (given, field) in [
        (from.is_some(), &from_field),
        (until.is_some(), &until_field),
    ] {
        if !given && form.error(field).is_none() {
            form.complain(field, "Say from when until when.");
        }
    }
    Some(Times {
        weekdays,
        from: from?,
        until: until?,
    })
}

/// A firm states its days and hours.
pub(super) async fn hours(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let firm: Option<FirmId> = form.code("hours_firm", "Choose one of the firms.");
    let times = read(&mut form, "hours");
    let why = form.text("why", "Say why, in a few words.");
    let wish = firm
        .zip(times)
        .map(|(firm, times)| RoundWish::Hours { firm, times, why });
    match asked(&desk, &state, wish, (&mut form, &once)).await? {
        Some(taken) => Ok(taken),
        None => rounds_again(&desk, &state, (form, once)).await,
    }
}

/// Somebody opens at certain times only.
pub(super) async fn access(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let visit: Uuid = id_of(&path, "visit")?;
    let mut form = form.into_inner();
    let once = form.once();
    let times = read(&mut form, "access");
    let why = form.text("why", "Say why, in a few words.");
    let rounds = load(&desk, &state).await?;
    let unit = find(&rounds, visit)?.unit.id;
    let wish = times.map(|times| RoundWish::Access { unit, times, why });
    match asked(&desk, &state, wish, (&mut form, &once)).await? {
        Some(taken) => Ok(taken),
        None => visit_again(&desk, &state, (&rounds, visit), (form, once)),
    }
}

/// The seven days, each with its number and whether it is ticked.
pub(super) fn days(form: &Typed, who: &str) -> Vec<(usize, &'static str, bool)> {
    let ticked = form.values(&format!("{who}_days"));
    let all = WEEKDAYS.iter().enumerate();
    all.map(|(n, name)| (n, *name, ticked.contains(&n.to_string())))
        .collect()
}
