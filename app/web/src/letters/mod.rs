//! Letters to residents: shown to the desk, printed, and recorded as sent.
mod filling;
pub(crate) mod rows;
mod send;
mod show;
mod words;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/jobs/{job}/letters/{kind}")
                .route(web::get().to(show::show))
                .route(web::post().to(send::take)),
        )
        .service(web::resource("/letters/{letter}").route(web::get().to(show::sent)))
        .service(web::resource("/letters/{letter}/take-back").route(web::post().to(send::back)));
}
