//! Every unsafe request must come from our own pages; every answer says what the browser may do with it.
use actix_web::body::MessageBody;
use actix_web::cookie::Cookie;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::http::header::{CONTENT_SECURITY_POLICY, HeaderMap, HeaderName, HeaderValue};
use actix_web::middleware::Next;

use crate::error_page;

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    font-src 'self'; connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; \
    base-uri 'none'; frame-ancestors 'none'";

const ALWAYS: [(&str, &str); 5] = [
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    (
        "permissions-policy",
        "camera=(self), geolocation=(), microphone=()",
    ),
];

/// Refuses a POST that another site sent: Fetch-Metadata first, `Origin` where a browser does not send it;
/// with neither, only a request without our cookie passes.
pub(crate) async fn same_origin(
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, actix_web::Error> {
    let safe = matches!(
        *request.method(),
        Method::GET | Method::HEAD | Method::OPTIONS
    );
    if safe || from_our_pages(&request) {
        return next
            .call(request)
            .await
            .map(ServiceResponse::map_into_left_body);
    }
    let refused = error_page::from_elsewhere();
    Ok(request.into_response(refused).map_into_right_body())
}

fn from_our_pages(request: &ServiceRequest) -> bool {
    let headers = request.headers();
    let text = |name: &str| headers.get(name).map(|v| v.to_str().unwrap_or(""));
    if let Some(site) = text("sec-fetch-site") {
        return matches!(site, "same-origin" | "none");
    }
    if let Some(origin) = text("origin") {
        let host = text("host").unwrap_or("");
        return origin
            .split_once("://")
            .is_some_and(|(_, rest)| !host.is_empty() && rest == host);
    }
    !headers.contains_key("cookie")
}

/// The same few headers on every answer; pages are never kept by caches (those of an open sheet are by its own worker,
/// `assets/worker.js`, until somebody signs out).
pub(crate) async fn headers(
    request: ServiceRequest,
    next: Next<impl MessageBody>,
) -> Result<ServiceResponse<impl MessageBody>, actix_web::Error> {
    let asset = request.path().starts_with("/assets/");
    let said = *request.method() == Method::GET && !asset && request.cookie("said").is_some();
    let mut response = next.call(request).await?;
    set(response.headers_mut(), asset);
    // What was said once is not said again; a redirect passes it on.
    if said && response.status().is_success() {
        let mut gone = Cookie::build("said", "").path("/").finish();
        gone.make_removal();
        response.response_mut().add_cookie(&gone)?;
    }
    Ok(response)
}

fn set(headers: &mut HeaderMap, asset: bool) {
    for (name, value) in ALWAYS {
        let name = HeaderName::from_static(name);
        // A file that somebody sent is handed out under a narrower policy of its own.
        if name == CONTENT_SECURITY_POLICY && headers.contains_key(&name) {
            continue;
        }
        headers.insert(name, HeaderValue::from_static(value));
    }
    let cache = HeaderName::from_static("cache-control");
    if !asset && !headers.contains_key(&cache) {
        headers.insert(cache, HeaderValue::from_static("no-store"));
    }
}
