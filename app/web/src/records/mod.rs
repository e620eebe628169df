//! Records as printed pages: the gas safety record and the service sheet of a visit, as issued or as a draft.
mod act;
mod notice;
pub(crate) mod rows;
mod show;
mod words;

use actix_web::web;
use terms::{JobId, RecordKind, Role};
use usecases::{Error, Seat};

use crate::Failure;
use crate::form::id_of;
use crate::seats::Visitor;
use crate::state::{State, answer};

/// Who may read records, each those of their own buildings or jobs.
const READERS: [Role; 5] = [
    Role::Agent,
    Role::Supervisor,
    Role::Landlord,
    Role::Contractor,
    Role::Office,
];

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/records/{job}/notice").route(web::get().to(notice::show)))
        .service(web::resource("/records/{job}/{kind}").route(web::get().to(show::show)))
        .service(web::resource("/records/{job}/{kind}/issue").route(web::post().to(act::issue)))
        .service(web::resource("/records/{job}/{kind}/add").route(web::post().to(act::add)));
}

/// Job and kind from an address.
fn named(path: &(String, String)) -> Result<(JobId, RecordKind), Failure> {
    let kind = path.1.parse().ok();
    let kind = kind.ok_or(Failure(Error::NotFound("record")))?;
    Ok((id_of(&path.0, "job")?, kind))
}

/// The visitor's seat that reaches the records of a job.
async fn seat_of(visitor: &Visitor, state: &web::Data<State>, job: JobId) -> Result<Seat, Failure> {
    let seats = visitor.seats(&READERS);
    answer(state, move |world| {
        usecases::records::seat_for_record(world, &seats, job)
    })
    .await
}
