//! What a unit is alike with others in: its family, and how its heating circuit is kept full.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{HeatingSystem, LikeIn, UnitId};
use usecases::register::{self, AlikeForm, AlikeView, LikeRow};
use wording::sentences::{capital, dates, list};
use wording::{Choice, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "units/alike.html")]
struct AlikePage {
    shell: Shell,
    form: Typed,
    once: String,
    number: String,
    unit_id: String,
    space_id: String,
    in_use: String,
    systems: Vec<Choice>,
    stated: Vec<Row>,
}

async fn load(desk: &Desk, state: &web::Data<State>, id: UnitId) -> Result<AlikeView, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| register::alike_of(world, &seat, id)).await
}

fn alike_page(shell: Shell, view: &AlikeView, form: Typed) -> AlikePage {
    let typed = form.value("system").to_owned();
    let mut systems = vec![Choice::new("", "Not known", typed.is_empty())];
    systems.extend(HeatingSystem::ALL.iter().map(|system| {
        Choice::new(
            system.code(),
            capital(system.words()),
            typed == system.code(),
        )
    }));
    AlikePage {
        once: form.once(),
        number: view.unit.number.clone(),
        unit_id: view.unit.id.to_string(),
        space_id: view.unit.space.to_string(),
        in_use: if view.families.is_empty() {
            "None is in use yet.".to_owned()
        } else {
            format!("In use: {}.", list(&view.families))
        },
        systems,
        stated: view.stated.iter().rev().enumerate().map(row).collect(),
        shell,
        form,
    }
}

fn row((place, said): (usize, &LikeRow)) -> Row {
    let words = match (said.what, said.said.as_str()) {
        (LikeIn::Family, "") => "Its family is not known".to_owned(),
        (LikeIn::Family, word) => format!("Of the family “{word}”"),
        (LikeIn::System, code) => match code.parse::<HeatingSystem>() {
            Ok(system) => format!("Its heating circuit is {}", system.words()),
            Err(_) => "How its heating circuit is kept full is not known".to_owned(),
        },
    };
    let from = dates::day(said.from_on);
    Row::plain(format!("stated-{place}"), format!("{words}, from {from}."))
}

/// The page.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let view = load(&desk, &state, id_of(&path, "unit")?).await?;
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("family", view.now.family.clone()),
        (
            "system",
            view.now.system.map_or("", HeatingSystem::code).to_owned(),
        ),
        ("from_on", dates::machine(view.today)),
    ]);
    page(&alike_page(desk.shell(&state, "buildings"), &view, form))
}

/// Takes it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let view = load(&desk, &state, id).await?;
    let mut form = form.into_inner();
    let system: Option<HeatingSystem> = if form.value("system").trim().is_empty() {
        None
    } else {
        form.code("system", "Say sealed, open, or that it is not known.")
    };
    let from_on = form.date("from_on");
    if from_on.is_none() && form.error("from_on").is_none() {
        form.complain("from_on", "Say from which day on.");
    }
    let (Some(from_on), false) = (from_on, form.is_wrong()) else {
        return wrong(&alike_page(desk.shell(&state, "buildings"), &view, form));
    };
    let asked = AlikeForm {
        family: form.value("family").to_owned(),
        system,
        from_on,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::state_alike(world, &seat, (id, asked), &once)
    });
    match done.await {
        Ok(()) => Ok(see_told(
            &format!("/units/{id}"),
            "It is kept; forecasts are made anew with it in the background.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&alike_page(desk.shell(&state, "buildings"), &view, form))
        }
    }
}
