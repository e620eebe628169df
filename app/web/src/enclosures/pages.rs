//! The pages photos and papers are seen on and sent from: at the desk, and on the phone.
use actix_multipart::Multipart;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use terms::JobId;
use usecases::Seat;
use usecases::enclosures::{self, Enclosure, NewEnclosure, Of, Shown};
use usecases::work;
use wording::Shell;
use wording::sentences::dates;

use super::sent::{self, Sent};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Reader, Road};
use crate::state::{State, answer, ask};
use crate::when;

/// One of them, as a page shows it.
struct Seen {
    href: String,
    photo: bool,
    /// What it shows, for those who do not see it.
    alt: String,
    words: String,
    note: String,
    width: i32,
    height: i32,
}

/// What both pages show.
struct Pieces {
    title: String,
    back: String,
    action: String,
    all: Vec<Seen>,
    may_send: bool,
    may_take_out: bool,
    form: Typed,
    once: String,
}

#[derive(Template)]
#[template(path = "enclosures/photos.html")]
struct PhotosPage {
    shell: Shell,
    pieces: Pieces,
}

#[derive(Template)]
#[template(path = "enclosures/on-sheet.html")]
struct SheetPage {
    shell: Shell,
    pieces: Pieces,
}

fn seen(one: &Enclosure, shown: &Shown) -> Seen {
    let who = shown
        .names
        .iter()
        .find(|(id, _)| *id == one.by)
        .map_or("the program", |(_, name)| name.as_str());
    let of = match one.about.as_str() {
        "visit" => "At a visit",
        "attempt" => "When nobody opened",
        _ => "Of the unit",
    };
    let at = dates::moment(when::local(one.at));
    Seen {
        href: format!("/photos/{}", one.id),
        photo: one.sort == "photo",
        alt: if one.words.is_empty() {
            format!("{of}, {at}; nothing was written to it")
        } else {
            one.words.clone()
        },
        words: if one.words.is_empty() {
            one.name.clone()
        } else {
            one.words.clone()
        },
        note: format!("{of}, {at}, by {who}"),
        width: one.width,
        height: one.height,
    }
}

/// The address of a page and where it leads back to.
fn addresses(of: Of, phone: bool) -> (String, String) {
    match of {
        Of::Unit(id) => (format!("/units/{id}/photos"), format!("/units/{id}")),
        Of::Job(id) if phone => (format!("/sheet/{id}/photos"), format!("/sheet/{id}")),
        Of::Job(id) => (format!("/jobs/{id}/photos"), format!("/jobs/{id}")),
    }
}

async fn pieces(
    state: &web::Data<State>,
    seat: &Seat,
    (of, phone): (Of, bool),
    form: Typed,
) -> Result<Pieces, Failure> {
    let seat = seat.clone();
    let shown = answer(state, move |world| enclosures::of(world, &seat, of)).await?;
    let (action, back) = addresses(of, phone);
    Ok(Pieces {
        title: shown.title.clone(),
        back,
        action,
        all: shown.all.iter().map(|one| seen(one, &shown)).collect(),
        may_send: shown.may_send,
        may_take_out: shown.may_take_out && !phone,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

/// Keeps what was sent; the form again when it cannot be taken.
async fn keep(
    state: &web::Data<State>,
    seat: &Seat,
    of: Of,
    sent: Sent,
) -> Result<Option<Typed>, Failure> {
    let Sent { mut form, file } = sent;
    let Some((name, bytes)) = file else {
        return Ok(Some(form));
    };
    let new = NewEnclosure {
        of,
        name,
        words: form.value("words").to_owned(),
        bytes,
    };
    let (seat, once) = (seat.clone(), form.once());
    let kept = ask(state, move |world| {
        enclosures::add(world, &seat, new, &once)
    })
    .await;
    match kept {
        Ok(_) => Ok(None),
        Err(error) => {
            form.take_wrongs(error).map_err(Failure)?;
            Ok(Some(form))
        }
    }
}

async fn show(reader: &Reader, state: &web::Data<State>, of: Of) -> Result<HttpResponse, Failure> {
    let pieces = pieces(state, &reader.seat, (of, false), Typed::default()).await?;
    page(&PhotosPage {
        shell: reader.shell(state, "buildings"),
        pieces,
    })
}

async fn take(
    reader: &Reader,
    state: &web::Data<State>,
    (of, sent): (Of, Sent),
) -> Result<HttpResponse, Failure> {
    let Some(form) = keep(state, &reader.seat, of, sent).await? else {
        return Ok(see_told(&addresses(of, false).0, "It is kept."));
    };
    let pieces = pieces(state, &reader.seat, (of, false), form).await?;
    wrong(&PhotosPage {
        shell: reader.shell(state, "buildings"),
        pieces,
    })
}

/// Those of a unit.
pub(super) async fn of_unit(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    show(&reader, &state, Of::Unit(id_of(&path, "unit")?)).await
}

/// Takes one of a unit.
pub(super) async fn take_of_unit(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    request: HttpRequest,
    parts: Multipart,
) -> Result<HttpResponse, Failure> {
    let of = Of::Unit(id_of(&path, "unit")?);
    let sent = sent::read(&request, parts).await;
    take(&reader, &state, (of, sent)).await
}

/// Those of a job.
pub(super) async fn of_job(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    show(&reader, &state, Of::Job(id_of(&path, "job")?)).await
}

/// Takes one of a job.
pub(super) async fn take_of_job(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    request: HttpRequest,
    parts: Multipart,
) -> Result<HttpResponse, Failure> {
    let of = Of::Job(id_of(&path, "job")?);
    let sent = sent::read(&request, parts).await;
    take(&reader, &state, (of, sent)).await
}

async fn seat_for(road: &Road, state: &web::Data<State>, job: JobId) -> Result<Seat, Failure> {
    let seats = road.seats.clone();
    answer(state, move |world| work::seat_for(world, &seats, job)).await
}

/// Those of a job, on the phone.
pub(super) async fn on_sheet(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job: JobId = id_of(&path, "job")?;
    let seat = seat_for(&road, &state, job).await?;
    let pieces = pieces(&state, &seat, (Of::Job(job), true), Typed::default()).await?;
    page(&SheetPage {
        shell: road.shell(&state, "my-day"),
        pieces,
    })
}

/// Takes one of a job from the phone.
pub(super) async fn take_on_sheet(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    request: HttpRequest,
    parts: Multipart,
) -> Result<HttpResponse, Failure> {
    let job: JobId = id_of(&path, "job")?;
    let seat = seat_for(&road, &state, job).await?;
    let sent = sent::read(&request, parts).await;
    let Some(form) = keep(&state, &seat, Of::Job(job), sent).await? else {
        return Ok(see_told(&format!("/sheet/{job}/photos"), "It is kept."));
    };
    let pieces = pieces(&state, &seat, (Of::Job(job), true), form).await?;
    wrong(&SheetPage {
        shell: road.shell(&state, "my-day"),
        pieces,
    })
}
