//! Pages of `import`.
use actix_web::web;

/// Its addresses.
pub(crate) fn routes(_config: &mut web::ServiceConfig) {}
