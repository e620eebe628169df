//! HTTP in, HTML out. Parses, calls one use case, renders; decides nothing.
mod account;
mod advice;
mod assets;
mod authority;
mod buildings;
mod calls;
mod cover;
mod drill;
mod duties;
mod enclosures;
mod error_page;
mod facts;
mod form;
mod health;
mod heaters;
mod home;
mod import;
mod in_date;
mod job_sheet;
mod jobs;
mod letter;
mod letterhead;
mod letters;
mod my_day;
mod outages;
mod outlook;
mod page;
mod prices;
mod programme;
mod prove;
mod recalls;
mod records;
mod reply;
mod reserve;
mod rounds;
mod seats;
mod shield;
mod sign_in;
mod spoken;
mod state;
mod temperatures;
mod today;
mod track_record;
mod units;
mod when;
mod winter;

use std::net::IpAddr;
use std::sync::Arc;
use std::time::Duration;

use actix_web::{App, HttpServer, web};
use usecases::World;

pub use error_page::Failure;
pub use wording::paper::Typesetter;

/// Where and how pages are served.
#[derive(Clone, Debug)]
pub struct Options {
    /// The address to listen on.
    pub address: IpAddr,
    /// The port to listen on; 0 takes any free one.
    pub port: u16,
    /// Certificate and key, for HTTPS.
    pub certificate: Option<Arc<rustls::ServerConfig>>,
    /// The proxy whose word about the caller is believed.
    pub trusted_proxy: Option<IpAddr>,
    /// Worker threads.
    pub workers: usize,
    /// What sets papers as PDF; `None`: they are printed from the browser.
    pub typesetter: Option<Arc<dyn Typesetter>>,
}

/// Binds and returns the running server with the port it listens on.
///
/// # Errors
/// The port cannot be opened.
pub fn server(world: World, options: Options) -> std::io::Result<(actix_web::dev::Server, u16)> {
    let secure = options.certificate.is_some() || options.trusted_proxy.is_some();
    let state = web::Data::new(state::State {
        world,
        secure,
        trusted_proxy: options.trusted_proxy,
        typesetter: options.typesetter,
    });
    let server = HttpServer::new(move || {
        App::new()
            .app_data(state.clone())
            .app_data(web::FormConfig::default().limit(1 << 20))
            .app_data(web::PayloadConfig::new(12 << 20))
            .wrap(actix_web::middleware::from_fn(shield::same_origin))
            .wrap(actix_web::middleware::from_fn(shield::headers))
            .wrap(actix_web::middleware::Compress::default())
            .configure(routes)
            .default_service(web::to(error_page::nothing_here))
    })
    .workers(options.workers.max(1))
    .client_request_timeout(Duration::from_secs(20))
    .shutdown_timeout(5);
    let place = (options.address, options.port);
    let server = match options.certificate {
        Some(certificate) => server.bind_rustls_0_23(place, Arc::unwrap_or_clone(certificate))?,
        None => server.bind(place)?,
    };
    let port = server
        .addrs()
        .first()
        .map_or(options.port, std::net::SocketAddr::port);
    Ok((server.run(), port))
}

/// One flat list: every address of the program.
fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/").route(web::get().to(home::home)))
        .service(
            web::resource("/sign-in")
                .route(web::get().to(sign_in::show))
                .route(web::post().to(sign_in::take)),
        )
        .service(web::resource("/sign-out").route(web::post().to(sign_in::leave)))
        .service(web::resource("/account").route(web::get().to(account::show)))
        .configure(account::second_device::routes)
        .service(
            web::resource("/account/sign-out-everywhere")
                .route(web::post().to(account::leave_everywhere)),
        )
        .service(web::resource("/alive").route(web::get().to(health::alive)))
        .service(web::resource("/assets/rules/{digest}").route(web::get().to(assets::rule_book)))
        .service(web::resource("/assets/{file:.*}").route(web::get().to(assets::serve)));
    advice::routes(config);
    authority::routes(config);
    buildings::routes(config);
    calls::routes(config);
    cover::routes(config);
    drill::routes(config);
    duties::routes(config);
    enclosures::routes(config);
    facts::routes(config);
    heaters::routes(config);
    import::routes(config);
    in_date::routes(config);
    job_sheet::routes(config);
    jobs::routes(config);
    letter::routes(config);
    letterhead::routes(config);
    letters::routes(config);
    my_day::routes(config);
    prices::routes(config);
    outages::routes(config);
    outlook::routes(config);
    programme::routes(config);
    prove::routes(config);
    recalls::routes(config);
    records::routes(config);
    reply::routes(config);
    reserve::routes(config);
    rounds::routes(config);
    temperatures::routes(config);
    today::routes(config);
    track_record::routes(config);
    units::routes(config);
    winter::routes(config);
}
