//! Duties: what is late, what nobody opened, what falls due; and the record that proves each.
mod list;
mod proof;
pub(crate) mod rows;
mod strip;
mod tries;
mod write;

use actix_web::web;

/// Standing wording of every page that speaks of law.
pub(crate) const NOT_ADVICE: &str = "Reminder, not legal advice. Check the current text.";

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/duties").route(web::get().to(list::show)))
        .service(web::resource("/duties.csv").route(web::get().to(list::file)))
        .service(web::resource("/duties/{unit}").route(web::get().to(proof::show)))
        .service(web::resource("/duties/{unit}/job").route(web::post().to(write::open_job)))
        .service(
            web::resource("/duties/{unit}/{act}")
                .route(web::get().to(write::show))
                .route(web::post().to(write::take)),
        );
}
