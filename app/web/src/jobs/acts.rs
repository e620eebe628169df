//! What the desk does with a job: one small form each.
use actix_web::{HttpResponse, web};
use chrono::TimeDelta;
use terms::{JobId, JobState};
use usecases::mailed;
use usecases::work::{self, Agreed, Booking, OfferForm, PlaceForm};
use usecases::{Error, Seat, World};

use super::job::page_of;
use super::{by_law, job_id};
use crate::Failure;
use crate::form::Typed;
use crate::page::{see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, ask};

/// What one of the forms asks for.
pub(super) type Act = Box<dyn FnOnce(&World, &Seat) -> Result<(), Error> + Send>;

pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (id, act) = path.into_inner();
    let mut form = form.into_inner();
    let job = job_id(&id)?;
    let now = state.world.now();
    let (run, told) = read(&act, job, &mut form, now)?;
    if let (false, Some(run)) = (form.is_wrong(), run) {
        let seat = desk.seat.clone();
        match ask(&state, move |world| run(world, &seat)).await {
            Ok(()) => return Ok(see_told(&format!("/jobs/{job}"), told)),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&desk, &state, &id, form).await?)
}

/// Reads one of the small forms into what it asks for, with what is said afterwards.
fn read(
    act: &str,
    job: JobId,
    form: &mut Typed,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<(Option<Act>, &'static str), Error> {
    let once = form.once();
    let version = form.value("version").parse().ok();
    Ok(match act {
        "offer" => offering(job, form, (now, version)),
        "mail" => {
            let to = form.value("mail_to").to_owned();
            let run: Act =
                Box::new(move |world, seat| mailed::mail_page(world, seat, (job, to), &once));
            (Some(run), "The page goes by mail.")
        }
        "place" => {
            let firm = form.code("firm", "Choose a firm.");
            let engineer = optional(form, "engineer");
            let run = firm.map(|firm| -> Act {
                let place = PlaceForm {
                    job,
                    firm,
                    engineer,
                    version,
                };
                Box::new(move |world, seat| work::place_with(world, seat, place, &once))
            });
            (run, "It is written down who took it.")
        }
        "book" => (
            booking(job, form, version),
            "It is booked. The resident has not been told yet.",
        ),
        "hazard" => (
            by_law::say(job, form, now),
            "It is on record as a hazard, with its days.",
        ),
        "hazard-done" => (by_law::done(job, form), "It is written down."),
        "give-back" => {
            let reason = form.text("reason", "Say in a few words why.");
            let run: Act =
                Box::new(move |world, seat| work::give_back(world, seat, (job, reason), &once));
            (Some(run), "It is to place again.")
        }
        "pause" | "run-on" => pausing(act, job, form),
        "stand-down" => {
            let reason = form.text("reason", "Say in a few words why.");
            let run: Act = Box::new(move |world, seat| {
                work::stand_down(world, seat, (job, reason, version), &once)
            });
            (Some(run), "It is stood down.")
        }
        "agree" => {
            let agreed = Agreed {
                job,
                cost: form.pounds("cost"),
                looked: form.ticked("looked"),
            };
            let run: Act = Box::new(move |world, seat| work::agree(world, seat, agreed, &once));
            (Some(run), JobState::Agreed.words())
        }
        _ => return Err(Error::NotFound("page")),
    })
}

/// An offer to a firm, by mail too when that is ticked.
fn offering(
    job: JobId,
    form: &mut Typed,
    (now, version): (chrono::DateTime<chrono::Utc>, Option<i32>),
) -> (Option<Act>, &'static str) {
    let once = form.once();
    let firm = form.code("firm", "Choose a firm.");
    let hours = form.number("hours", 1.0, 1440.0).unwrap_or(4.0);
    let until = now + TimeDelta::minutes((hours * 60.0) as i64);
    let (by_mail, to) = (form.ticked("mailed"), form.value("mail_to").to_owned());
    let run = firm.map(|firm| -> Act {
        let proposed = None;
        let offer = OfferForm {
            job,
            firm,
            until,
            proposed,
            version,
        };
        if by_mail {
            let offer = (offer, to);
            return Box::new(move |world, seat| mailed::offer_by_mail(world, seat, offer, &once));
        }
        Box::new(move |world, seat| work::offer(world, seat, offer, &once))
    });
    let told = if by_mail {
        "It is on offer, and the page goes by mail."
    } else {
        "It is on offer."
    };
    (run, told)
}

/// A pause of the clock, or its end.
fn pausing(act: &str, job: JobId, form: &mut Typed) -> (Option<Act>, &'static str) {
    let once = form.once();
    if act == "run-on" {
        let run: Act = Box::new(move |world, seat| work::run_on(world, seat, job, &once));
        return (Some(run), "The clock runs.");
    }
    let reason = form.text("pause_reason", "Choose the reason.");
    let words = form.value("pause_words").to_owned();
    let run: Act =
        Box::new(move |world, seat| work::pause(world, seat, (job, reason, words), &once));
    (Some(run), "The reason is on record.")
}

fn booking(job: JobId, form: &mut Typed, version: Option<i32>) -> Option<Act> {
    let once = form.once();
    let day = form.date("day");
    let from = form.time("from");
    let until = form.time("until");
    for (given, field) in [
        (day.is_some(), "day"),
        (from.is_some(), "from"),
        (until.is_some(), "until"),
    ] {
        if !given && form.error(field).is_none() {
            form.complain(field, "A slot needs its day, its beginning and its end.");
        }
    }
    let engineer = optional(form, "engineer");
    let (day, from, until) = (day?, from?, until?);
    let booking = Booking {
        job,
        day,
        from,
        until,
        engineer,
        version,
    };
    Some(Box::new(move |world, seat| {
        work::book(world, seat, booking, &once)
    }))
}

fn optional<T: std::str::FromStr>(form: &mut Typed, field: &str) -> Option<T> {
    form.text_or_none(field)?;
    form.code(field, "Choose one of the list.")
}
