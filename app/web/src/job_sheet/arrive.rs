//! Before the work: where it is, how to get in, what to mind, what was there before; a day to name.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::JobState;
use usecases::Error;
use usecases::advice::{self, Unknown, WorthAsking};
use usecases::makers::UnitFigures;
use usecases::visit;
use usecases::work::{self, Booking, JobView};
use wording::sentences::{capital, dates};
use wording::{Choice, Shell};

use super::{known, opened, steps};
use crate::Failure;
use crate::advice::asking;
use crate::form::{Typed, fresh_once};
use crate::jobs::job_id;
use crate::jobs::words::{lost_words, place, slot};
use crate::page::{page, see, see_told, wrong};
use crate::seats::Road;
use crate::state::{State, answer, ask};
use crate::units::maker;
use crate::when;

#[derive(Template)]
#[template(path = "job-sheet/arrive.html")]
struct ArrivePage {
    shell: Shell,
    form: Typed,
    view: JobView,
    code: Option<String>,
    on_offer: bool,
    figures: Option<UnitFigures>,
    ask: Vec<WorthAsking>,
    once: String,
}

impl ArrivePage {
    fn heading(&self) -> String {
        let job = &self.view.job;
        let returns = !self.view.visits.is_empty() && job.state != JobState::OnSite;
        match (job.function_lost, self.view.calls.first()) {
            _ if returns => format!("{}: return for the {}", job.space_name, job.kind),
            (Some(lost), Some(call)) => format!(
                "{}: {} since {}",
                job.space_name,
                lost_words(lost),
                dates::appointment(when::local(call.since_at))
            ),
            (Some(lost), None) => format!("{}: {}", job.space_name, lost_words(lost)),
            (None, _) => format!("{}: {}", job.space_name, job.kind),
        }
    }

    fn lines(&self) -> Vec<String> {
        let job = &self.view.job;
        let mut lines = vec![format!("{}. {}", place(job), self.view.building.address)];
        if let Some(unit) = &self.view.unit {
            let (from, to) = unit.installed.unzip();
            lines.push(format!(
                "{} {}, fitted {}.",
                capital(&self.view.kind_name),
                unit.number,
                dates::fitted_when(from, to)
            ));
        }
        if !job.words.is_empty() {
            lines.push(format!("“{}”", job.words));
        }
        let upon = self.view.upon.as_ref().and_then(|u| u.decided.as_ref());
        lines.extend(upon.map(|(choice, why)| format!("Decided: {choice}. “{why}”")));
        if let Some(slot) = slot(job) {
            lines.push(format!("Booked for {slot}."));
        }
        for (_, _, name) in &self.view.duties {
            lines.push(format!("Due with it: {name}."));
        }
        lines
    }

    fn past(&self) -> Vec<String> {
        known::past(&self.view)
    }

    fn last_readings(&self) -> Option<(String, Vec<String>)> {
        known::last_readings(&self.view)
    }

    fn likely(&self) -> Option<String> {
        known::likely(&self.view)
    }

    /// The maker's figures on record, and what may be entered from the plate.
    fn makers(&self) -> Vec<String> {
        let standing = self.figures.iter().flat_map(|f| &f.figures);
        standing
            .filter(|l| l.figure.superseded_at.is_none())
            .map(maker::said)
            .collect()
    }

    fn may_state_figure(&self) -> bool {
        let state = self.view.job.state;
        !self.on_offer
            && !state.is_closed()
            && self.figures.as_ref().is_some_and(|f| !f.specs.is_empty())
    }

    /// What is worth finding out while one is there: code, question, how, "here" when it is answered on this page.
    fn questions(&self) -> Vec<(&'static str, &'static str, &'static str, &'static str)> {
        let asks = self.ask.iter().map(|ask| {
            let (question, how) = asking::question(ask.what);
            let here = if ask.what == Unknown::Rise {
                ""
            } else {
                "here"
            };
            (ask.what.code(), question, how, here)
        });
        asks.collect()
    }

    fn figure_choices(&self) -> Vec<Choice> {
        let typed = self.form.value("figure");
        self.figures
            .as_ref()
            .map_or_else(Vec::new, |f| maker::choices(f, typed))
    }

    fn figure_sources(&self) -> Vec<Choice> {
        maker::sources(self.form.value("source"))
    }

    fn may_start(&self) -> bool {
        let job = &self.view.job;
        !self.on_offer && (job.state.may_become(JobState::OnSite) || job.state == JobState::OnSite)
    }

    fn may_book(&self) -> bool {
        !self.on_offer
            && (self.view.job.state.may_become(JobState::Booked)
                || self.view.job.state == JobState::Booked)
    }

    fn may_give_back(&self) -> bool {
        !self.on_offer && self.view.job.state.may_become(JobState::ToPlace)
    }
}

async fn page_of(
    road: &Road,
    state: &web::Data<State>,
    id: &str,
    form: Typed,
) -> Result<ArrivePage, Failure> {
    let (job, seats) = (job_id(id)?, road.seats.clone());
    let (seat, view, figures, ask) = answer(state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        let view = work::job_view(world, &seat, job)?;
        // While the job is only on offer, what is known of the unit stays with the desk.
        let theirs = view.job.firm.is_some() && view.job.firm == seat.grant().firm;
        let unit = view.unit.as_ref().filter(|_| theirs).map(|u| u.id);
        let figures = unit
            .map(|unit| usecases::makers::unit_figures(world, &seat, unit))
            .transpose()?;
        let ask = if theirs {
            advice::questions_for(world, &seat, job)?
        } else {
            Vec::new()
        };
        Ok((seat, view, figures, ask))
    })
    .await?;
    Ok(ArrivePage {
        figures,
        ask,
        shell: road.shell(state, "my-day"),
        on_offer: view.job.firm != seat.grant().firm,
        form,
        view,
        code: None,
        once: fresh_once(),
    })
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    page(&page_of(&road, &state, &path, Typed::default()).await?)
}

/// "I am at the unit."
pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (job, once, seats) = (job_id(&path)?, form.once(), road.seats.clone());
    answer(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        visit::arrive(world, &seat, job, &once)
    })
    .await?;
    let (_, view) = opened(&road, &state, job).await?;
    Ok(see(&format!(
        "/sheet/{job}/{}",
        steps::next(&view, "arrive")
    )))
}

/// Shows the key or door code, which is written down as a look.
pub(super) async fn code(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let (job, seats) = (job_id(&path)?, road.seats.clone());
    let code = answer(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        work::look_at_code(world, &seat, job)
    })
    .await?;
    let mut shown = page_of(&road, &state, &path, Typed::default()).await?;
    shown.code = Some(code);
    page(&shown)
}

/// A maker's figure read from the plate or the manual on site.
pub(super) async fn figure(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once) = (job_id(&path)?, form.once());
    let shown = page_of(&road, &state, &path, Typed::default()).await?;
    let unit = shown.view.unit.as_ref().map(|u| u.id);
    let unit = unit.ok_or(Failure(Error::NotFound("unit")))?;
    let today = when::local_day(state.world.now());
    if let Some(figure) = maker::read(&mut form, unit, today) {
        let seats = road.seats.clone();
        let asked = ask(&state, move |world| {
            let seat = work::seat_for(world, &seats, job)?;
            usecases::makers::state_figure(world, &seat, figure, &once)
        })
        .await;
        match asked {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/sheet/{job}"),
                    "The maker’s figure stands; your readings are held against it.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&road, &state, &path, form).await?)
}

/// Something found out on site.
pub(super) async fn found(
    road: Road,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (id, code) = path.into_inner();
    let mut form = form.into_inner();
    let (job, once, seats) = (job_id(&id)?, form.once(), road.seats.clone());
    let what = Unknown::ALL.into_iter().find(|u| u.code() == code);
    let what = what.ok_or(Failure(Error::NotFound("question")))?;
    let said = form.value("answer").to_owned();
    let asked = ask(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        advice::found_out(world, &seat, (job, what, &said), &once)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told(
            &format!("/sheet/{job}"),
            "It is kept; the next advice reckons with it.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&road, &state, &id, form).await?)
        }
    }
}

pub(super) async fn book(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once) = (job_id(&path)?, form.once());
    let (day, from, until) = (form.date("day"), form.time("from"), form.time("until"));
    if day.is_none() || from.is_none() || until.is_none() {
        form.complain("day", "A slot needs its day, its beginning and its end.");
    }
    if let (Some(day), Some(from), Some(until)) = (day, from, until) {
        let booking = Booking {
            job,
            day,
            from,
            until,
            engineer: None,
            version: form.value("version").parse().ok(),
        };
        let seats = road.seats.clone();
        let asked = ask(&state, move |world| {
            let seat = work::seat_for(world, &seats, job)?;
            work::book(world, &seat, booking, &once)
        })
        .await;
        match asked {
            Ok(()) => return Ok(see_told(&format!("/sheet/{job}"), "It is booked.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&road, &state, &path, form).await?)
}

pub(super) async fn give_back(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once, seats) = (job_id(&path)?, form.once(), road.seats.clone());
    let reason = form.value("reason").to_owned();
    let asked: Result<(), Error> = ask(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        work::give_back(world, &seat, (job, reason), &once)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told("/my-day", "It is back with the office.")),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&road, &state, &path, form).await?)
        }
    }
}
