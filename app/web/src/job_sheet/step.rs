//! One screen of questions: a reading, what was seen, what was done, what is unsafe.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use terms::JobId;
use usecases::visit::{self, SheetView};
use usecases::{Error, Seat};
use wording::{Link, Row, Shell};

use super::questions::{self, Answers, Ask, Group};
use super::{finding, opened, steps};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::job_id;
use crate::page::{page, see, wrong};
use crate::seats::Road;
use crate::state::{State, ask};

#[derive(Template)]
#[template(path = "job-sheet/step.html")]
struct StepPage {
    shell: Shell,
    form: Typed,
    job: JobId,
    group: Group,
    back: String,
    progress: String,
    is_reading: bool,
    /// What the phone's scripts are told.
    about: String,
    once: String,
}

#[derive(Template)]
#[template(path = "job-sheet/readings.html")]
struct ReadingsPage {
    shell: Shell,
    job: JobId,
    rows: Vec<Row>,
    tests: Vec<Row>,
    progress: String,
}

/// The group behind an address; an address without one is not there.
fn group(view: &SheetView, form: &Typed, step: &str) -> Result<Group, Error> {
    let answers = Answers {
        sheet: &view.sheet,
        form,
    };
    if let Some(code) = step.strip_prefix("reading/") {
        let spec = questions::readings_of(view)
            .into_iter()
            .chain(questions::tests_of(view))
            .find(|r| r.code == code)
            .ok_or(Error::NotFound("reading"))?;
        return Ok(questions::reading(view, &answers, spec));
    }
    Ok(match step {
        "look" => questions::look(view, &answers),
        "work" => questions::work(view, &answers),
        "after" => questions::after(view, &answers),
        "check" => questions::check(view, &answers),
        "unsafe" => questions::unsafe_found(view, &answers),
        _ => return Err(Error::NotFound("page")),
    })
}

fn page_of(
    road: &Road,
    state: &State,
    view: &SheetView,
    form: Typed,
    step: &str,
) -> Result<StepPage, Error> {
    let group = group(view, &form, step)?;
    let reading = step.strip_prefix("reading/").unwrap_or_default();
    Ok(StepPage {
        about: about(view, reading, (step, step))?,
        shell: road.shell(state, "my-day"),
        job: view.facts.job.id,
        group,
        back: steps::before(view, step),
        progress: steps::progress(view, step),
        is_reading: step.starts_with("reading/"),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

/// What the phone's scripts are told on a page of the sheet, with where the page leads and which others there are.
pub(super) fn about(
    view: &SheetView,
    reading: &str,
    (page, step): (&str, &str),
) -> Result<String, Error> {
    let mut about = visit::for_phone(view, reading)?;
    about["page"] = page.into();
    about["next"] = steps::next(view, step).into();
    about["pages"] = steps::all(view).into();
    Ok(about.to_string())
}

async fn show_step(
    road: Road,
    state: web::Data<State>,
    id: &str,
    step: &str,
) -> Result<HttpResponse, Failure> {
    let job = job_id(id)?;
    let (_, view) = opened(&road, &state, job).await?;
    if view.visit.is_none() {
        return Ok(see(&format!("/sheet/{job}/arrive")));
    }
    page(&page_of(&road, &state, &view, Typed::default(), step)?)
}

async fn take_step(
    road: Road,
    state: web::Data<State>,
    id: &str,
    (step, form): (&str, Typed),
) -> Result<HttpResponse, Failure> {
    let job = job_id(id)?;
    let (seat, view) = opened(&road, &state, job).await?;
    let mut form = form;
    match keep(&state, seat, job, &form).await {
        Ok(()) => {
            let (_, view) = opened(&road, &state, job).await?;
            let next = steps::next(&view, step);
            // A reading outside its limit is told at once, not at the end.
            let next = match step.strip_prefix("reading/") {
                Some(code) if next != "finding" && finding::speaks(&view, code) => {
                    format!("finding?after={code}")
                }
                _ => next,
            };
            Ok(see(&format!("/sheet/{job}/{next}")))
        }
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&road, &state, &view, form, step)?)
        }
    }
}

/// Keeps what was typed.
pub(super) async fn keep(
    state: &web::Data<State>,
    seat: Seat,
    job: JobId,
    form: &Typed,
) -> Result<(), Error> {
    let (typed, once) = (typed(form), form.once());
    ask(state, move |world| {
        visit::keep_draft(world, &seat, (job, typed), &format!("{once}-draft"))
    })
    .await
}

/// What a form of the sheet carries.
pub(crate) fn typed(form: &Typed) -> BTreeMap<String, String> {
    form.all()
        .filter(|(name, _)| *name != "once")
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect()
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Failure> {
    let (job, step) = path.into_inner();
    show_step(road, state, &job, &step).await
}

pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (job, step) = path.into_inner();
    take_step(road, state, &job, (&step, form.into_inner())).await
}

pub(super) async fn show_reading(
    road: Road,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Failure> {
    let (job, code) = path.into_inner();
    show_step(road, state, &job, &format!("reading/{code}")).await
}

pub(super) async fn take_reading(
    road: Road,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (job, code) = path.into_inner();
    take_step(
        road,
        state,
        &job,
        (&format!("reading/{code}"), form.into_inner()),
    )
    .await
}

/// The list of readings, for a repair that takes only what it touches.
pub(super) async fn readings(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let (_, view) = opened(&road, &state, job).await?;
    if view.visit.is_none() {
        return Ok(see(&format!("/sheet/{job}/arrive")));
    }
    let row = |spec: &visit::ReadingSpec| {
        let typed: Vec<String> = spec
            .fields
            .iter()
            .filter(|f| view.sheet.has(&format!("r.{}", f.code)))
            .map(|f| format!("{} {}", view.sheet.get(&format!("r.{}", f.code)), f.unit))
            .collect();
        let row = Row::about(
            spec.code.clone(),
            Link::new(
                spec.label.clone(),
                format!("/sheet/{job}/reading/{}", spec.code),
            ),
            "",
        );
        match typed.as_slice() {
            [] => row.figure("not yet", ""),
            typed => row.figure(typed.join(", "), ""),
        }
    };
    page(&ReadingsPage {
        shell: road.shell(&state, "my-day"),
        job,
        rows: questions::readings_of(&view).into_iter().map(row).collect(),
        tests: questions::tests_of(&view).into_iter().map(row).collect(),
        progress: steps::progress(&view, "readings"),
    })
}

impl StepPage {
    fn error(&self, name: &str) -> Option<&str> {
        self.form.error(name)
    }
}
