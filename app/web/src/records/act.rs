//! Signing a record, and answering what its sheet left open.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use usecases::records;

use super::show::{load, record_page};
use super::{named, seat_of};
use crate::Failure;
use crate::form::Typed;
use crate::page::{see_told, wrong};
use crate::seats::Visitor;
use crate::state::{State, ask};

/// The engineer signs; what is wrong stands at the field, with what was typed.
pub(super) async fn issue(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let named = named(&path)?;
    let mut form = form.into_inner();
    let seat = seat_of(&visitor, &state, named.0).await?;
    let (signature, once) = (form.value("signature").to_owned(), form.once());
    let asked = {
        let seat = seat.clone();
        ask(&state, move |world| {
            records::issue(world, &seat, named, &signature, &once)
        })
        .await
    };
    let back = format!("/records/{}/{}", named.0, named.1.code());
    match asked {
        Ok(number) => Ok(see_told(&back, &format!("It is issued as {number}."))),
        Err(error) => {
            form.take_wrongs(error)?;
            let view = load(&state, &seat, named).await?;
            let shell = visitor.shell_as(&state, &seat, "records");
            wrong(&record_page(shell, &seat, &view, form))
        }
    }
}

/// Answers given after the visit.
pub(super) async fn add(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let named = named(&path)?;
    let mut form = form.into_inner();
    let seat = seat_of(&visitor, &state, named.0).await?;
    let typed: BTreeMap<String, String> = form
        .all()
        .filter(|(key, _)| key.starts_with("gc"))
        .map(|(key, text)| (key.to_owned(), text.to_owned()))
        .collect();
    let once = form.once();
    let asked = {
        let seat = seat.clone();
        ask(&state, move |world| {
            records::add_to_record(world, &seat, named, typed, &once)
        })
        .await
    };
    let back = format!("/records/{}/{}", named.0, named.1.code());
    match asked {
        Ok(()) => Ok(see_told(&back, "Your answers are kept with the sheet.")),
        Err(error) => {
            form.take_wrongs(error)?;
            let view = load(&state, &seat, named).await?;
            let shell = visitor.shell_as(&state, &seat, "records");
            wrong(&record_page(shell, &seat, &view, form))
        }
    }
}
