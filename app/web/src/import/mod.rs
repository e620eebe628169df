//! Bringing in a list: send it, match its columns, look at the preview, bring it in, take it back.
mod columns;
mod preview;
mod send;
mod waiting;
mod words;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/import")
                .route(web::get().to(send::show))
                .route(web::post().to(send::take)),
        )
        .service(
            web::resource("/import/{id}/columns")
                .route(web::get().to(columns::show))
                .route(web::post().to(columns::take)),
        )
        .service(web::resource("/import/{id}").route(web::get().to(preview::show)))
        .service(web::resource("/import/{id}/dates").route(web::post().to(columns::say_order)))
        .service(web::resource("/import/{id}/settle").route(web::post().to(preview::settle)))
        .service(
            web::resource("/import/{id}/leave-rest-out")
                .route(web::post().to(preview::leave_rest_out)),
        )
        .service(web::resource("/import/{id}/bring-in").route(web::post().to(preview::bring_in)))
        .service(web::resource("/import/{id}/names").route(web::post().to(preview::say_name)))
        .service(web::resource("/import/{id}/undo").route(web::post().to(preview::undo)))
        .service(web::resource("/import/{id}/put-away").route(web::post().to(preview::put_away)))
        .service(web::resource("/import/{id}/to-mend.csv").route(web::get().to(preview::to_mend)));
}
