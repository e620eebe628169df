//! Pages of the desk's jobs: the list by where they stand, one job with its verbs, a visit from paper.
mod acts;
mod by_law;
mod happened;
mod invoice;
mod job;
mod list;
mod new;
pub(crate) mod paper;
mod served;
pub(crate) mod words;

use actix_web::web;
use terms::JobId;
use usecases::Error;

pub(crate) use by_law::{hazard_said, hazards, row as law_row};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/jobs").route(web::get().to(list::show)))
        .service(
            web::resource("/jobs/new")
                .route(web::get().to(new::show))
                .route(web::post().to(new::take)),
        )
        .service(web::resource("/jobs/{job}").route(web::get().to(job::show)))
        .service(
            web::resource("/jobs/{job}/paper")
                .route(web::get().to(paper::show))
                .route(web::post().to(paper::take)),
        )
        .service(
            web::resource("/jobs/{job}/invoice")
                .route(web::get().to(invoice::show))
                .route(web::post().to(invoice::take)),
        )
        .service(web::resource("/jobs/{job}/invoice/served").route(web::post().to(served::take)))
        .service(web::resource("/jobs/{job}/{act}").route(web::post().to(acts::take)));
}

/// A job's id from an address; anything else is not there.
pub(crate) fn job_id(text: &str) -> Result<JobId, Error> {
    text.parse().or(Err(Error::NotFound("job")))
}
