//! The programme: which units to replace in which year, inside the money stated for a building.
mod act;
mod budget;
mod left_out;
mod moved;
mod order;
mod proof;
mod shared;
mod shared_clash;
mod show;
mod ties;
mod unit;
mod what_ifs;
mod words;
mod year;

use actix_web::web;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/programme").route(web::get().to(show::show)))
        .service(
            web::resource("/programme/shared")
                .route(web::get().to(shared::show))
                .route(web::post().to(shared::make)),
        )
        .service(web::resource("/programme/shared/adopt").route(web::post().to(shared::adopt)))
        .service(web::resource("/programme/plans/{plan}").route(web::get().to(show::show_kept)))
        .service(web::resource("/programme/plans/{plan}/adopt").route(web::post().to(act::adopt)))
        .service(web::resource("/programme/plans/{plan}/away").route(web::post().to(act::put_away)))
        .service(
            web::resource("/programme/plans/{plan}/units/{unit}")
                .route(web::get().to(unit::show_kept)),
        )
        .service(
            web::resource("/programme/plans/{plan}/jobs/{unit}")
                .route(web::post().to(act::open_job)),
        )
        .service(web::resource("/programme/{building}/budget").route(web::post().to(budget::take)))
        .service(
            web::resource("/programme/{building}/limits")
                .route(web::post().to(budget::take_limits)),
        )
        .service(web::resource("/programme/{building}/plan").route(web::post().to(act::make)))
        .service(web::resource("/programme/{building}/what-if").route(web::post().to(act::try_it)))
        .service(web::resource("/programme/{building}/tie").route(web::post().to(act::tie)))
        .service(
            web::resource("/programme/{building}/ties/{tie}/back")
                .route(web::post().to(act::untie)),
        )
        .service(
            web::resource("/programme/{building}/units/{unit}").route(web::get().to(unit::show)),
        );
}
