//! A list that a task reads or brings in: how far it is. The page may be left and come back to.
use actix_web::HttpResponse;
use askama::Template;
use terms::money::thousands;
use usecases::import::{ImportHead, Progress};
use wording::Shell;

use crate::Failure;
use crate::page::page;
use crate::seats::Desk;
use crate::state::State;

/// Seconds until the browser looks again by itself.
const LOOK_AGAIN: &str = "3";

#[derive(Template)]
#[template(path = "import/waiting.html")]
struct WaitingPage {
    shell: Shell,
    file: String,
    heading_words: &'static str,
    standing: &'static str,
    said: String,
    rows_done: i32,
    of_all: i32,
    refused: bool,
    import: String,
}

/// The page of a list that waits, or could not be read; `None` for one that stands otherwise.
pub(super) fn waiting(
    desk: &Desk,
    state: &State,
    (head, progress): (&ImportHead, Option<&Progress>),
) -> Option<Result<HttpResponse, Failure>> {
    let (heading_words, standing) = match head.state.as_str() {
        "reading" => (
            "The list is being read",
            "You can leave this page and come back: it goes on without you, and nothing is stored before you have seen it.",
        ),
        "coming_in" => (
            "The list is coming in",
            "You can leave this page and come back: it goes on without you. All of it comes in, or nothing.",
        ),
        "refused" => (
            "The list could not be taken",
            "Nothing of it was stored in the register.",
        ),
        _ => return None,
    };
    let (done, of_all) = progress.map_or((0, 0), |p| (p.done, p.of_all));
    let words = progress.map_or("", |p| p.words.as_str());
    let said = if of_all > 0 {
        format!(
            "{words} {} of {} rows.",
            thousands(u64::from(done.unsigned_abs())),
            thousands(u64::from(of_all.unsigned_abs()))
        )
    } else {
        words.to_owned()
    };
    let refused = head.state == "refused";
    let filled = WaitingPage {
        shell: desk.shell(state, "import"),
        file: head.name.clone(),
        heading_words,
        standing,
        said,
        rows_done: done,
        of_all,
        refused,
        import: head.id.to_string(),
    };
    Some(page(&filled).map(|mut answer| {
        if !refused {
            let name = actix_web::http::header::REFRESH;
            let again = actix_web::http::header::HeaderValue::from_static(LOOK_AGAIN);
            answer.headers_mut().insert(name, again);
        }
        answer
    }))
}
