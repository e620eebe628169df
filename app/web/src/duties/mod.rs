//! Duties: what is late, what nobody opened, what falls due; and the record that proves each.
mod beside;
mod by_building;
pub(crate) mod events;
mod list;
mod more;
mod open;
mod place;
mod proof;
pub(crate) mod rows;
mod rules;
mod strip;
mod tries;
mod write;

use actix_web::web;

pub(crate) use beside::hazard_row;

/// Standing wording of every page that speaks of law.
pub(crate) const NOT_ADVICE: &str = "Reminder, not legal advice. Check the current text.";

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/duties").route(web::get().to(list::show)))
        .service(web::resource("/duties.csv").route(web::get().to(list::file)))
        .service(web::resource("/duties/rules").route(web::get().to(rules::list)))
        .service(
            web::resource("/duties/rules/{code}")
                .route(web::get().to(rules::show))
                .route(web::post().to(rules::take)),
        )
        .service(
            web::resource("/duties/rules/{code}/shipped")
                .route(web::post().to(rules::take_as_shipped)),
        )
        .service(
            web::resource("/duties/events")
                .route(web::get().to(events::show))
                .route(web::post().to(events::take)),
        )
        .service(web::resource("/duties/events/{id}").route(web::get().to(events::show_one)))
        .service(web::resource("/duties/events/{id}/{act}").route(web::post().to(events::end)))
        .service(web::resource("/duties/at/{sort}/{id}").route(web::get().to(place::show)))
        .service(
            web::resource("/duties/at/{sort}/{id}/{act}")
                .route(web::get().to(place::show_act))
                .route(web::post().to(place::take_act)),
        )
        .service(web::resource("/duties/{unit}").route(web::get().to(proof::show)))
        .service(web::resource("/duties/{unit}/job").route(web::post().to(write::open_job)))
        .service(web::resource("/duties/{unit}/line-up").route(web::post().to(more::line_up)))
        .service(web::resource("/duties/{unit}/care").route(web::post().to(more::care)))
        .service(
            web::resource("/duties/{unit}/open")
                .route(web::get().to(open::show))
                .route(web::post().to(open::take)),
        )
        .service(
            web::resource("/duties/{unit}/review")
                .route(web::get().to(more::show_review))
                .route(web::post().to(more::take_review)),
        )
        .service(
            web::resource("/duties/{unit}/test")
                .route(web::get().to(more::show_test))
                .route(web::post().to(more::take_test)),
        )
        .service(
            web::resource("/duties/{unit}/{act}")
                .route(web::get().to(write::show))
                .route(web::post().to(write::take)),
        );
}
