//! A duty no kind of unit has by itself, opened by the desk where it holds.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::UnitId;
use usecases::duties::{self, OpenByHand};
use wording::{Choice, Shell};

use super::NOT_ADVICE;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "duties/open.html")]
struct OpenPage {
    shell: Shell,
    heading: String,
    unit: UnitId,
    choices: Vec<Choice>,
    form: Typed,
    once: String,
    not_advice: &'static str,
}

async fn page_of(
    desk: &Desk,
    state: &web::Data<State>,
    unit: UnitId,
    (form, once): (Typed, String),
) -> Result<OpenPage, Failure> {
    let seat = desk.seat.clone();
    let (found, rules) = answer(state, move |world| {
        let found = duties::proof(world, &seat, unit)?;
        Ok((found, duties::may_open(world, &seat, unit)?))
    })
    .await?;
    let chosen = form.value("rule").to_owned();
    let mut choices = vec![Choice::new("", "not chosen yet", chosen.is_empty())];
    choices.extend(rules.into_iter().map(|rule| {
        let is = rule.code == chosen;
        let label = format!("{} {} ({})", rule.code, rule.name, rule.basis);
        Choice::new(rule.code, label, is)
    }));
    Ok(OpenPage {
        shell: desk.shell(state, "duties"),
        heading: format!(
            "Another duty: {}, {}",
            found.unit.space_name, found.unit.building_name
        ),
        unit,
        choices,
        form,
        once,
        not_advice: NOT_ADVICE,
    })
}

/// The form.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let unit = id_of(&path, "unit")?;
    let typed = (Typed::default(), fresh_once());
    page(&page_of(&desk, &state, unit, typed).await?)
}

/// What was typed.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let once = form.once();
    let deadline = match form.value("deadline") {
        "" => None,
        _ => form.date("deadline"),
    };
    if !form.is_wrong() {
        let typed = OpenByHand {
            unit,
            rule: form.value("rule").to_owned(),
            deadline,
        };
        let (seat, key, rule) = (desk.seat.clone(), once.clone(), typed.rule.clone());
        let opened = ask(&state, move |world| {
            duties::open_by_hand(world, &seat, typed, &key)
        })
        .await;
        match opened {
            Ok(_) => {
                return Ok(see_told(
                    &format!("/duties/{unit}#{rule}"),
                    "The duty is open.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&desk, &state, unit, (form, once)).await?)
}
