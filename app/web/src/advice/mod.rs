//! Pages of advice: the list, one advice with its drawings, the two-page pack, and the decision.
mod answers;
pub(crate) mod asking;
pub(crate) mod before;
mod choices;
mod columns;
mod consult;
pub(crate) mod course;
mod decide;
mod differences;
mod drawings;
mod facts;
mod follows;
mod list;
mod money;
mod not_known;
mod out;
mod pack;
mod paths;
mod show;
mod sources;
mod staying;
mod stored;
mod summary;
mod turning;
pub(crate) mod words;

use actix_web::web;

pub(crate) use sources::input_words;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/advice").route(web::get().to(list::show)))
        .service(web::resource("/advice/{id}").route(web::get().to(show::page_of)))
        .service(web::resource("/advice/{id}/pack").route(web::get().to(pack::show)))
        .service(web::resource("/advice/{id}/pack.pdf").route(web::get().to(pack::pdf::send)))
        .service(web::resource("/advice/{id}/decide").route(web::post().to(decide::take)))
        .service(web::resource("/advice/{id}/quote-new").route(web::post().to(decide::quote_new)))
        .service(web::resource("/advice/{id}/go-ahead").route(web::post().to(decide::go_ahead)))
        .service(web::resource("/units/{id}/advice").route(web::post().to(decide::make)));
}
