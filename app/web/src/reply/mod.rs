//! The page a mail leads to: one job, one reply form, no account. Looking changes nothing; an answer is taken once.
mod answers;
mod show;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/reply/{number}/{secret}")
                .route(web::get().to(show::show))
                .route(web::head().to(show::show))
                .route(web::post().to(answers::take)),
        )
        .service(web::resource("/replied").route(web::get().to(show::answered)));
}
