//! Rounds: the visits of the coming twelve months on the engineers' days, a proposal until they are offered.
mod act;
mod asks;
mod breaks;
mod days;
mod proof;
mod reasons;
mod show;
mod strip;
mod times;
mod ways;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/rounds").route(web::get().to(show::show)))
        .service(web::resource("/rounds/place").route(web::post().to(act::place)))
        .service(web::resource("/rounds/today").route(web::post().to(act::place_today)))
        .service(web::resource("/rounds/ways").route(web::post().to(ways::take)))
        .service(web::resource("/rounds/ways/back").route(web::post().to(ways::back_again)))
        .service(web::resource("/rounds/afresh").route(web::post().to(act::place_afresh)))
        .service(web::resource("/rounds/stop").route(web::post().to(act::stop)))
        .service(web::resource("/rounds/away").route(web::post().to(asks::away)))
        .service(web::resource("/rounds/hours").route(web::post().to(times::hours)))
        .service(web::resource("/rounds/{visit}/access").route(web::post().to(times::access)))
        .service(web::resource("/rounds/asks/{ask}/back").route(web::post().to(asks::back)))
        .service(web::resource("/rounds/{visit}/not-before").route(web::post().to(asks::hold)))
        .service(web::resource("/rounds/day").route(web::post().to(act::offer_day)))
        .service(web::resource("/rounds/{visit}/offer").route(web::post().to(act::offer)))
        .service(web::resource("/rounds/{visit}/pin").route(web::post().to(act::pin)))
        .service(
            web::resource("/rounds/{visit}/move")
                .route(web::get().to(act::show_move))
                .route(web::post().to(act::take_move)),
        );
}
