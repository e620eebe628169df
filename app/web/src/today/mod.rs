//! Today: the morning brief of the desk. The finding first, then six lists of sentences.
mod notices;
mod rows;
mod shared;

use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Role;
use terms::today::Today;
use usecases::{Error, duties, letters, today, work};
use wording::drawings::sixty_days::{DueIn, DueMark, sixty_days};
use wording::sentences::today as words;
use wording::{Drawing, Row, Shell};

use crate::Failure;
use crate::duties::events::row as event_row;
use crate::duties::hazard_row;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told};
use crate::seats::Desk;
use crate::state::{State, answer};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/today").route(web::get().to(show)))
        .service(web::resource("/today/told/{telling}").route(web::post().to(said)))
        .service(web::resource("/forecasts/again").route(web::post().to(again)));
}

#[derive(Template)]
#[template(path = "today/today.html")]
struct TodayPage {
    shell: Shell,
    finding: String,
    standing: String,
    cold: Vec<Row>,
    unsafe_units: Vec<Row>,
    to_tell: Vec<Row>,
    notices: Vec<Row>,
    strip: Option<Drawing>,
    events: Vec<Row>,
    due: Vec<Row>,
    waiting: Vec<Row>,
    likely_note: String,
    likely: Vec<Row>,
    outs: Vec<Row>,
    buildings: Vec<(Row, Drawing)>,
}

#[derive(Template)]
#[template(path = "today/first-day.html")]
struct FirstDayPage {
    shell: Shell,
    finding: String,
    standing: String,
    first: Vec<Row>,
}

/// The page; on an estate of which nothing is known, what to do first.
async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let shell = desk.shell(&state, "today");
    let day = when::local_day(state.world.now());
    let seat = desk.seat.clone();
    let (told, (waiting, notices, recalled), (events, hazards), outs) =
        answer(&state, move |world| {
            let told = today::today(world, &seat, day)?;
            // At night nobody rings residents about visits that moved, nor follows up what happened by day.
            if seat.role() == Role::OutOfHours {
                let none = (Vec::new(), Vec::new());
                let waiting = (Vec::new(), Vec::new(), Vec::new());
                return Ok((told, waiting, none, Vec::new()));
            }
            let waiting = (
                work::to_tell(world, &seat)?,
                letters::notices_due(world, &seat)?,
                usecases::recalls::unsettled(world, &seat)?,
            );
            let events = (
                duties::event_lines(world, &seat)?,
                work::open_hazards(world, &seat)?,
            );
            let look = usecases::stands_out::last_look(world, &seat)?;
            if look.stand_outs.is_empty() {
                return Ok((told, waiting, events, Vec::new()));
            }
            let kinds = usecases::register::kinds(world, &seat)?;
            let named = |code: &str| {
                let kind = kinds.iter().find(|k| k.code == code);
                kind.map_or_else(|| "units".to_owned(), |k| k.plural.clone())
            };
            let outs = crate::outlook::stand_out_rows(&look.stand_outs, &named);
            Ok((told, waiting, events, outs))
        })
        .await?;
    let (finding, standing) = (words::finding(&told), words::standing(&told));
    if told.empty {
        return page(&FirstDayPage {
            shell,
            finding,
            standing,
            first: rows::first_day(),
        });
    }
    page(&TodayPage {
        shell,
        finding,
        standing,
        cold: rows::cold(&told),
        unsafe_units: rows::unsafe_units(&told),
        to_tell: rows::to_tell(&waiting, &fresh_once()),
        notices: notices::rows(&notices, day),
        strip: strip(&told),
        events: hazards
            .iter()
            .map(|h| hazard_row(h, told.at))
            .chain(
                events
                    .iter()
                    .filter(|e| e.duty.done_on.is_none())
                    .map(|e| event_row(e, day, true)),
            )
            .collect(),
        due: rows::due(&told),
        waiting: crate::recalls::waiting(&recalled, rows::waiting(&told)),
        likely_note: rows::likely_note(&told),
        likely: rows::likely(&told, &fresh_once()),
        outs,
        buildings: rows::buildings(&told),
    })
}

fn strip(told: &Today) -> Option<Drawing> {
    let marks: Vec<DueIn> = told
        .due
        .iter()
        .map(|due| {
            let mark = if due.deadline < told.day {
                DueMark::Late
            } else if due.booked_from.is_some() {
                DueMark::Booked
            } else if due.attempts > 0 {
                DueMark::NoAccess
            } else {
                DueMark::Open
            };
            ((due.deadline - told.day).num_days(), mark)
        })
        .collect();
    (!marks.is_empty()).then(|| sixty_days("sixty", &marks))
}

/// Writes down that somebody was told.
async fn said(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let telling: uuid::Uuid = path.parse().or(Err(Error::NotFound("thing to tell")))?;
    let once = form.into_inner().once();
    answer(&state, move |world| {
        work::tell_done(world, &desk.seat, telling, &once)
    })
    .await?;
    Ok(see_told(
        "/today",
        "It is written down that they were told.",
    ))
}

/// Asks for every forecast to be reckoned again now.
async fn again(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let once = form.into_inner().once();
    let queued = answer(&state, move |world| {
        usecases::forecast::ask_for_refit(world, &desk.seat, &once)
    })
    .await?;
    let sentence = if queued {
        "Every forecast is being reckoned again. It takes a minute or two; you can go on meanwhile."
    } else {
        "Every forecast is already being reckoned again."
    };
    Ok(see_told("/today", sentence))
}
