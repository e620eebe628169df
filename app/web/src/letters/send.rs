//! Writing down that a letter went out, and taking that back.
use actix_web::{HttpResponse, web};
use terms::SentHow;
use usecases::letters::{self, Sending};
use wording::sentences::capital;

use super::show::{kind_of, letter_page, load, sent_view};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::jobs::job_id;
use crate::page::{see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, ask};
use crate::when;

/// The letter went out.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (job, kind) = (job_id(&path.0)?, kind_of(&path.1)?);
    let mut form = form.into_inner();
    let view = load(&desk, &state, (job, kind), &mut form).await?;
    let how: Option<SentHow> = form.code("how", "Say how it went out.");
    let (on, time) = (form.date("sent_on"), form.time("sent_time"));
    if on.is_none() && form.error("sent_on").is_none() {
        form.complain("sent_on", "Say on which day it went out.");
    }
    let sent_at = on.and_then(|on| {
        let noon = chrono::NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
        when::instant(on.and_time(time.unwrap_or(noon)))
    });
    if let (Some(how), Some(sent_at), false) = (how, sent_at, form.is_wrong()) {
        let sending = Sending {
            job,
            kind,
            how,
            reference: form.value("reference").to_owned(),
            sent_at,
            filled: view.filled.clone(),
        };
        let (seat, once) = (desk.seat.clone(), form.once());
        let asked = ask(&state, move |world| {
            letters::send(world, &seat, sending, &once)
        })
        .await;
        match asked {
            Ok(id) => {
                let told = format!("{} is on record as sent.", capital(kind.words()));
                return Ok(see_told(&format!("/letters/{id}"), &told));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    } else if on.is_some() && sent_at.is_none() {
        form.complain(
            "sent_on",
            "That hour does not exist on this day: the clocks go forward.",
        );
    }
    wrong(&letter_page(&desk, &state, &view, &form))
}

/// The letter never went out.
pub(super) async fn back(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let letter: uuid::Uuid = id_of(&path, "letter")?;
    let (seat, once) = (desk.seat.clone(), form.once());
    let reason = form.value("reason").to_owned();
    let asked = ask(&state, move |world| {
        letters::take_back(world, &seat, (letter, &reason), &once)
    })
    .await;
    match asked {
        Ok(job) => Ok(see_told(
            &format!("/jobs/{job}"),
            "The letter counts as not sent.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            let view = sent_view(&desk, &state, &path).await?;
            wrong(&letter_page(&desk, &state, &view, &form))
        }
    }
}
