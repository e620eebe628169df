//! A contractor's day and what is on offer: one thing a screen.
mod bag;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::{DateTime, Utc};
use terms::{JobState, Role};
use usecases::work::{self, Declined, OfferLine, ProposalForm, RoadLine};
use wording::sentences::{capital, counted, dates, ended, list};
use wording::{Link, Row, Shell, Urgency};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::job_id;
use crate::jobs::words::{due_words, place, slot, what};
use crate::page::{page, see_told, wrong};
use crate::seats::Road;
use crate::state::{State, answer, ask};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/my-day").route(web::get().to(day)))
        .service(
            web::resource("/bag")
                .route(web::get().to(bag::show))
                .route(web::post().to(bag::take)),
        )
        .service(web::resource("/on-offer").route(web::get().to(offers)))
        .service(web::resource("/on-offer/{job}/take").route(web::post().to(take)))
        .service(web::resource("/on-offer/{job}/propose").route(web::post().to(propose)))
        .service(web::resource("/on-offer/{job}/decline").route(web::post().to(decline)));
}

#[derive(Template)]
#[template(path = "my-day/day.html")]
struct DayPage {
    shell: Shell,
    heading: String,
    today: Vec<Row>,
    groups: Vec<(String, Vec<Row>)>,
    first: Option<Link>,
    offered: usize,
    office: bool,
}

async fn day(road: Road, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seats = road.seats.clone();
    let (day, offers) = answer(&state, move |world| {
        Ok((work::my_day(world, &seats)?, work::on_offer(world, &seats)?))
    })
    .await?;
    let now = state.world.now();
    let heading = match day.today.as_slice() {
        [] => "No job is booked for today".to_owned(),
        [first, ..] => {
            let jobs = counted(day.today.len() as u64, "job", "jobs");
            match first.line.job.booked {
                Some((from, _)) => capital(&format!(
                    "{jobs} today, the first at {}",
                    when::local(from).format("%H:%M")
                )),
                None => capital(&format!("{jobs} today")),
            }
        }
    };
    let open = day
        .today
        .iter()
        .find(|l| l.line.job.state == JobState::OnSite);
    let first = open.or(day.today.first()).map(|line| {
        let job = &line.line.job;
        let verb = if open.is_some() {
            "Go on with"
        } else {
            "Start with"
        };
        Link::new(
            format!("{verb} {}", job.space_name),
            format!("/sheet/{}", job.id),
        )
    });
    let rows = |lines: &[RoadLine]| lines.iter().map(|l| road_row(l, now)).collect::<Vec<_>>();
    let groups = [
        ("Returns", &day.returns),
        ("To book", &day.to_book),
        ("Waiting for a decision", &day.waiting),
        ("Later", &day.later),
    ]
    .into_iter()
    .filter(|(_, lines)| !lines.is_empty())
    .map(|(heading, lines)| (heading.to_owned(), rows(lines)))
    .collect();
    page(&DayPage {
        shell: road.shell(&state, "my-day"),
        heading,
        today: rows(&day.today),
        groups,
        first,
        offered: offers.len(),
        office: road.seats.iter().any(|s| s.role() == Role::Office),
    })
}

/// A row of the day; its hour hangs before it.
fn road_row(road: &RoadLine, now: DateTime<Utc>) -> Row {
    let (line, job) = (&road.line, &road.line.job);
    let bring = match road.bring.as_slice() {
        [] => String::new(),
        parts => format!(" Bring: {}.", list(parts).to_lowercase()),
    };
    let stands = match job.state {
        JobState::NoAccess => " Nobody opened; name another day.",
        JobState::WaitingForPart => " Return with the part.",
        JobState::MadeSafe => " Made safe; return to put it right.",
        JobState::LeftIsolated => " Left isolated, not to be used.",
        JobState::OnSite => " You are there; the sheet is open.",
        _ => "",
    };
    let what = what(job, line.unit.as_ref());
    let sentence = format!(": {what}.{bring}{stands}");
    let mut row = Row::about(
        format!("job-{}", job.id),
        Link::new(place(job), format!("/sheet/{}", job.id)),
        sentence,
    );
    if let Some((from, _)) = job.booked {
        let from = when::local(from);
        row.at = if from.date() == when::local_day(now) {
            from.format("%H:%M").to_string()
        } else {
            dates::day_brief(from.date())
        };
    }
    let small = if line.same_day {
        "resident needs heat today".to_owned()
    } else {
        job.number.clone()
    };
    match job.due_at {
        Some(due) => {
            row.urgency = if now > due {
                Urgency::Late
            } else {
                Urgency::Plain
            };
            row.figure(due_words(job, now, due), small)
        }
        None => row.figure(format!("{} min", job.minutes), small),
    }
}

#[derive(Template)]
#[template(path = "my-day/offers.html")]
struct OffersPage {
    shell: Shell,
    heading: String,
    form: Typed,
    offers: Vec<Offered>,
}

struct Offered {
    id: String,
    place: String,
    lines: Vec<String>,
    /// What was typed into its form for another day: day, from, until, words; empty for the others.
    typed: [String; 4],
    /// The form was sent back, so it stays open.
    open: bool,
    once: String,
}

async fn offers_page(
    road: &Road,
    state: &web::Data<State>,
    form: Typed,
) -> Result<OffersPage, Failure> {
    let seats = road.seats.clone();
    let offers = answer(state, move |world| work::on_offer(world, &seats)).await?;
    let now = state.world.now();
    Ok(OffersPage {
        shell: road.shell(state, "on-offer"),
        heading: match offers.len() {
            0 => "Nothing is on offer".to_owned(),
            n => capital(&format!(
                "{} on offer",
                counted(n as u64, "job is", "jobs are")
            )),
        },
        offers: offers.iter().map(|o| offered(o, &form, now)).collect(),
        form,
    })
}

fn offered(offer: &OfferLine, form: &Typed, now: DateTime<Utc>) -> Offered {
    let (line, job) = (&offer.line.line, &offer.line.line.job);
    let mut lines = vec![format!("{}.", capital(&what(job, line.unit.as_ref())))];
    if !job.words.is_empty() {
        lines.push(ended(&job.words));
    }
    if let Some(due) = job.due_at {
        lines.push(format!("{}.", capital(&due_words(job, now, due))));
    }
    if let Some((from, until)) = offer.offer.proposed {
        lines.push(format!(
            "Proposed: {} to {}.",
            dates::appointment(when::local(from)),
            when::local(until).format("%H:%M")
        ));
    }
    if !offer.line.bring.is_empty() {
        lines.push(format!(
            "Bring: {}.",
            list(&offer.line.bring).to_lowercase()
        ));
    }
    lines.push(format!(
        "Yours to take until {}.",
        dates::appointment(when::local(offer.offer.until_at))
    ));
    if let Some(slot) = slot(job) {
        lines.push(slot);
    }
    let open = form.value("about") == job.id.to_string();
    let typed = ["day", "from", "until", "words"];
    Offered {
        id: job.id.to_string(),
        place: place(job),
        lines,
        typed: typed.map(|field| {
            if open {
                form.value(field).to_owned()
            } else {
                String::new()
            }
        }),
        open,
        once: fresh_once(),
    }
}

async fn offers(road: Road, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    page(&offers_page(&road, &state, Typed::default()).await?)
}

async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once, seats) = (job_id(&path)?, form.once(), road.seats.clone());
    let asked = ask(&state, move |world| {
        let seat = work::seat_for(world, &seats, job).or_else(|_| had_offer(&seats))?;
        work::take(world, &seat, job, None, &once)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told(
            &format!("/sheet/{job}"),
            "It is yours. Name a day, or go at once.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&offers_page(&road, &state, form).await?)
        }
    }
}

/// With one estate there is one seat to ask with; the use case tells somebody who had an offer that it is gone.
fn had_offer(seats: &[usecases::Seat]) -> Result<usecases::Seat, usecases::Error> {
    match seats {
        [only] => Ok(only.clone()),
        _ => Err(usecases::Error::NotFound("job")),
    }
}

async fn decline(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once, seats) = (job_id(&path)?, form.once(), road.seats.clone());
    let reason = form.value("reason").to_owned();
    let asked = ask(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        work::decline(world, &seat, Declined { job, reason }, &once)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told(
            "/on-offer",
            "You declined it; the office is told why.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&offers_page(&road, &state, form).await?)
        }
    }
}

/// Another day than the one offered.
async fn propose(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once, seats) = (job_id(&path)?, form.once(), road.seats.clone());
    let (day, from, until) = (form.date("day"), form.time("from"), form.time("until"));
    for (given, field) in [
        (day.is_some(), "day"),
        (from.is_some(), "from"),
        (until.is_some(), "until"),
    ] {
        if !given && form.error(field).is_none() {
            form.complain(field, "A day is named with its beginning and its end.");
        }
    }
    if let (Some(day), Some(from), Some(until), false) = (day, from, until, form.is_wrong()) {
        let words = form.value("words").to_owned();
        let proposal = ProposalForm {
            job,
            day,
            from,
            until,
            words,
        };
        let asked = ask(&state, move |world| {
            let seat = work::seat_for(world, &seats, job).or_else(|_| had_offer(&seats))?;
            work::propose(world, &seat, proposal, &once)
        })
        .await;
        match asked {
            Ok(()) => {
                return Ok(see_told(
                    "/on-offer",
                    "The office reads your day, and answers.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&offers_page(&road, &state, form).await?)
}
