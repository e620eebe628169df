//! Pages of units, and finding.
mod alike;
mod called_back;
mod find;
mod form;
mod happened;
mod leaving;
mod line;
pub(crate) mod maker;
mod moving;
mod swapped;
mod typed;
mod view;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/units/new")
                .route(web::get().to(form::new))
                .route(web::post().to(form::take_new)),
        )
        .service(web::resource("/units/{id}").route(web::get().to(view::show)))
        .service(
            web::resource("/units/{id}/correct")
                .route(web::get().to(form::correct))
                .route(web::post().to(form::take_correct)),
        )
        .service(
            web::resource("/units/{id}/replace")
                .route(web::get().to(form::replace))
                .route(web::post().to(form::take_replace)),
        )
        .service(
            web::resource("/units/{id}/move")
                .route(web::get().to(moving::relocate))
                .route(web::post().to(moving::take_move)),
        )
        .service(
            web::resource("/units/{id}/alike")
                .route(web::get().to(alike::show))
                .route(web::post().to(alike::take)),
        )
        .service(
            web::resource("/units/{id}/take-out")
                .route(web::get().to(leaving::show))
                .route(web::post().to(leaving::take)),
        )
        .service(
            web::resource("/units/{id}/maker")
                .route(web::get().to(maker::show))
                .route(web::post().to(maker::take)),
        )
        .service(web::resource("/units/{id}/maker/back").route(web::post().to(maker::take_back)))
        .service(web::resource("/find").route(web::get().to(find::show)));
}
