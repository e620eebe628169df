//! Moving a unit to another space of its building.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{SpaceId, UnitId};
use usecases::register::{self, UnitView};
use wording::sentences::dates;
use wording::{Choice, Shell};

use super::form::{places, unit};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "units/move.html")]
struct MovePage {
    shell: Shell,
    form: Typed,
    once: String,
    number: String,
    unit_id: String,
    spaces: Vec<Choice>,
}

async fn move_page(
    desk: &Desk,
    state: &web::Data<State>,
    view: &UnitView,
    form: Typed,
) -> Result<MovePage, Failure> {
    let (seat, building) = (desk.seat.clone(), view.unit.building);
    let whole = answer(state, move |world| {
        register::building_view(world, &seat, building)
    })
    .await?;
    Ok(MovePage {
        shell: desk.shell(state, "buildings"),
        once: form.once(),
        number: view.unit.number.clone(),
        unit_id: view.unit.id.to_string(),
        spaces: places(&whole.section, form.value("space").parse().ok()),
        form,
    })
}

/// The form for moving a unit.
pub(super) async fn relocate(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let view = unit(&desk, &state, id).await?;
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("space", view.unit.space.to_string()),
        ("on", dates::machine(when::local_day(state.world.now()))),
    ]);
    page(&move_page(&desk, &state, &view, form).await?)
}

/// Takes it.
pub(super) async fn take_move(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let view = unit(&desk, &state, id).await?;
    let to: Option<SpaceId> = form.code("space", "Say where to.");
    let on = form.date("on");
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say on which day it was moved.");
    }
    let (Some(to), Some(on), false) = (to, on, form.is_wrong()) else {
        return wrong(&move_page(&desk, &state, &view, form).await?);
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::move_unit(world, &seat, id, (to, on), &once)
    });
    match done.await {
        Ok(()) => Ok(see_told(
            &format!("/units/{id}"),
            "It stands elsewhere now.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&move_page(&desk, &state, &view, form).await?)
        }
    }
}
