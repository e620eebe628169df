//! A visit typed in at the desk from paper or mail: the whole sheet on one page, the same checks.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{EngineerId, FirmId, JobState};
use usecases::visit::{self, PaperSource, PaperVisit, Sheet, SheetView};
use usecases::{Error, Seat};
use wording::{Choice, Shell};

use super::job_id;
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::job_sheet::questions::{self, Ask, Folding};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

/// Where the desk may have a visit from.
const SOURCES: [(PaperSource, &str); 4] = [
    (PaperSource::Paper, "a paper sheet"),
    (PaperSource::Photo, "a photograph of the sheet"),
    (PaperSource::Mail, "a mail"),
    (PaperSource::Telephone, "a telephone call"),
];

#[derive(Template)]
#[template(path = "jobs/paper.html")]
struct PaperPage {
    shell: Shell,
    form: Typed,
    view: SheetView,
    groups: Vec<Folding>,
    firms: Vec<Choice>,
    engineers: Vec<Choice>,
    sources: Vec<Choice>,
    ends: Vec<Choice>,
    needs_firm: bool,
    supervisor: bool,
    once: String,
}

async fn view_of(state: &web::Data<State>, seat: &Seat, id: &str) -> Result<SheetView, Failure> {
    let (seat, job) = (seat.clone(), job_id(id)?);
    answer(state, move |world| visit::open_sheet(world, &seat, job)).await
}

fn engineers(view: &SheetView, typed: &str) -> Vec<Choice> {
    let (names, job) = (&view.job.names, &view.facts.job);
    let mut choices = vec![Choice::new("", "not named", typed.is_empty())];
    choices.extend(
        names
            .engineers
            .iter()
            .filter(|e| job.firm.is_none_or(|firm| firm == e.firm))
            .map(|e| {
                let id = e.id.to_string();
                let is = id == typed || (typed.is_empty() && job.engineer == Some(e.id));
                Choice::new(id, format!("{}, {}", e.name, names.firm(e.firm)), is)
            }),
    );
    choices
}

fn page_of(desk: &Desk, state: &State, view: SheetView, form: Typed) -> PaperPage {
    let (source, outcome) = (form.value("source"), form.value("outcome"));
    let firm = form.value("firm");
    PaperPage {
        shell: desk.shell(state, "jobs"),
        groups: questions::whole(&view, &form),
        firms: view
            .job
            .names
            .firms
            .iter()
            .map(|f| Choice::new(f.id.to_string(), f.name.clone(), f.id.to_string() == firm))
            .collect(),
        engineers: engineers(&view, form.value("engineer")),
        sources: SOURCES
            .into_iter()
            .map(|(of, words)| {
                let chosen = of.code() == source || (source.is_empty() && of == PaperSource::Paper);
                Choice::new(of.code(), words, chosen)
            })
            .collect(),
        ends: visit::ENDS
            .into_iter()
            .map(|end| {
                let words = wording::sentences::capital(end.words());
                Choice::new(end.code(), words, outcome == end.code())
            })
            .collect(),
        needs_firm: matches!(view.facts.job.state, JobState::ToPlace | JobState::Offered),
        supervisor: desk.seat.role() == terms::Role::Supervisor,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        view,
        form,
    }
}

pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let view = view_of(&state, &desk.seat, &path).await?;
    page(&page_of(&desk, &state, view, Typed::default()))
}

pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once) = (job_id(&path)?, form.once());
    let now = when::local(state.world.now());
    let arrived = moment(&mut form, "arrived", now);
    if arrived.is_none() && form.error("arrived").is_none() {
        form.complain("arrived", "Say when they came.");
    }
    let left_at = moment(&mut form, "left", now);
    let engineer: Option<EngineerId> = match form.text_or_none("engineer") {
        Some(_) => form.code("engineer", "Choose one of the list."),
        None => None,
    };
    let firm: Option<FirmId> = match form.text_or_none("firm") {
        Some(_) => form.code("firm", "Choose a firm."),
        None => None,
    };
    let said = match form.value("source") {
        "" => PaperSource::Paper.code().to_owned(),
        said => said.to_owned(),
    };
    let source = SOURCES.into_iter().find(|(of, _)| of.code() == said);
    if source.is_none() {
        form.complain("source", "Say where you have it from.");
    }
    let sheet = sheet_of(&form)?;
    if let (false, Some(arrived_at), Some((source, _))) = (form.is_wrong(), arrived, source) {
        let visit = PaperVisit {
            job,
            source,
            arrived_at,
            left_at,
            firm,
            engineer,
            sheet,
        };
        let (seat, key) = (desk.seat.clone(), once);
        match ask(&state, move |world| {
            visit::paper_visit(world, &seat, visit, &key)
        })
        .await
        {
            Ok(closed) => {
                let said = format!("The visit is written down; the job is {}.", closed.state);
                return Ok(see_told(&format!("/jobs/{job}"), &said));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let view = view_of(&state, &desk.seat, &path).await?;
    wrong(&page_of(&desk, &state, view, form))
}

/// What the page carries for the sheet itself.
pub(crate) fn sheet_of(form: &Typed) -> Result<Sheet, Error> {
    let mut typed = crate::job_sheet::typed(form);
    for own in [
        "arrived", "left", "engineer", "firm", "source", "version", "act",
    ] {
        typed.remove(own);
    }
    let mut sheet = Sheet::new();
    sheet.lay_over(&typed)?;
    sheet.set("override_reason", form.value("override_reason"));
    Ok(sheet)
}

pub(crate) fn moment(
    form: &mut Typed,
    field: &str,
    now: chrono::NaiveDateTime,
) -> Option<chrono::DateTime<chrono::Utc>> {
    let wall = form.said_moment(field, now)?;
    let at = when::instant(wall);
    if at.is_none() {
        form.complain(
            field,
            "That hour does not exist on this day: the clocks go forward.",
        );
    }
    at
}
