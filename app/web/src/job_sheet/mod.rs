//! The job sheet: one thing a screen. Each step is a form of its own and is kept as soon as it is sent.
mod arrive;
mod close;
mod finding;
mod in_the_way;
mod kept;
pub(crate) mod known;
pub(crate) mod questions;
mod step;
pub(crate) use step::typed;
mod steps;

use actix_web::web;
use terms::place::SpaceCard;
use terms::{JobId, UsedAs};
use usecases::Seat;
use usecases::visit::{self, SheetView};
use usecases::work;

use crate::Failure;
use crate::seats::Road;
use crate::state::{State, answer};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/sheet/{job}").route(web::get().to(arrive::show)))
        .service(
            web::resource("/sheet/{job}/arrive")
                .route(web::get().to(arrive::show))
                .route(web::post().to(arrive::take)),
        )
        .service(web::resource("/sheet/{job}/code").route(web::post().to(arrive::code)))
        .service(web::resource("/sheet/{job}/maker").route(web::post().to(arrive::figure)))
        .service(web::resource("/sheet/{job}/found/{what}").route(web::post().to(arrive::found)))
        .service(web::resource("/sheet/{job}/book").route(web::post().to(arrive::book)))
        .service(web::resource("/sheet/{job}/give-back").route(web::post().to(arrive::give_back)))
        .service(web::resource("/sheet/{job}/readings").route(web::get().to(step::readings)))
        .service(
            web::resource("/sheet/{job}/reading/{code}")
                .route(web::get().to(step::show_reading))
                .route(web::post().to(step::take_reading)),
        )
        .service(
            web::resource("/sheet/{job}/finding")
                .route(web::get().to(finding::show))
                .route(web::post().to(finding::take)),
        )
        .service(
            web::resource("/sheet/{job}/close")
                .route(web::get().to(close::show))
                .route(web::post().to(close::take)),
        )
        .service(
            web::resource("/sheet/{job}/quote")
                .route(web::get().to(close::show_quote))
                .route(web::post().to(close::take_quote)),
        )
        .service(
            web::resource("/sheet/{job}/no-access")
                .route(web::get().to(close::show_no_access))
                .route(web::post().to(close::take_no_access)),
        )
        .service(web::resource("/sheet/{job}/kept").route(web::get().to(kept::show)))
        .service(web::resource("/sheet/{job}/in-the-way").route(web::get().to(in_the_way::show)))
        .service(
            web::resource("/sheet/{job}/in-the-way/{what}").route(web::post().to(in_the_way::take)),
        )
        .service(
            web::resource("/sheet/{job}/{step}")
                .route(web::get().to(step::show))
                .route(web::post().to(step::take)),
        );
}

/// "Flat 50", "the plant room": a space inside a sentence.
fn called(space: &SpaceCard) -> String {
    if space.used_as == UsedAs::Flat {
        return space.name.clone();
    }
    let mut letters = space.name.chars();
    let first = letters.next().into_iter().flat_map(char::to_lowercase);
    format!("the {}", first.chain(letters).collect::<String>())
}

/// The seat that reaches a job, and its sheet.
async fn opened(
    road: &Road,
    state: &web::Data<State>,
    job: JobId,
) -> Result<(Seat, SheetView), Failure> {
    let seats = road.seats.clone();
    answer(state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        let view = visit::open_sheet(world, &seat, job)?;
        Ok((seat, view))
    })
    .await
}
