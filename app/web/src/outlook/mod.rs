//! What is forecast, at length: one unit, one building, and what stands out.
mod building;
mod drawn;
mod factors;
mod holds;
mod kind;
mod pipes;
mod reasons;
mod rests;
mod stands_out;
mod unit;

use actix_web::web;

pub(crate) use stands_out::rows as stand_out_rows;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/units/{id}/forecast").route(web::get().to(unit::show)))
        .service(web::resource("/buildings/{id}/forecast").route(web::get().to(building::show)))
        .service(web::resource("/kinds/{code}/record").route(web::get().to(kind::show)))
        .service(web::resource("/stands-out").route(web::get().to(stands_out::show)));
}
