//! The form a list is sent with, and the lists sent before.
use actix_multipart::Multipart;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use futures_util::StreamExt;
use terms::BuildingId;
use usecases::import::{self, Field, ImportHead, ListKind, Upload};
use usecases::{Error, FieldError};
use wording::{Choice, Fact, Row, Shell};

use super::words;
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// A little more than the largest file, for the fields beside it.
const MOST_SENT: u64 = (MOST_FILE as u64) + (1 << 20);
/// The largest file, one byte more: so that a larger one is seen to be larger.
const MOST_FILE: usize = import::MOST_BYTES + 1;
const TOO_LARGE: &str = "The file has more than 32 MB. Cut it into several lists.";

#[derive(Template)]
#[template(path = "import/send.html")]
struct SendPage {
    shell: Shell,
    form: Typed,
    once: String,
    kinds: Vec<Choice>,
    buildings: Vec<Choice>,
    before: Vec<Row>,
    of_units: Vec<Fact>,
    of_history: Vec<Fact>,
    of_records: Vec<Fact>,
}

/// The form.
pub(super) async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    page(&filled(&desk, &state, Typed::default()).await?)
}

async fn filled(desk: &Desk, state: &web::Data<State>, form: Typed) -> Result<SendPage, Failure> {
    let seat = desk.seat.clone();
    let (lists, buildings) = answer(state, move |world| {
        Ok((
            import::lists(world, &seat)?,
            import::building_choices(world, &seat)?,
        ))
    })
    .await?;
    let kind = form.value("kind").to_owned();
    let kinds = [
        (
            "",
            "Let the headings tell",
            "Units, history or times of records; you see which before anything is stored.",
        ),
        (
            "units",
            "Units",
            "A row for each boiler, store, pump or other unit.",
        ),
        (
            "history",
            "History",
            "A row for each failure, service, repair or part fitted.",
        ),
        (
            "records",
            "Times of records",
            "A row for each time in which failures were written down, with or without how many there were.",
        ),
    ];
    let chosen = form.value("building").to_owned();
    let mut choices = vec![Choice::new(
        "",
        "Named in the list, or only one there is",
        chosen.is_empty(),
    )];
    choices.extend(
        buildings
            .into_iter()
            .map(|(id, name)| Choice::new(id.to_string(), name, chosen == id.to_string())),
    );
    Ok(SendPage {
        shell: desk.shell(state, "import"),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        kinds: kinds
            .map(|(value, label, hint)| Choice::new(value, label, kind == value).hint(hint))
            .to_vec(),
        buildings: choices,
        before: lists.iter().map(before).collect(),
        of_units: guide(ListKind::Units),
        of_history: guide(ListKind::History),
        of_records: guide(ListKind::Records),
        form,
    })
}

fn guide(kind: ListKind) -> Vec<Fact> {
    Field::of(kind)
        .iter()
        .map(|field| Fact::new(field.label(), words::expected(*field)))
        .collect()
}

fn before(head: &ImportHead) -> Row {
    let href = format!("/import/{}", head.id);
    Row::about(
        format!("list-{}", head.id),
        wording::Link::new(head.name.clone(), href),
        format!(", {}.", words::standing_of(head)),
    )
    .figure(
        terms::money::thousands(u64::from(head.rows.unsigned_abs())),
        if head.rows == 1 { "row" } else { "rows" },
    )
}

/// What came in the form's parts.
#[derive(Default)]
struct Sent {
    file: Option<(String, Vec<u8>)>,
    typed: Vec<(String, String)>,
    wrong: Option<&'static str>,
}

/// Takes a list.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    request: HttpRequest,
    parts: Multipart,
) -> Result<HttpResponse, Failure> {
    let length = request
        .headers()
        .get("content-length")
        .and_then(|v| v.to_str().ok())
        .and_then(|v| v.parse::<u64>().ok());
    let sent = match length {
        Some(length) if length <= MOST_SENT => read(parts).await,
        _ => Sent {
            wrong: Some(TOO_LARGE),
            ..Sent::default()
        },
    };
    let mut form = Typed::from(sent.typed);
    let once = form.once();
    if let Some(sentence) = sent.wrong {
        form.complain("file", sentence);
    }
    let (kind, building) = (kind_of(&mut form), building_of(&mut form));
    let file = sent
        .file
        .filter(|(name, bytes)| !name.is_empty() || !bytes.is_empty());
    if file.is_none() && !form.is_wrong() {
        form.complain("file", "Choose the file first.");
    }
    let (Some((name, bytes)), false) = (file, form.is_wrong()) else {
        return wrong(&filled(&desk, &state, form).await?);
    };
    let seat = desk.seat.clone();
    let upload = Upload {
        name,
        bytes,
        kind,
        building,
        source: form.value("source").trim().to_owned(),
        sheet: form.value("sheet").trim().to_owned(),
    };
    let kept = ask(&state, move |world| {
        let id = import::upload(world, &seat, upload, &once)?;
        Ok((id, import::standing(world, &seat, id)?.0.state))
    })
    .await;
    match kept {
        Ok((id, standing)) if matches!(standing.as_str(), "reading" | "coming_in") => {
            Ok(see(&format!("/import/{id}")))
        }
        Ok((id, standing)) if standing == "done" => Ok(see_told(
            &format!("/import/{id}"),
            "This very file came in before. Nothing was changed.",
        )),
        Ok((id, _)) => Ok(see(&format!("/import/{id}/columns"))),
        Err(error) => {
            form.take_wrongs(error).map_err(Failure)?;
            wrong(&filled(&desk, &state, form).await?)
        }
    }
}

fn kind_of(form: &mut Typed) -> Option<ListKind> {
    match form.value("kind").to_owned().as_str() {
        "" => None,
        code => match code.parse() {
            Ok(kind) => Some(kind),
            Err(sentence) => {
                let sentence: String = sentence;
                form.complain("kind", sentence);
                None
            }
        },
    }
}

fn building_of(form: &mut Typed) -> Option<BuildingId> {
    let text = form.value("building").to_owned();
    if text.is_empty() {
        return None;
    }
    let id = uuid::Uuid::parse_str(&text).ok().map(BuildingId);
    if id.is_none() {
        form.complain("building", "Choose a building of the list.");
    }
    id
}

async fn read(mut parts: Multipart) -> Sent {
    let mut sent = Sent::default();
    while let Some(part) = parts.next().await {
        let Ok(mut part) = part else {
            sent.wrong = Some("The file did not arrive whole. Send it again.");
            return sent;
        };
        let name = part.name().unwrap_or("").to_owned();
        let file_name = part
            .content_disposition()
            .and_then(|d| d.get_filename())
            .map(str::to_owned);
        let most = if name == "file" { MOST_FILE } else { 4096 };
        match part.bytes(most).await {
            Ok(Ok(bytes)) if name == "file" => {
                sent.file = Some((file_name.unwrap_or_default(), bytes.to_vec()));
            }
            Ok(Ok(bytes)) => sent
                .typed
                .push((name, String::from_utf8_lossy(&bytes).into_owned())),
            Ok(Err(_)) => {
                sent.wrong = Some("The file did not arrive whole. Send it again.");
                return sent;
            }
            Err(_) => sent.wrong = Some(TOO_LARGE),
        }
    }
    sent
}

/// The sentence of a use case that refuses `rows`, for pages that show it above.
pub(super) fn refusal(error: &Error) -> Option<&FieldError> {
    match error {
        Error::Invalid(fields) => fields.first(),
        _ => None,
    }
}
