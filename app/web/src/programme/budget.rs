//! Stating what comes in for a building in a year, and what else binds.
use actix_web::{HttpResponse, web};
use terms::{BuildingId, Pence};
use usecases::plan::{self, BudgetForm, Limits, Making, PlanWish, WhatIf};

use super::show::{ProgrammePage, starting};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::{see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Makes the plan as stated anew after a change, and says what came of it.
pub(super) async fn follow(
    desk: &Desk,
    state: &web::Data<State>,
    building: BuildingId,
    (once, told): (&str, &str),
) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let key = format!("{once} plan");
    let wish = PlanWish {
        building,
        what_if: WhatIf::AsStated,
        name: None,
    };
    let making = answer(state, move |world| {
        plan::make_plan(world, &seat, wish, &key)
    })
    .await?;
    let then = match making {
        Making::Made(_) => "the plan is made anew.",
        Making::Waits => "the plan is being made anew; you can leave this page.",
    };
    Ok(see_told(
        &format!("/programme?building={building}"),
        &format!("{told}, and {then}"),
    ))
}

/// The page again, with what was typed and what is wrong with it.
pub(super) async fn again(
    desk: &Desk,
    state: &web::Data<State>,
    building: BuildingId,
    (typed, once): (Typed, String),
) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let found = answer(state, move |world| {
        plan::programme(world, &seat, Some(building))
    })
    .await?;
    let mut form = starting(&found);
    form.lay_over(&typed);
    let shell = desk.shell(state, "programme");
    wrong(&ProgrammePage::new(shell, &found, form, once))
}

/// The money that was typed.
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
            Ok(()) => return follow(&desk, &state, building, (&once, "The purse is stated")).await,
            Err(error) => form.take_wrongs(error)?,
        }
    }
    again(&desk, &state, building, (form, once)).await
}

/// What else binds, as it was typed.
pub(super) async fn take_limits(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let mut sum = |field: &str| form.pounds(field);
    let (set_up, stair_set_up) = (sum("set_up"), sum("stair_set_up"));
    let (consult_above, consult_costs) = (sum("consult_above"), sum("consult_costs"));
    let homes = form.number("homes_a_year", 1.0, 10_000.0);
    let hours = form.number("hours_a_year", 1.0, 1_000_000.0);
    let from = form.number("consult_from", 2000.0, 2200.0);
    let cap = form.pounds("cap");
    let years = form.number("years", 5.0, 30.0);
    if !form.is_wrong() {
        let limits = Limits {
            set_up: set_up.unwrap_or(Pence(0)),
            stair_set_up: stair_set_up.unwrap_or(Pence(0)),
            homes_a_year: homes.map(|n| n as u32),
            hours_a_year: hours.map(|n| n as u32),
            consult_above,
            consult_costs: consult_costs.unwrap_or(Pence(0)),
            consult_from: from.map(|n| n as i32),
            cap,
            years: years.map(|n| n as i32),
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        match ask(&state, move |world| {
            plan::state_limits(world, &seat, (building, limits), &key)
        })
        .await
        {
            Ok(()) => {
                let told = (once.as_str(), "What binds is stated");
                return follow(&desk, &state, building, told).await;
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    again(&desk, &state, building, (form, once)).await
}
