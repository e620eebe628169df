//! Water temperatures: the round on the phone, what is said of it, the outlets of a building, the printed log.
mod list;
mod log;
mod outlets;
mod round;
mod said;

use actix_web::web;
use terms::OutletPlace;

/// Standing wording of every page with limits; the date is the rule book's.
pub(crate) use usecases::visit::standing;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/temperatures").route(web::get().to(list::show)))
        .service(
            web::resource("/temperatures/{building}")
                .route(web::get().to(round::show))
                .route(web::post().to(round::take)),
        )
        .service(
            web::resource("/temperatures/{building}/outlets")
                .route(web::get().to(outlets::show))
                .route(web::post().to(outlets::take)),
        )
        .service(
            web::resource("/temperatures/{building}/outlets/{outlet}/{act}")
                .route(web::post().to(outlets::change)),
        )
        .service(web::resource("/temperatures/{building}/log").route(web::get().to(log::show)))
        .service(
            web::resource("/temperatures/{building}/rounds/{round}")
                .route(web::get().to(said::show))
                .route(web::post().to(said::take)),
        );
}

/// "58.4 °C": one decimal, none where it is nought.
fn degrees(temp: f64) -> String {
    format!("{}\u{a0}°C", number(temp))
}

/// "58.4"
fn number(temp: f64) -> String {
    let text = format!("{temp:.1}");
    text.strip_suffix(".0").unwrap_or(&text).replace('-', "−")
}

/// "hot tap"; nothing for an outlet without a limit.
fn place_words(place: OutletPlace) -> &'static str {
    match place {
        OutletPlace::Other => "no limit held",
        known => known.words(),
    }
}
