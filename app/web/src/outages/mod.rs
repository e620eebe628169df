//! Outages: what the calls point to, joining them, one outage with its homes' clocks, its end.
mod join;
mod list;
mod show;
mod words;

use actix_web::web;

pub(crate) use words::proposal_row;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/outages").route(web::get().to(list::show)))
        .service(
            web::resource("/outages/new")
                .route(web::get().to(join::show))
                .route(web::post().to(join::take)),
        )
        .service(web::resource("/outages/asked").route(web::post().to(join::asked)))
        .service(web::resource("/outages/{id}").route(web::get().to(show::show)))
        .service(web::resource("/outages/{id}/join").route(web::post().to(show::take_call)))
        .service(web::resource("/outages/{id}/network").route(web::post().to(show::take_network)))
        .service(web::resource("/outages/{id}/end").route(web::post().to(show::take_end)));
}
