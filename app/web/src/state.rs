//! What every handler shares, and the way from a request to a use case.
use std::net::IpAddr;
use std::sync::Arc;

use actix_web::HttpRequest;
use usecases::{Error, World};
use wording::paper::{NotSet, Paper, Typesetter};

use crate::Failure;

/// Shared by every handler.
#[derive(Debug)]
pub(crate) struct State {
    /// Database and clock.
    pub world: World,
    /// HTTPS stands before or in us: cookies say `Secure`.
    pub secure: bool,
    /// The proxy whose word about the caller is believed.
    pub trusted_proxy: Option<IpAddr>,
    /// What sets papers.
    pub typesetter: Option<Arc<dyn Typesetter>>,
}

impl State {
    /// Whether papers can be had as PDF.
    pub(crate) fn sets_papers(&self) -> bool {
        let typesetter = self.typesetter.as_ref();
        typesetter.is_some_and(|typesetter| typesetter.is_there())
    }

    /// Where a request came from, as the proxy says if it is the trusted one.
    pub(crate) fn caller(&self, request: &HttpRequest) -> String {
        let peer = request.peer_addr().map(|a| a.ip());
        if peer.is_some() && peer == self.trusted_proxy {
            let said = request
                .headers()
                .get("x-forwarded-for")
                .and_then(|v| v.to_str().ok());
            if let Some(first) = said.and_then(|list| list.split(',').next_back()) {
                return first.trim().to_owned();
            }
        }
        peer.map_or_else(|| "unknown".to_owned(), |ip| ip.to_string())
    }

    /// Whether the request came over loopback and through no proxy.
    pub(crate) fn is_from_loopback(&self, request: &HttpRequest) -> bool {
        self.trusted_proxy.is_none()
            && request.peer_addr().is_some_and(|a| a.ip().is_loopback())
            && !request.headers().contains_key("x-forwarded-for")
    }
}

/// Runs a use case on a thread that may block.
pub(crate) async fn ask<T: Send + 'static>(
    state: &actix_web::web::Data<State>,
    work: impl FnOnce(&World) -> Result<T, Error> + Send + 'static,
) -> Result<T, Error> {
    let world = state.world.clone();
    actix_web::web::block(move || work(&world))
        .await
        .unwrap_or_else(|e| Err(Error::Internal(format!("a worker thread broke off: {e}"))))
}

/// The same, where an error becomes a page.
pub(crate) async fn answer<T: Send + 'static>(
    state: &actix_web::web::Data<State>,
    work: impl FnOnce(&World) -> Result<T, Error> + Send + 'static,
) -> Result<T, Failure> {
    ask(state, work).await.map_err(Failure)
}

/// The paper as a PDF, set on a thread that may block.
pub(crate) async fn pdf(
    state: &actix_web::web::Data<State>,
    paper: Paper,
) -> Result<Vec<u8>, NotSet> {
    let typesetter = state.typesetter.clone().ok_or(NotSet::NotThere)?;
    actix_web::web::block(move || typesetter.set(&paper))
        .await
        .unwrap_or(Err(NotSet::Failed))
}
