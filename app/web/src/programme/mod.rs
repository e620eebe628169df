//! The programme: which units to replace in which year, inside the money stated for a building.
mod budget;
mod show;
mod words;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/programme").route(web::get().to(show::show)))
        .service(web::resource("/programme/{building}/budget").route(web::post().to(budget::take)));
}
