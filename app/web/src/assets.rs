//! Style sheets, fonts and the phone's scripts, built into the program.
use actix_web::http::header::{ETAG, IF_NONE_MATCH};
use actix_web::{HttpRequest, HttpResponse, web};
use usecases::visit::RuleBook;

macro_rules! files {
    ($($name:literal: $kind:literal,)*) => {
        const FILES: &[(&str, &str, &[u8])] = &[
            $(($name, $kind, include_bytes!(concat!("../assets/", $name))),)*
        ];
    };
}

files! {
    "riserward.css": "text/css; charset=utf-8",
    "drawing.css": "text/css; charset=utf-8",
    "rules.js": "text/javascript; charset=utf-8",
    "days.js": "text/javascript; charset=utf-8",
    "visit.js": "text/javascript; charset=utf-8",
    "said.js": "text/javascript; charset=utf-8",
    "kept.js": "text/javascript; charset=utf-8",
    "worker.js": "text/javascript; charset=utf-8",
    "sheet.js": "text/javascript; charset=utf-8",
    "way.js": "text/javascript; charset=utf-8",
    "mark.svg": "image/svg+xml",
    "fonts/radio-canada-latin-wght-normal.woff2": "font/woff2",
    "fonts/radio-canada-latin-ext-wght-normal.woff2": "font/woff2",
    "fonts/atkinson-hyperlegible-mono-latin-wght-normal.woff2": "font/woff2",
}

/// One file; fonts may be kept for a year, the rest is asked for again by its tag.
pub(crate) async fn serve(request: HttpRequest, file: web::Path<String>) -> HttpResponse {
    let Some((name, kind, bytes)) = FILES.iter().find(|(name, ..)| *name == file.as_str()) else {
        return crate::error_page::nothing_here().await;
    };
    let tag = tag(bytes);
    let known = request
        .headers()
        .get(IF_NONE_MATCH)
        .and_then(|v| v.to_str().ok());
    if known == Some(tag.as_str()) {
        return HttpResponse::NotModified()
            .insert_header((ETAG, tag))
            .finish();
    }
    let keep = if name.starts_with("fonts/") {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let mut answer = HttpResponse::Ok();
    // The worker lies among the assets and keeps the pages of the sheets, no others.
    if *name == "worker.js" {
        answer.insert_header(("service-worker-allowed", "/sheet/"));
    }
    answer
        .content_type(*kind)
        .insert_header((ETAG, tag))
        .insert_header(("cache-control", keep))
        .body(*bytes)
}

/// The rule book by its digest: a phone keeps it and goes on judging by it without signal. Another digest is not there.
pub(crate) async fn rule_book(digest: web::Path<String>) -> HttpResponse {
    let known = RuleBook::shipped().is_ok_and(|book| book.digest() == digest.as_str());
    if !known {
        return crate::error_page::nothing_here().await;
    }
    HttpResponse::Ok()
        .content_type("application/json")
        .insert_header(("cache-control", "public, max-age=31536000, immutable"))
        .body(RuleBook::shipped_text())
}

/// FNV-1a of the bytes: it only has to change when they do.
fn tag(bytes: &[u8]) -> String {
    let hash = bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |h, b| {
        (h ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("\"{hash:016x}\"")
}
