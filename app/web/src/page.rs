//! Answers: a page, a page with wrong fields, or "see there" with what was just done.
use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse};
use askama::Template;
use usecases::Error;
use wording::UndoBar;

use crate::Failure;
use crate::form::Typed;

/// A page.
pub(crate) fn page(template: &impl Template) -> Result<HttpResponse, Failure> {
    with_status(StatusCode::OK, template)
}

/// The same page again, with the fields that cannot be taken as typed.
pub(crate) fn wrong(template: &impl Template) -> Result<HttpResponse, Failure> {
    with_status(StatusCode::UNPROCESSABLE_ENTITY, template)
}

/// A page under `status`.
pub(crate) fn with_status(
    status: StatusCode,
    template: &impl Template,
) -> Result<HttpResponse, Failure> {
    let html = template
        .render()
        .map_err(|e| Failure(Error::Internal(format!("a page could not be written: {e}"))))?;
    Ok(HttpResponse::build(status)
        .content_type("text/html; charset=utf-8")
        .body(html))
}

/// "See there": after every post that did something.
pub(crate) fn see(href: &str) -> HttpResponse {
    HttpResponse::SeeOther()
        .insert_header(("Location", href))
        .finish()
}

/// "See there", and the next page says above its heading what was done.
pub(crate) fn see_saying(href: &str, bar: &UndoBar) -> HttpResponse {
    let said = serde_json::json!([bar.sentence, bar.action, bar.token]).to_string();
    let cookie = Cookie::build("said", terms::hex(said.as_bytes()))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .finish();
    HttpResponse::SeeOther()
        .insert_header(("Location", href))
        .cookie(cookie)
        .finish()
}

/// "See there", saying `sentence`, with nothing to take back.
pub(crate) fn see_told(href: &str, sentence: &str) -> HttpResponse {
    let bar = UndoBar {
        sentence: sentence.to_owned(),
        action: String::new(),
        token: String::new(),
    };
    see_saying(href, &bar)
}

/// What became of a form: "see there" with what was done, or nothing where its fields now say what is wrong.
pub(crate) fn told_unless_wrong(
    done: Result<(), Error>,
    form: &mut Typed,
    (href, sentence): (&str, &str),
) -> Result<Option<HttpResponse>, Failure> {
    match done {
        Ok(()) => Ok(Some(see_told(href, sentence))),
        Err(error) => {
            form.take_wrongs(error)?;
            Ok(None)
        }
    }
}

/// What the page before left to say.
pub(crate) fn read_said(request: &HttpRequest) -> Option<UndoBar> {
    let cookie = request.cookie("said")?;
    let bytes: Option<Vec<u8>> = cookie
        .value()
        .as_bytes()
        .chunks(2)
        .map(|pair| {
            std::str::from_utf8(pair)
                .ok()
                .and_then(|text| u8::from_str_radix(text, 16).ok())
        })
        .collect();
    let (sentence, action, token): (String, String, String) =
        serde_json::from_slice(&bytes?).ok()?;
    // Only an address of our own may be posted to.
    let ours = action.is_empty() || (action.starts_with('/') && !action.starts_with("//"));
    ours.then_some(UndoBar {
        sentence,
        action,
        token,
    })
}
