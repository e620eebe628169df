//! How it ends: the outcomes that are open, what stands in the way of the others, the quote, nobody opening.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{JobId, JobState};
use usecases::Error;
use usecases::visit::{self, QuoteSum, SheetView};
use wording::{Choice, Shell};

use super::finding::OTHERWISE;
use super::questions::{self, Answers, Ask, Group};
use super::step::{about, keep, typed};
use super::{opened, steps};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::job_id;
use crate::page::{page, see, wrong};
use crate::seats::Road;
use crate::state::{State, ask};

#[derive(Template)]
#[template(path = "job-sheet/close.html")]
struct ClosePage {
    shell: Shell,
    form: Typed,
    job: JobId,
    group: Group,
    ends: Vec<(Choice, bool)>,
    in_the_way: Vec<String>,
    must: Vec<String>,
    /// Said when the phone saw other blocks than stand here.
    otherwise: Option<&'static str>,
    /// What the phone's scripts are told.
    about: String,
    back: String,
    progress: String,
    once: String,
}

#[derive(Template)]
#[template(path = "job-sheet/quote.html")]
struct QuotePage {
    shell: Shell,
    form: Typed,
    job: JobId,
    group: Group,
    sum: Option<QuoteSum>,
    once: String,
}

fn once_of(form: &Typed) -> String {
    match form.value("once") {
        "" => fresh_once(),
        key => key.to_owned(),
    }
}

fn close_page(
    road: &Road,
    state: &State,
    view: &SheetView,
    form: Typed,
) -> Result<ClosePage, Error> {
    let answers = Answers {
        sheet: &view.sheet,
        form: &form,
    };
    let completion = &view.assessment.completion;
    Ok(ClosePage {
        about: about(view, "", ("close", "close"))?,
        otherwise: (!view.sheet.get("d.completion").is_empty()).then_some(OTHERWISE),
        shell: road.shell(state, "my-day"),
        job: view.facts.job.id,
        group: questions::closing(view, &answers),
        ends: questions::ends(view, &answers),
        in_the_way: if view.assessment.open_ends.contains(&JobState::Done) {
            Vec::new()
        } else {
            view.assessment.in_the_way.clone()
        },
        must: completion
            .must_do
            .iter()
            .map(|m| m.words().to_owned())
            .collect(),
        back: steps::before(view, "close"),
        progress: steps::progress(view, "close"),
        once: once_of(&form),
        form,
    })
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let (_, view) = opened(&road, &state, job).await?;
    if view.visit.is_none() {
        return Ok(see(&format!("/sheet/{job}/arrive")));
    }
    page(&close_page(&road, &state, &view, Typed::default())?)
}

/// Keeps what was typed, then ends the visit or says why not.
pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let mut form = form.into_inner();
    let outcome = form.value("outcome").to_owned();
    let (seat, _) = opened(&road, &state, job).await?;
    let asked = match already(&state, &seat, job).await {
        Some(()) => Ok(()),
        None => keep(&state, seat.clone(), job, &form).await,
    };
    let asked = match asked {
        Ok(()) if outcome == JobState::WaitingForDecision.code() => {
            return Ok(see(&format!("/sheet/{job}/quote")));
        }
        Ok(()) => end(&state, seat, job, &form).await,
        Err(error) => Err(error),
    };
    match asked {
        Ok(()) => Ok(see(&format!("/sheet/{job}/kept"))),
        Err(error) => {
            form.take_wrongs(error)?;
            let (_, view) = opened(&road, &state, job).await?;
            wrong(&close_page(&road, &state, &view, form)?)
        }
    }
}

/// A form sent twice: the visit it ended is over, so nothing is kept again and the same answer is given.
async fn already(state: &web::Data<State>, seat: &usecases::Seat, job: JobId) -> Option<()> {
    let seat = seat.clone();
    let view = ask(state, move |world| visit::open_sheet(world, &seat, job))
        .await
        .ok()?;
    view.visit.is_none().then_some(())
}

async fn end(
    state: &web::Data<State>,
    seat: usecases::Seat,
    job: JobId,
    form: &Typed,
) -> Result<(), Error> {
    let (typed, once) = (typed(form), form.once());
    ask(state, move |world| {
        visit::submit_sheet(world, &seat, (job, typed), &once)
    })
    .await
    .map(drop)
}

fn quote_page(road: &Road, state: &State, view: &SheetView, form: Typed) -> QuotePage {
    let answers = Answers {
        sheet: &view.sheet,
        form: &form,
    };
    QuotePage {
        shell: road.shell(state, "my-day"),
        job: view.facts.job.id,
        group: questions::quote(view, &answers),
        sum: visit::quote_of(&view.sheet, view.facts.day, &mut Vec::new()),
        once: once_of(&form),
        form,
    }
}

pub(super) async fn show_quote(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let (_, view) = opened(&road, &state, job).await?;
    if view.visit.is_none() {
        return Ok(see(&format!("/sheet/{job}/arrive")));
    }
    page(&quote_page(&road, &state, &view, Typed::default()))
}

/// Keeps the quote; "send" ends the visit with it, "add it up" shows the sum first.
pub(super) async fn take_quote(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let mut form = form.into_inner();
    let (seat, _) = opened(&road, &state, job).await?;
    let asked = match already(&state, &seat, job).await {
        Some(()) => Ok(()),
        None => keep(&state, seat.clone(), job, &form).await,
    };
    let asked = match asked {
        Ok(()) if form.value("go") == "sum" => return Ok(see(&format!("/sheet/{job}/quote"))),
        Ok(()) => end(&state, seat, job, &form).await,
        Err(error) => Err(error),
    };
    match asked {
        Ok(()) => Ok(see(&format!("/sheet/{job}/kept"))),
        Err(error) => {
            form.take_wrongs(error)?;
            let (_, view) = opened(&road, &state, job).await?;
            wrong(&quote_page(&road, &state, &view, form))
        }
    }
}

#[derive(Template)]
#[template(path = "job-sheet/no-access.html")]
struct NoAccessPage {
    shell: Shell,
    form: Typed,
    job: JobId,
    group: Group,
    once: String,
}

fn no_access_page(road: &Road, state: &State, view: &SheetView, form: Typed) -> NoAccessPage {
    let answers = Answers {
        sheet: &view.sheet,
        form: &form,
    };
    NoAccessPage {
        shell: road.shell(state, "my-day"),
        job: view.facts.job.id,
        group: questions::no_access(&answers),
        once: once_of(&form),
        form,
    }
}

pub(super) async fn show_no_access(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let (_, view) = opened(&road, &state, job).await?;
    page(&no_access_page(&road, &state, &view, Typed::default()))
}

/// Nobody opened: the visit begins and ends at the door.
pub(super) async fn take_no_access(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let mut form = form.into_inner();
    let (seat, view) = opened(&road, &state, job).await?;
    let missing = form.text(
        "left_behind",
        "Say what you left at the door: a card, a letter, nothing.",
    );
    if missing.is_empty() {
        return wrong(&no_access_page(&road, &state, &view, form));
    }
    let (mut typed, once) = (typed(&form), form.once());
    typed.insert("outcome".to_owned(), JobState::NoAccess.code().to_owned());
    let asked: Result<(), Error> = ask(&state, move |world| {
        visit::submit_sheet(world, &seat, (job, typed), &once).map(drop)
    })
    .await;
    match asked {
        Ok(()) => Ok(see(&format!("/sheet/{job}/kept"))),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&no_access_page(&road, &state, &view, form))
        }
    }
}
