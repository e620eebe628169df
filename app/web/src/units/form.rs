//! Entering, correcting, replacing and moving a unit.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::trade::Kind;
use terms::{BuildingId, FactId, Fate, SpaceId, UnitId, UsedAs};
use usecases::register::{self, NewUnit, Replacement, SpaceView, UnitFacts, UnitView};
use wording::sentences::{capital, dates};
use wording::{Choice, Shell};

use super::typed::read_facts;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "units/form.html")]
struct FormPage {
    shell: Shell,
    form: Typed,
    once: String,
    title: &'static str,
    heading: String,
    standing: String,
    action: String,
    leave: String,
    button: &'static str,
    kinds: Vec<Choice>,
    filter: Vec<Choice>,
    reducer: Vec<Choice>,
    fates: Vec<Choice>,
    /// "new", "correct" or "replace": decides which fields are asked.
    asks: &'static str,
}

#[derive(Template)]
#[template(path = "units/where.html")]
struct WherePage {
    shell: Shell,
    building_name: String,
    spaces: Vec<Choice>,
    no_spaces: bool,
}

struct Frame {
    title: &'static str,
    heading: String,
    standing: String,
    action: String,
    leave: String,
    button: &'static str,
    asks: &'static str,
}

fn form_page(shell: Shell, form: Typed, kinds: &[Kind], frame: Frame) -> FormPage {
    let yes_no = |field: &str| {
        [("", "Not known"), ("yes", "Yes"), ("no", "No")]
            .map(|(value, label)| Choice::new(value, label, form.value(field) == value))
            .to_vec()
    };
    let chosen = form.value("kind").to_owned();
    let blank = Choice::new("", "Say what it is", chosen.is_empty());
    let list = kinds
        .iter()
        .map(|k| Choice::new(&k.code, capital(&k.name), k.code == chosen));
    let fates = [
        (Fate::WrittenOff, "Beyond repair"),
        (Fate::Removed, "Taken out while working"),
    ]
    .map(|(fate, label)| Choice::new(fate.code(), label, form.value("fate") == fate.code()));
    FormPage {
        kinds: std::iter::once(blank).chain(list).collect(),
        filter: yes_no("filter"),
        reducer: yes_no("reducer"),
        fates: fates.to_vec(),
        once: form.once(),
        shell,
        form,
        title: frame.title,
        heading: frame.heading,
        standing: frame.standing,
        action: frame.action,
        leave: frame.leave,
        button: frame.button,
        asks: frame.asks,
    }
}

/// The form of a new unit; without a space it first asks where.
pub(super) async fn new(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    if query.value("space").is_empty() {
        return choose_space(&desk, &state, query.value("building")).await;
    }
    let id: SpaceId = id_of(query.value("space"), "space")?;
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("space", id.to_string()),
        ("kind", query.value("kind").to_owned()),
    ]);
    page(&new_page(&desk, &state, id, form).await?)
}

async fn choose_space(
    desk: &Desk,
    state: &web::Data<State>,
    building: &str,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(building, "building")?;
    let seat = desk.seat.clone();
    let view = answer(state, move |world| {
        register::building_view(world, &seat, id)
    })
    .await?;
    page(&WherePage {
        shell: desk.shell(state, "buildings"),
        no_spaces: view.section.iter().all(|l| l.spaces.is_empty()),
        spaces: places(&view.section, None),
        building_name: view.building.name,
    })
}

/// Every space a unit may stand in, highest storey first.
pub(super) fn places(section: &[register::SectionLevel], chosen: Option<SpaceId>) -> Vec<Choice> {
    section
        .iter()
        .rev()
        .flat_map(|level| &level.spaces)
        .filter(|s| s.used_as != UsedAs::Stair)
        .filter_map(|s| {
            let id = s.id?;
            Some(Choice::new(id.to_string(), &s.name, chosen == Some(id)))
        })
        .collect()
}

async fn kinds(desk: &Desk, state: &web::Data<State>) -> Result<Vec<Kind>, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| register::kinds(world, &seat)).await
}

async fn new_page(
    desk: &Desk,
    state: &web::Data<State>,
    id: SpaceId,
    form: Typed,
) -> Result<FormPage, Failure> {
    let seat = desk.seat.clone();
    let view: SpaceView =
        answer(state, move |world| register::space_view(world, &seat, id)).await?;
    let kinds = kinds(desk, state).await?;
    let frame = Frame {
        title: "Enter a unit",
        heading: format!(
            "A unit in {}, {}",
            view.space.name, view.space.building_name
        ),
        standing: "What you do not know can stay empty and be said later.".to_owned(),
        action: "/units/new".to_owned(),
        leave: format!("/spaces/{id}"),
        button: "Enter this unit",
        asks: "new",
    };
    Ok(form_page(
        desk.shell(state, "buildings"),
        form,
        &kinds,
        frame,
    ))
}

/// Takes a new unit.
pub(super) async fn take_new(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let space: SpaceId = id_of(form.value("space"), "space")?;
    let facts = read_facts(&mut form, when::local_day(state.world.now()));
    let asked = NewUnit {
        space,
        facts,
        placed_from: form.date("placed"),
        watched_from: form.date("watched"),
    };
    if form.is_wrong() {
        return wrong(&new_page(&desk, &state, space, form).await?);
    }
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::add_unit(world, &seat, asked, &once)
    });
    match done.await {
        Ok(id) => Ok(see_told(&format!("/units/{id}"), "The unit is entered.")),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&new_page(&desk, &state, space, form).await?)
        }
    }
}

/// A unit with everything on record of it.
pub(super) async fn unit(
    desk: &Desk,
    state: &web::Data<State>,
    id: UnitId,
) -> Result<UnitView, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| register::unit_view(world, &seat, id)).await
}

fn typed_from(view: &UnitView) -> Typed {
    let unit = &view.unit;
    let yes_no = |value: Option<bool>| match value {
        Some(true) => "yes".to_owned(),
        Some(false) => "no".to_owned(),
        None => String::new(),
    };
    let day = |d: Option<NaiveDate>| d.map_or_else(String::new, dates::machine);
    let number = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    let (first, last) = unit
        .installed
        .map_or((None, None), |(a, b)| (Some(a), Some(b)));
    Typed::starting_with([
        ("once", fresh_once()),
        (
            "seen",
            view.statements
                .first()
                .map_or_else(String::new, |s| s.id.to_string()),
        ),
        ("kind", unit.kind.clone()),
        ("serial", unit.serial.clone()),
        ("fitted", day(first)),
        ("fitted_until", day(last.filter(|_| first != last))),
        ("rated_kw", number(unit.rated_kw)),
        ("litres", number(unit.litres)),
        ("filter", yes_no(unit.filter_fitted)),
        ("reducer", yes_no(unit.reducer_fitted)),
        ("warranty", day(unit.warranty_until)),
        ("watched", dates::machine(unit.watched_from)),
        ("note", unit.note.clone()),
    ])
}

async fn correct_page(
    desk: &Desk,
    state: &web::Data<State>,
    view: &UnitView,
    form: Typed,
) -> Result<FormPage, Failure> {
    let kinds = kinds(desk, state).await?;
    let id = view.unit.id;
    let frame = Frame {
        title: "Correct a unit",
        heading: format!("What is known of {}", view.unit.number),
        standing: "What stood before stays readable under the unit.".to_owned(),
        action: format!("/units/{id}/correct"),
        leave: format!("/units/{id}"),
        button: "Keep the correction",
        asks: "correct",
    };
    Ok(form_page(
        desk.shell(state, "buildings"),
        form,
        &kinds,
        frame,
    ))
}

/// The form for correcting a unit.
pub(super) async fn correct(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let view = unit(&desk, &state, id).await?;
    let form = typed_from(&view);
    page(&correct_page(&desk, &state, &view, form).await?)
}

/// Takes the correction.
pub(super) async fn take_correct(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let view = unit(&desk, &state, id).await?;
    let facts = read_facts(&mut form, when::local_day(state.world.now()));
    let watched = form.date("watched");
    let seen: Option<FactId> = form.value("seen").parse().ok();
    if form.is_wrong() {
        return wrong(&correct_page(&desk, &state, &view, form).await?);
    }
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::correct_unit(world, &seat, id, (facts, watched), seen, &once)
    });
    match done.await {
        Ok(()) => Ok(see_told(
            &format!("/units/{id}"),
            "The correction is kept; what stood before stays readable below.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&correct_page(&desk, &state, &view, form).await?)
        }
    }
}

async fn replace_page(
    desk: &Desk,
    state: &web::Data<State>,
    view: &UnitView,
    form: Typed,
) -> Result<FormPage, Failure> {
    let kinds = kinds(desk, state).await?;
    let id = view.unit.id;
    let frame = Frame {
        title: "Put a new unit in its place",
        heading: format!("A new unit in place of {}", view.unit.number),
        standing: "The old one keeps its number and its history; the new one gets its own."
            .to_owned(),
        action: format!("/units/{id}/replace"),
        leave: format!("/units/{id}"),
        button: "Put it in its place",
        asks: "replace",
    };
    Ok(form_page(
        desk.shell(state, "buildings"),
        form,
        &kinds,
        frame,
    ))
}

/// The form for a new unit in place of an old one.
pub(super) async fn replace(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let view = unit(&desk, &state, id).await?;
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("kind", view.unit.kind.clone()),
        ("on", dates::machine(when::local_day(state.world.now()))),
        ("fate", Fate::WrittenOff.code().to_owned()),
    ]);
    page(&replace_page(&desk, &state, &view, form).await?)
}

/// Takes it.
pub(super) async fn take_replace(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let view = unit(&desk, &state, id).await?;
    let facts = read_facts(&mut form, when::local_day(state.world.now()));
    let on = form.date("on");
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say on which day it was changed.");
    }
    let fate: Option<Fate> = form.code("fate", "Say how the old one ended.");
    let (Some(on), Some(fate), false) = (on, fate, form.is_wrong()) else {
        return wrong(&replace_page(&desk, &state, &view, form).await?);
    };
    let asked = Replacement {
        old: id,
        facts: UnitFacts {
            installed: Some((on, on)),
            ..facts
        },
        on,
        fate,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::replace_unit(world, &seat, asked, &once)
    });
    match done.await {
        Ok(new) => Ok(see_told(
            &format!("/units/{new}"),
            &format!("{} is out; this one stands in its place.", view.unit.number),
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&replace_page(&desk, &state, &view, form).await?)
        }
    }
}
