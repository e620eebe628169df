//! Pages of buildings and spaces.
mod asked;
mod branch;
mod draw;
mod facts;
mod gaps;
mod list;
mod needed;
mod pipe;
mod records;
mod report;
mod section;
mod shafts;
mod site;
mod space;
mod stood;
mod tenure;
mod view;

use actix_web::web;

pub(crate) use asked::floor_words;
pub(crate) use section::before;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/buildings").route(web::get().to(list::show)))
        .service(
            web::resource("/buildings/new")
                .route(web::get().to(draw::show))
                .route(web::post().to(draw::take)),
        )
        .service(web::resource("/buildings/{id}").route(web::get().to(view::show)))
        .service(
            web::resource("/buildings/{id}/facts")
                .route(web::get().to(facts::show))
                .route(web::post().to(facts::take)),
        )
        .service(
            web::resource("/buildings/{id}/records-kept")
                .route(web::get().to(records::show_building))
                .route(web::post().to(records::take_building)),
        )
        .service(
            web::resource("/units/{id}/records-kept")
                .route(web::get().to(records::show_unit))
                .route(web::post().to(records::take_unit)),
        )
        .service(
            web::resource("/buildings/{id}/gaps")
                .route(web::get().to(gaps::show))
                .route(web::post().to(gaps::take)),
        )
        .service(web::resource("/buildings/{id}/first-report").route(web::get().to(report::show)))
        .service(
            web::resource("/buildings/{id}/spaces/new")
                .route(web::get().to(space::new))
                .route(web::post().to(space::take_new)),
        )
        .service(
            web::resource("/buildings/{id}/branches/new")
                .route(web::get().to(branch::new))
                .route(web::post().to(branch::take)),
        )
        .service(web::resource("/branches/{id}").route(web::get().to(pipe::show)))
        .service(web::resource("/branches/{id}/{act}").route(web::post().to(pipe::take)))
        .service(web::resource("/spaces/{id}").route(web::get().to(space::show)))
        .service(
            web::resource("/spaces/{id}/site")
                .route(web::get().to(site::show))
                .route(web::post().to(site::take)),
        )
        .service(web::resource("/spaces/{id}/correct").route(web::post().to(space::take_facts)))
        .service(web::resource("/spaces/{id}/needed").route(web::post().to(needed::take)))
        .service(web::resource("/spaces/{id}/tenure").route(web::post().to(tenure::take)))
        .service(web::resource("/spaces/{id}/resident").route(web::post().to(space::take_resident)))
        .service(web::resource("/spaces/{id}/need").route(web::post().to(space::take_need)))
        .service(web::resource("/spaces/{id}/way-in").route(web::post().to(space::take_way_in)));
}
