//! Opening a job at the desk.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{JobKind, SpaceId};
use usecases::work::{self, OpenJob, Place};
use usecases::{Error, Seat};
use wording::{Choice, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "jobs/new.html")]
struct NewPage {
    shell: Shell,
    form: Typed,
    place: Place,
    once: String,
}

impl NewPage {
    fn kinds(&self) -> Vec<Choice> {
        JobKind::ALL
            .iter()
            .map(|k| Choice::new(k.code(), k.words(), self.form.value("kind") == k.code()))
            .collect()
    }

    fn units(&self) -> Vec<Choice> {
        let typed = self.form.value("unit");
        let mut choices = vec![Choice::new("", "none in particular", typed.is_empty())];
        choices.extend(self.place.units.iter().map(|u| {
            let id = u.id.to_string();
            let chosen = id == typed;
            Choice::new(id, format!("{} {}", u.kind_name, u.number), chosen)
        }));
        choices
    }
}

async fn place(state: &web::Data<State>, seat: &Seat, form: &Typed) -> Result<Place, Failure> {
    let space: SpaceId = form
        .value("space")
        .parse()
        .or(Err(Error::NotFound("space")))?;
    let seat = seat.clone();
    answer(state, move |world| work::place_of(world, &seat, space)).await
}

pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let form = query.into_inner();
    let place = place(&state, &desk.seat, &form).await?;
    page(&NewPage {
        shell: desk.shell(&state, "jobs"),
        form,
        place,
        once: fresh_once(),
    })
}

pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let place = place(&state, &desk.seat, &form).await?;
    let kind: Option<JobKind> = form.code("kind", "Say what sort of work it is.");
    let words = form.text("words", "Say in a few words what is to be done.");
    let due_on = form.date("due_on");
    let minutes = form.number("minutes", 5.0, 2880.0);
    let unit = match form.text_or_none("unit") {
        Some(_) => form.code("unit", "Choose one of its units."),
        None => None,
    };
    if let (false, Some(kind)) = (form.is_wrong(), kind) {
        let open = OpenJob {
            kind,
            space: place.space.id,
            unit,
            words,
            due_on,
            duties: Vec::new(),
            minutes: minutes.map(|m| m as i32),
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        match ask(&state, move |world| {
            work::open_job(world, &seat, open, &key)
        })
        .await
        {
            Ok(job) => return Ok(see_told(&format!("/jobs/{job}"), "The job is open.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&NewPage {
        shell: desk.shell(&state, "jobs"),
        form,
        place,
        once,
    })
}
