//! Errors are pages: what happened in a sentence, what was kept, and where to go on.
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, ResponseError};
use askama::Template;
use usecases::Error;

/// A use case's error on its way to becoming a page, or "sign in first".
#[derive(Debug)]
pub struct Failure(pub(crate) Error);

/// The message [`Failure::sign_in_first`] carries its address in.
const SIGN_IN: &str = "sign in first: ";

#[derive(Template)]
#[template(path = "errors/error.html")]
struct ErrorPage<'a> {
    title: &'a str,
    heading: &'a str,
    standing: &'a str,
}

impl Failure {
    /// Leads to the sign-in page, and from there back.
    pub(crate) fn sign_in_first(request: &HttpRequest) -> Self {
        let to = request.uri().path_and_query().map_or("/", |p| p.as_str());
        Self(Error::Internal(format!("{SIGN_IN}{to}")))
    }

    fn sign_in_address(&self) -> Option<&str> {
        match &self.0 {
            Error::Internal(message) => message.strip_prefix(SIGN_IN),
            _ => None,
        }
    }
}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        Self(error)
    }
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

impl ResponseError for Failure {
    fn status_code(&self) -> StatusCode {
        match &self.0 {
            Error::Conflict(_) => StatusCode::CONFLICT,
            Error::Gone(_) => StatusCode::GONE,
            Error::Forbidden(_) | Error::NotFound(_) => StatusCode::NOT_FOUND,
            Error::Invalid(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Error::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
            Error::Unavailable => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    fn error_response(&self) -> HttpResponse {
        if let Some(to) = self.sign_in_address() {
            let to: String = form_urlencoded(to);
            return crate::page::see(&format!("/sign-in?to={to}"));
        }
        let invalid;
        let (heading, standing) = match &self.0 {
            Error::Conflict(sentence) => ("Two people wrote at once", sentence.as_str()),
            Error::Gone(sentence) => ("This page is over", sentence.as_str()),
            Error::Forbidden(_) | Error::NotFound(_) => (
                "There is nothing here for you",
                "It does not exist, or it is not yours to see. Whoever sent you the address can tell you more.",
            ),
            Error::Invalid(fields) => {
                invalid = fields
                    .iter()
                    .map(|f| f.sentence.as_str())
                    .collect::<Vec<_>>()
                    .join(" ");
                ("That cannot be taken as typed", invalid.as_str())
            }
            Error::Internal(cause) => {
                tracing::error!(%cause, "a request failed");
                (
                    "Something went wrong on our side",
                    "Nothing was changed. It is written in the log; please try again, and tell whoever runs Riserward here if it happens twice.",
                )
            }
            Error::Unavailable => (
                "Not just now",
                "The database is busy. Nothing was changed; wait a moment and send it again.",
            ),
        };
        render(self.status_code(), heading, standing)
    }
}

fn render(status: StatusCode, heading: &str, standing: &str) -> HttpResponse {
    let page = ErrorPage {
        title: heading,
        heading,
        standing,
    };
    match page.render() {
        Ok(html) => HttpResponse::build(status)
            .content_type("text/html; charset=utf-8")
            .body(html),
        Err(_) => HttpResponse::build(status).body(format!("{heading}. {standing}")),
    }
}

/// An address that does not exist.
pub(crate) async fn nothing_here() -> HttpResponse {
    render(
        StatusCode::NOT_FOUND,
        "There is no such page",
        "The address may be mistyped, or the page may have moved.",
    )
}

/// A post that did not come from our own pages.
pub(crate) fn from_elsewhere() -> HttpResponse {
    render(
        StatusCode::FORBIDDEN,
        "That did not come from this site",
        "For your safety it was refused and nothing was changed. Open the page here and send it again.",
    )
}

fn form_urlencoded(text: &str) -> String {
    text.bytes()
        .map(|b| match b {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'/' => {
                char::from(b).to_string()
            }
            _ => format!("%{b:02X}"),
        })
        .collect()
}
