//! The duties of a home, a plant room or a building that stand on no unit: their records, opening one, ending one.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{DutyId, Role};
use usecases::Error;
use usecases::duties::{self, DutyAt, OpenAt, PlaceDuties, Standing};
use wording::sentences::{capital, dates, plural};
use wording::{Choice, Shell};

use super::proof::{Duty, duty};
use super::{NOT_ADVICE, more, rows, write};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, Reader};
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "duties/place.html")]
struct PlacePage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    duties: Vec<Duty>,
    /// Open ones by id and name, for the form that ends one.
    ends: Vec<Choice>,
    choices: Vec<Choice>,
    home: String,
    /// Where the whole place is proved.
    prove: String,
    form: Typed,
    once: String,
    desk: bool,
    not_advice: &'static str,
}

/// "Flat 40, Alder House", or the building alone.
pub(super) fn name(found: &PlaceDuties) -> String {
    match &found.space {
        Some(space) => format!("{}, {}", space.name, found.building.name),
        None => found.building.name.clone(),
    }
}

fn at_of((sort, id): (&str, &str)) -> Result<DutyAt, Failure> {
    match sort {
        "building" => Ok(DutyAt::Building(id_of(id, "building")?)),
        "space" => Ok(DutyAt::Space(id_of(id, "space")?)),
        _ => Err(Failure(Error::NotFound("place"))),
    }
}

fn page_of(
    shell: Shell,
    (at, found): (DutyAt, &PlaceDuties),
    (form, once): (Typed, String),
    (today, desk): (chrono::NaiveDate, bool),
) -> PlacePage {
    let holding: Vec<_> = found
        .duties
        .iter()
        .filter(|d| d.card.ended_on.is_none())
        .collect();
    let late = holding
        .iter()
        .filter(|d| matches!(d.line.standing, Standing::Late { .. }))
        .count() as u64;
    let mut standing = match holding.len() as u64 {
        0 => "None was opened here yet".to_owned(),
        n => plural(n, "duty holds", "duties hold"),
    };
    if late > 0 {
        standing = format!("{standing}; {} late", plural(late, "is", "are"));
    }
    let chosen = form.value("rule").to_owned();
    let mut choices = vec![Choice::new("", "not chosen yet", chosen.is_empty())];
    choices.extend(found.may_open.iter().map(|rule| {
        let label = format!("{} {} ({})", rule.code, rule.name, rule.basis);
        Choice::new(rule.code.clone(), label, rule.code == chosen)
    }));
    let ending = form.value("ends").to_owned();
    PlacePage {
        shell,
        facts: vec![name(found), format!("as known on {}", dates::day(today))],
        finding: format!("{}: its own duties, and what proves them", name(found)),
        standing: capital(&format!(
            "{standing}. Those of its units stand with the units."
        )),
        duties: found
            .duties
            .iter()
            .map(|d| duty(d, &found.names, today, desk))
            .collect(),
        ends: holding
            .iter()
            .map(|d| {
                let id = d.line.duty.to_string();
                let is = id == ending;
                Choice::new(id, d.line.rule.name.clone(), is)
            })
            .collect(),
        choices,
        home: rows::home_of(at),
        prove: match &found.space {
            Some(space) => format!("/prove/flat/{}", space.id),
            None => format!("/prove/building/{}", found.building.id),
        },
        form,
        once,
        desk,
        not_advice: NOT_ADVICE,
    }
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Failure> {
    let at = at_of((&path.0, &path.1))?;
    let shell = reader.shell(&state, "duties");
    let today = when::local_day(state.world.now());
    let desk = reader.seat.role() != Role::Landlord;
    let found = answer(&state, move |world| {
        duties::place_duties(world, &reader.seat, at)
    })
    .await?;
    let typed = (Typed::default(), fresh_once());
    page(&page_of(shell, (at, &found), typed, (today, desk)))
}

/// A form of one of its duties.
pub(super) async fn show_act(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String, String)>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = at_of((&path.0, &path.1))?;
    match path.2.as_str() {
        "review" => more::show_review_at(&desk, &state, at, query.into_inner()).await,
        act => write::show_at(&desk, &state, (at, act), query.into_inner()).await,
    }
}

/// What was typed.
pub(super) async fn take_act(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = at_of((&path.0, &path.1))?;
    let form = form.into_inner();
    match path.2.as_str() {
        "open" => take_open(&desk, &state, at, form).await,
        "end" => take_end(&desk, &state, at, form).await,
        "job" => write::open_job_at(&desk, &state, at, form).await,
        "review" => more::take_review_at(&desk, &state, at, form).await,
        act => write::take_at(&desk, &state, (at, act), form).await,
    }
}

async fn again(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
    form: Typed,
) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let found = answer(state, move |world| duties::place_duties(world, &seat, at)).await?;
    let today = when::local_day(state.world.now());
    let shell = desk.shell(state, "duties");
    let once = form.once();
    wrong(&page_of(shell, (at, &found), (form, once), (today, true)))
}

async fn take_open(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
    mut form: Typed,
) -> Result<HttpResponse, Failure> {
    let deadline = form.date("deadline");
    if !form.is_wrong() {
        let asked = OpenAt {
            at,
            rule: form.value("rule").to_owned(),
            deadline,
        };
        let (seat, key, rule) = (desk.seat.clone(), form.once(), asked.rule.clone());
        let opened = ask(state, move |world| {
            duties::open_at(world, &seat, &asked, &key)
        })
        .await;
        match opened {
            Ok(_) => {
                let back = format!("{}#{rule}", rows::home_of(at));
                return Ok(see_told(&back, "The duty is open."));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    again(desk, state, at, form).await
}

async fn take_end(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
    mut form: Typed,
) -> Result<HttpResponse, Failure> {
    let ends: Option<DutyId> = form.code("ends", "Choose which does not hold any more.");
    if let (Some(ends), false) = (ends, form.is_wrong()) {
        let (seat, key) = (desk.seat.clone(), form.once());
        let reason = form.value("reason").to_owned();
        let done = ask(state, move |world| {
            duties::close_at(world, &seat, (ends, &reason), &key)
        })
        .await;
        match done {
            Ok(at) => {
                return Ok(see_told(
                    &rows::home_of(at),
                    "It has ended; its record is kept.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    again(desk, state, at, form).await
}
