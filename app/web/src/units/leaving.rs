//! Taking a unit out with nothing in its place.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{Fate, UnitId};
use usecases::register::{self, Leaving, UnitView};
use wording::sentences::dates;
use wording::{Choice, Shell};

use super::form::unit;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, ask};
use crate::when;

#[derive(Template)]
#[template(path = "units/take-out.html")]
struct LeavingPage {
    shell: Shell,
    form: Typed,
    once: String,
    number: String,
    kind: String,
    place: String,
    unit_id: String,
    fates: Vec<Choice>,
}

fn leaving_page(shell: Shell, view: &UnitView, form: Typed) -> LeavingPage {
    let fates = [
        (Fate::Removed, "It worked; it is not needed here any more"),
        (Fate::WrittenOff, "It could not be put right"),
    ]
    .map(|(fate, label)| Choice::new(fate.code(), label, form.value("fate") == fate.code()));
    LeavingPage {
        shell,
        once: form.once(),
        number: view.unit.number.clone(),
        kind: view
            .kind
            .as_ref()
            .map_or_else(|| view.unit.kind.clone(), |k| k.name.clone()),
        place: format!("{}, {}", view.unit.space_name, view.unit.building_name),
        unit_id: view.unit.id.to_string(),
        fates: fates.to_vec(),
        form,
    }
}

/// The form.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let view = unit(&desk, &state, id).await?;
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("fate", Fate::Removed.code().to_owned()),
        ("on", dates::machine(when::local_day(state.world.now()))),
    ]);
    page(&leaving_page(desk.shell(&state, "buildings"), &view, form))
}

/// Takes it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let view = unit(&desk, &state, id).await?;
    let fate: Option<Fate> = form.code("fate", "Say how it ended.");
    let on = form.date("on");
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say on which day it was taken out.");
    }
    let why = form.value("why").to_owned();
    let (Some(fate), Some(on), false) = (fate, on, form.is_wrong()) else {
        let shell = desk.shell(&state, "buildings");
        return wrong(&leaving_page(shell, &view, form));
    };
    let leaving = Leaving {
        unit: id,
        on,
        fate,
        why,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::take_out_unit(world, &seat, leaving, &once)
    });
    match done.await {
        Ok(()) => Ok(see_told(
            &format!("/units/{id}"),
            "It is out; everything on record of it stays.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            let shell = desk.shell(&state, "buildings");
            wrong(&leaving_page(shell, &view, form))
        }
    }
}
