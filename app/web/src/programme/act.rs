//! What a person does with a programme: makes it, tries it otherwise, ties units, adopts it, opens its jobs.
use actix_web::{HttpResponse, web};
use terms::{BuildingId, UnitId};
use usecases::Error;
use usecases::plan::{self, Making, PlanWish, TieForm, TieKind, WhatIf};
use uuid::Uuid;

use super::budget::{again, follow};
use super::show::{ProgrammePage, entry, starting};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::{see_told, wrong};
use crate::seats::{Desk, Reader};
use crate::state::{State, answer, ask};

/// Makes the plan as stated.
pub(super) async fn make(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let once = form.once();
    follow(&desk, &state, building, (&once, "What stands was read")).await
}

fn what_if(form: &mut Typed) -> Option<WhatIf> {
    let typed = form.value("amount").trim().replace([',', '£', '%'], "");
    let typed = typed.replace('−', "-");
    let amount: Option<f64> = typed.parse().ok().filter(|n: &f64| n.is_finite());
    let what = form.value("what").to_owned();
    match (what.as_str(), amount) {
        ("nothing", _) => Some(WhatIf::Nothing),
        ("on_failure", _) => Some(WhatIf::OnFailure),
        ("oldest_first", _) => Some(WhatIf::OldestFirst),
        ("money", Some(n)) if n.abs() < 1e9 => Some(WhatIf::Money {
            pence: (n * 100.0).round() as i64,
        }),
        ("rate", Some(percent)) => Some(WhatIf::Rate { percent }),
        ("prices", Some(percent)) => Some(WhatIf::Prices { percent }),
        ("money" | "rate" | "prices", _) => {
            form.complain(
                "amount",
                "Say how much: a number such as 2500 or 3.5, less with a minus.",
            );
            None
        }
        _ => {
            form.complain("what", "Choose what to try.");
            None
        }
    }
}

/// Tries another way, and keeps it under its name.
pub(super) async fn try_it(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let name = form.text("name", "Give it a name, so it can be found again.");
    let what = what_if(&mut form);
    if let (Some(what_if), false) = (what, form.is_wrong()) {
        let wish = PlanWish {
            building,
            what_if,
            name: Some(name),
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        match ask(&state, move |world| {
            plan::make_plan(world, &seat, wish, &key)
        })
        .await
        {
            Ok(making) => {
                let told = match making {
                    Making::Made(_) => "It is reckoned, and stands beside the plan.",
                    Making::Waits => "It is being reckoned; you can leave this page.",
                };
                return Ok(see_told(
                    &format!("/programme?building={building}#what-if"),
                    told,
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    again(&desk, &state, building, (form, once)).await
}

/// Ties units.
pub(super) async fn tie(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let kind: Option<TieKind> = form.code("kind", "Choose what to tie.");
    let together = kind == Some(TieKind::Together);
    let units: Vec<UnitId> = form
        .values("units")
        .iter()
        .chain(form.values("with").iter().filter(|_| together))
        .filter_map(|text| text.parse().ok())
        .collect();
    let year = form.value("tie_year").parse().ok();
    if let (Some(kind), false) = (kind, form.is_wrong()) {
        let why = form.value("why").to_owned();
        let tie = TieForm {
            building,
            kind,
            units,
            year,
            why,
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        match ask(&state, move |world| {
            plan::tie_units(world, &seat, tie, &key)
        })
        .await
        {
            Ok(()) => return follow(&desk, &state, building, (&once, "It is tied")).await,
            Err(Error::Invalid(wrongs)) => {
                for wrong in wrongs {
                    let field = match wrong.field.as_str() {
                        "year" => "tie_year",
                        other => other,
                    };
                    form.complain(field, wrong.sentence.clone());
                }
            }
            Err(other) => return Err(Failure(other)),
        }
    }
    again(&desk, &state, building, (form, once)).await
}

/// Takes a tie back.
pub(super) async fn untie(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path.0, "building")?;
    let tie: Uuid = id_of(&path.1, "tie")?;
    let once = form.once();
    let (seat, key) = (desk.seat.clone(), once.clone());
    answer(&state, move |world| {
        plan::untie_units(world, &seat, (building, tie), &key)
    })
    .await?;
    follow(&desk, &state, building, (&once, "It is let go")).await
}

/// Adopts a plan, by its reader: agent or landlord.
pub(super) async fn adopt(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: Uuid = id_of(&path, "plan")?;
    let mut form = form.into_inner();
    let once = form.once();
    let why = form.value("adopt_why").to_owned();
    let (seat, key) = (reader.seat.clone(), once.clone());
    let outcome = ask(&state, move |world| {
        plan::adopt_plan(world, &seat, (id, why), &key)
    })
    .await;
    match outcome {
        Ok(()) => Ok(see_told(
            &format!("/programme/plans/{id}"),
            "The plan is adopted. Nothing is ordered by it: its jobs are opened one by one.",
        )),
        Err(Error::Invalid(wrongs)) => {
            for one in wrongs {
                form.complain("adopt_why", one.sentence.clone());
            }
            let shell = reader.shell(&state, entry(reader.seat.role()));
            let found = answer(&state, move |world| {
                plan::kept_plan(world, &reader.seat, id)
            })
            .await?;
            let mut typed = starting(&found);
            typed.lay_over(&form);
            wrong(&ProgrammePage::new(shell, &found, typed, once))
        }
        Err(other) => Err(Failure(other)),
    }
}

/// Takes a what-if off the page.
pub(super) async fn put_away(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: Uuid = id_of(&path, "plan")?;
    let once = form.once();
    let building = answer(&state, move |world| {
        let found = plan::kept_plan(world, &desk.seat, id)?;
        plan::put_plan_away(world, &desk.seat, id, &once)?;
        Ok(found.building.id)
    })
    .await?;
    Ok(see_told(
        &format!("/programme?building={building}#what-if"),
        "It is put away.",
    ))
}

/// Opens the job of a unit of the adopted plan.
pub(super) async fn open_job(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: Uuid = id_of(&path.0, "plan")?;
    let unit: UnitId = id_of(&path.1, "unit")?;
    let once = form.once();
    let job = answer(&state, move |world| {
        plan::open_planned_job(world, &desk.seat, (id, unit), &once)
    })
    .await?;
    Ok(see_told(
        &format!("/jobs/{job}"),
        "The job is opened. Get a survey before ordering.",
    ))
}
