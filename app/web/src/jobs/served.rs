//! That an invoice's cost was demanded from those who pay towards it, or notice of it given.
use actix_web::{HttpResponse, web};
use usecases::cost_demands::{self, ServeForm};

use super::invoice::page_of;
use super::job_id;
use crate::Failure;
use crate::form::Typed;
use crate::page::{told_unless_wrong, wrong};
use crate::seats::Desk;
use crate::state::{State, ask};

/// Takes it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once) = (job_id(&path)?, form.once());
    let on = form.date("served_on");
    if on.is_none() && form.error("served_on").is_none() {
        form.complain("served_on", "Say on which day.");
    }
    if let (Some(on), false) = (on, form.is_wrong()) {
        let asked = ServeForm {
            job,
            number: form.value("of").to_owned(),
            served: form.value("served").to_owned(),
            on,
            words: form.value("served_words").to_owned(),
        };
        let seat = desk.seat.clone();
        let done = ask(&state, move |world| {
            cost_demands::serve(world, &seat, &asked, &once)
        });
        let here = format!("/jobs/{job}/invoice");
        let there = (
            here.as_str(),
            "It is written down, with whether it was in time.",
        );
        if let Some(told) = told_unless_wrong(done.await, &mut form, there)? {
            return Ok(told);
        }
    }
    wrong(&page_of(&desk, &state, &path, &form).await?)
}
