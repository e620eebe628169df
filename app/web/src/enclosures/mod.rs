//! Photos and papers: on a unit, on a job's visits and attempts at access, and the files themselves.
mod file;
mod pages;
mod sent;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/units/{id}/photos")
                .route(web::get().to(pages::of_unit))
                .route(web::post().to(pages::take_of_unit)),
        )
        .service(
            web::resource("/jobs/{id}/photos")
                .route(web::get().to(pages::of_job))
                .route(web::post().to(pages::take_of_job)),
        )
        .service(
            web::resource("/sheet/{id}/photos")
                .route(web::get().to(pages::on_sheet))
                .route(web::post().to(pages::take_on_sheet)),
        )
        .service(web::resource("/photos/{id}").route(web::get().to(file::show)))
        .service(web::resource("/photos/{id}/take-out").route(web::post().to(file::take_out)));
}
