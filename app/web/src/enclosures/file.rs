//! A photo or paper itself. Nothing in it can run: a photo is our own JPEG, a paper is only ever handed over to be kept.
use actix_web::http::header;
use actix_web::{HttpResponse, web};
use terms::Role;
use usecases::enclosures::{self, Enclosure};
use usecases::{Error, Seat};
use uuid::Uuid;

use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::see_told;
use crate::seats::{Desk, Visitor};
use crate::state::{State, answer};

/// Whoever may see photos at all; each is looked at for the seat anew.
const LOOKS: [Role; 6] = [
    Role::Agent,
    Role::Supervisor,
    Role::OutOfHours,
    Role::Landlord,
    Role::Contractor,
    Role::Office,
];

/// Hands it out to whichever of the visitor's seats may see it.
pub(super) async fn show(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: Uuid = id_of(&path, "file")?;
    let seats = visitor.seats(&LOOKS);
    let (one, bytes) = answer(&state, move |world| {
        for seat in &seats {
            match enclosures::body(world, seat, id) {
                Err(Error::NotFound(_) | Error::Forbidden(_)) => {}
                found => return found,
            }
        }
        Err(Error::NotFound("file"))
    })
    .await?;
    Ok(handed_out(&one, bytes))
}

fn handed_out(one: &Enclosure, bytes: Vec<u8>) -> HttpResponse {
    let (kind, how) = if one.sort == "photo" {
        ("image/jpeg", "inline")
    } else {
        ("application/pdf", "attachment")
    };
    let name: String = one
        .name
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_' | ' ') {
                c
            } else {
                '_'
            }
        })
        .collect();
    HttpResponse::Ok()
        .content_type(kind)
        .insert_header((
            header::CONTENT_DISPOSITION,
            format!("{how}; filename=\"{name}\""),
        ))
        .insert_header((
            header::CONTENT_SECURITY_POLICY,
            "default-src 'none'; sandbox",
        ))
        .insert_header((header::CONTENT_ENCODING, "identity"))
        .body(bytes)
}

/// Takes one out of sight.
pub(super) async fn take_out(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: Uuid = id_of(&path, "file")?;
    let (seat, once): (Seat, String) = (desk.seat.clone(), form.once());
    let (unit, job) = answer(&state, move |world| {
        enclosures::take_out(world, &seat, id, &once)
    })
    .await?;
    let back = match (job, unit) {
        (Some(job), _) => format!("/jobs/{job}/photos"),
        (None, Some(unit)) => format!("/units/{unit}/photos"),
        (None, None) => "/today".to_owned(),
    };
    Ok(see_told(
        &back,
        "It was taken out. That it was there stays on record.",
    ))
}
