//! Stating what comes in for a building in a year.
use actix_web::{HttpResponse, web};
use terms::BuildingId;
use usecases::plan::{self, BudgetForm};

use super::show::ProgrammePage;
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::{see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// What was typed.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let year: Option<i32> = form.code("year", "Choose a year.");
    let pence = form.pounds("pence");
    if pence.is_none() && form.error("pence").is_none() {
        form.complain("pence", "Say what comes in; 0 when nothing does.");
    }
    let (opening, floor) = (form.pounds("opening"), form.pounds("floor"));
    if let (Some(year), Some(pence), false) = (year, pence, form.is_wrong()) {
        let typed = BudgetForm {
            building,
            year,
            pence,
            opening,
            floor,
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        match ask(&state, move |world| {
            plan::state_budget(world, &seat, typed, &key)
        })
        .await
        {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/programme?building={building}"),
                    "The money is stated, and the programme follows it.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let seat = desk.seat.clone();
    let found = answer(&state, move |world| {
        plan::programme(world, &seat, Some(building))
    })
    .await?;
    let shell = desk.shell(&state, "programme");
    wrong(&ProgrammePage::new(shell, &found, form, once))
}
