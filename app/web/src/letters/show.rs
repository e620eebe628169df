//! A letter on the screen: as it prints, with what may be filled in and recorded below it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{LetterKind, SentHow};
use usecases::Error;
use usecases::letters::{self, LetterView};
use wording::sentences::{capital, dates};
use wording::{Choice, Fact, Row, Shell};

use super::filling::{form_of, typed_over};
use super::{rows, words};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::jobs::job_id;
use crate::page::{page, wrong};
use crate::seats::Desk;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "letters/letter.html")]
pub(super) struct LetterPage {
    shell: Shell,
    title: String,
    heading: String,
    sender: Vec<String>,
    to: Vec<String>,
    dear: String,
    date: String,
    subject: String,
    opening: Vec<String>,
    visit: Vec<Fact>,
    closing: Vec<String>,
    signed: String,
    how_sent: String,
    advice: Vec<Row>,
    earlier: Vec<Row>,
    ways: Vec<Choice>,
    third: bool,
    repair: bool,
    is_sent: bool,
    may_take_back: String,
    action: String,
    job_address: String,
    job_number: String,
    form: Typed,
    once: String,
}

/// Kind of letter from an address.
pub(super) fn kind_of(text: &str) -> Result<LetterKind, Failure> {
    text.parse().ok().ok_or(Failure(Error::NotFound("letter")))
}

/// The letter as the job suggests it, or as typed.
pub(super) async fn load(
    desk: &Desk,
    state: &web::Data<State>,
    (job, kind): (terms::JobId, LetterKind),
    form: &mut Typed,
) -> Result<LetterView, Failure> {
    let seat = desk.seat.clone();
    let suggested = answer(state, move |world| {
        letters::letter(world, &seat, (job, kind), None)
    })
    .await?;
    if form.value("shown").is_empty() {
        return Ok(suggested);
    }
    let filled = typed_over(form, suggested.filled);
    let seat = desk.seat.clone();
    answer(state, move |world| {
        letters::letter(world, &seat, (job, kind), Some(filled))
    })
    .await
}

/// The page; a day or hour that cannot be read is said at its field.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let (job, kind) = (job_id(&path.0)?, kind_of(&path.1)?);
    let mut form = query.into_inner();
    let view = load(&desk, &state, (job, kind), &mut form).await?;
    let bad = form.is_wrong();
    let shown = letter_page(&desk, &state, &view, &form);
    if bad { wrong(&shown) } else { page(&shown) }
}

/// A letter as it was sent.
pub(super) async fn sent(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let view = sent_view(&desk, &state, &path).await?;
    page(&letter_page(&desk, &state, &view, &Typed::default()))
}

/// Loads a letter that was sent.
pub(super) async fn sent_view(
    desk: &Desk,
    state: &web::Data<State>,
    path: &str,
) -> Result<LetterView, Failure> {
    let id: uuid::Uuid = id_of(path, "letter")?;
    let seat = desk.seat.clone();
    answer(state, move |world| letters::sent_letter(world, &seat, id)).await
}

pub(super) fn letter_page(
    desk: &Desk,
    state: &State,
    view: &LetterView,
    typed: &Typed,
) -> LetterPage {
    let job = &view.job;
    let sender = &view.filled.sender;
    let name = view.resident.clone();
    let shell = desk.shell(state, "letters");
    let signed = if sender.name.is_empty() {
        shell.estate_name.clone()
    } else {
        sender.name.clone()
    };
    let form = form_of(view, typed, when::local(state.world.now()));
    LetterPage {
        title: format!("{}, {}", capital(view.kind.words()), job.space_name),
        heading: format!(
            "{} to {}, {}",
            capital(view.kind.words()),
            job.space_name,
            job.building_name
        ),
        sender: lines([&signed, &sender.address, &sender.telephone]),
        to: lines([
            name.as_deref().unwrap_or("The resident"),
            &job.space_name,
            &job.building_name,
            &view.address,
        ]),
        dear: name.unwrap_or_else(|| "resident".to_owned()),
        date: dates::day_full(view.on),
        subject: words::subject(view),
        opening: words::opening(view),
        visit: words::visit(view),
        closing: words::closing(view),
        how_sent: match &view.sent {
            Some(letter) => format!("Sent: {}.", rows::brief(letter)),
            None if view.kind == LetterKind::ThirdNoAccess => "By recorded post".to_owned(),
            None => String::new(),
        },
        advice: view.advice.iter().map(words::advice).collect(),
        earlier: view.earlier.iter().map(|l| rows::row(l, true)).collect(),
        ways: ways(view.kind, form.value("how")),
        third: view.kind == LetterKind::ThirdNoAccess,
        repair: view.kind == LetterKind::Repair,
        is_sent: view.sent.is_some(),
        may_take_back: view
            .sent
            .as_ref()
            .map_or_else(String::new, |l| format!("/letters/{}/take-back", l.id)),
        action: rows::address(job.id, view.kind),
        job_address: format!("/jobs/{}", job.id),
        job_number: job.number.clone(),
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        signed,
        shell,
        form,
    }
}

/// Lines of an address: what is empty is left out.
fn lines<const N: usize>(parts: [&str; N]) -> Vec<String> {
    parts
        .into_iter()
        .filter(|part| !part.is_empty())
        .map(str::to_owned)
        .collect()
}

fn ways(kind: LetterKind, chosen: &str) -> Vec<Choice> {
    SentHow::ALL
        .iter()
        .filter(|how| kind != LetterKind::ThirdNoAccess || **how == SentHow::RecordedPost)
        .map(|how| Choice::new(how.code(), capital(how.words()), how.code() == chosen))
        .collect()
}
