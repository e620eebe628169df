//! The preview of a list, what is settled on it, bringing it in, and what came of it.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::Error;
use usecases::import::{self, BroughtIn, Code, Field, NameForm, Remedy, SettleForm, View};
use wording::{Choice, Row, Shell, UndoBar};

use super::waiting::waiting;
use super::{send, words};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see, see_saying, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "import/preview.html")]
struct PreviewPage {
    shell: Shell,
    refused: Option<String>,
    file: String,
    size: String,
    finding: String,
    standing: String,
    import: String,
    once: String,
    effect: Vec<Row>,
    asked: Vec<Row>,
    causes: Vec<Row>,
    beside: Vec<Row>,
    findings: Vec<Row>,
    named: Vec<Row>,
    unknown: Vec<Choice>,
    form: Typed,
    to_mend: bool,
    leave_rest: String,
    coming: String,
    ready: bool,
}

#[derive(Template)]
#[template(path = "import/done.html")]
struct DonePage {
    shell: Shell,
    file: String,
    finding: String,
    standing: String,
    came: Vec<Row>,
    note: String,
    import: String,
    once: String,
    undo: String,
    next: &'static str,
}

fn preview_page(
    desk: &Desk,
    state: &State,
    (view, form): (&View, Typed),
    refused: Option<String>,
) -> PreviewPage {
    let preview = &view.preview;
    let causes = preview.causes(&view.matching);
    let open = causes.iter().filter(|c| c.remedy.is_none()).count();
    let id = view.head.id.to_string();
    PreviewPage {
        shell: desk.shell(state, "import"),
        refused,
        file: view.head.name.clone(),
        size: words::size(preview),
        finding: words::preview_finding(preview),
        standing: words::preview_standing(preview),
        once: fresh_once(),
        effect: words::effect(preview),
        asked: words::asked(preview, &id),
        causes: causes
            .iter()
            .enumerate()
            .map(|(n, cause)| words::cause(n, cause, preview, &id))
            .collect(),
        beside: words::beside(preview),
        findings: words::findings(&preview.findings),
        named: words::named(&view.matching, &id),
        unknown: words::unknown(&causes, form.value("word")),
        form,
        to_mend: !preview.problems.is_empty() && preview.missing.is_empty(),
        leave_rest: if open > 1 && preview.missing.is_empty() {
            words::leave_rest(preview)
        } else {
            String::new()
        },
        coming: words::coming(preview),
        ready: preview.ready,
        import: id,
    }
}

fn done_page(desk: &Desk, state: &State, view: &View) -> DonePage {
    let now = state.world.now();
    let until =
        import::undo_until(&view.head).filter(|until| view.head.state == "done" && now <= *until);
    DonePage {
        shell: desk.shell(state, "import"),
        file: view.head.name.clone(),
        finding: words::done_finding(view),
        standing: words::done_standing(view),
        came: words::came(&view.preview, &view.head),
        note: words::done_note(view),
        import: view.head.id.to_string(),
        once: fresh_once(),
        undo: until.map_or_else(String::new, |until| {
            format!(
                "It can be taken back in one step until {}. {}",
                wording::sentences::dates::day(when::local_day(until)),
                words::would_take_back(view.undo.as_ref())
            )
        }),
        next: match view.preview.kind {
            import::ListKind::Units => {
                "The first useful step is the day each unit was fitted: a photo of the plate is enough. Then bring in their history."
            }
            import::ListKind::History => {
                "Forecasts take the new failures into account with the next refit."
            }
            import::ListKind::Records => {
                "Forecasts count failures in these times with the next refit; a quiet year in them counts in a unit’s favour."
            }
        },
    }
}

/// The page of a list, by where it stands.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let seat = desk.seat.clone();
    let far = answer(&state, move |world| import::standing(world, &seat, id)).await?;
    if let Some(page) = waiting(&desk, &state, (&far.0, far.1.as_ref())) {
        return page;
    }
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| import::view(world, &seat, id)).await?;
    if view.head.state == "preview" {
        // A task that could not bring it in has left the reason.
        let refused = far.1.filter(|p| p.of_all == 0).map(|p| p.words);
        let shown = (&view, Typed::default());
        page(&preview_page(&desk, &state, shown, refused))
    } else {
        page(&done_page(&desk, &state, &view))
    }
}

/// Takes what a source means by one of its names.
pub(super) async fn say_name(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let mut form = form.into_inner();
    let (field, said) = form.value("word").split_once(':').unwrap_or(("", ""));
    let chosen = Field::from_code(field).map(|field| NameForm {
        field,
        said: said.to_owned(),
        meant: form.value("meant").to_owned(),
    });
    let done = match chosen {
        None => Err(Error::field("word", "Choose one of the words of the list.")),
        Some(chosen) if chosen.meant.trim().is_empty() && !form.ticked("forget") => {
            Err(Error::field("meant", "What does the register call it?"))
        }
        Some(chosen) => {
            let (seat, once) = (desk.seat.clone(), form.once());
            ask(&state, move |world| {
                import::say_name(world, &seat, id, chosen, &once)
            })
            .await
        }
    };
    match done {
        Ok(()) => Ok(see(&format!("/import/{id}#causes"))),
        Err(error) => {
            form.take_wrongs(error).map_err(Failure)?;
            let seat = desk.seat.clone();
            let view = answer(&state, move |world| import::view(world, &seat, id)).await?;
            wrong(&preview_page(&desk, &state, (&view, form), None))
        }
    }
}

/// Takes what to do with one cause.
pub(super) async fn settle(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let form = form.into_inner();
    let nowhere = || Failure(Error::NotFound("cause"));
    let code: Code = serde_json::from_value(form.value("code").into())
        .ok()
        .ok_or_else(nowhere)?;
    let remedy = match form.value("remedy") {
        "" => None,
        "leave_out" => Some(Remedy::LeaveOut),
        "take_as_empty" => Some(Remedy::TakeAsEmpty),
        "keep_both" => Some(Remedy::KeepBoth),
        _ => return Err(nowhere()),
    };
    let choice = SettleForm {
        code,
        column: form.value("column").to_owned(),
        remedy,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    answer(&state, move |world| {
        import::settle(world, &seat, id, choice, &once)
    })
    .await?;
    Ok(see(&format!("/import/{id}#causes")))
}

/// Leaves out the rows of every cause without a choice.
pub(super) async fn leave_rest_out(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let (seat, once) = (desk.seat.clone(), form.once());
    answer(&state, move |world| {
        import::leave_rest_out(world, &seat, id, &once)
    })
    .await?;
    Ok(see(&format!("/import/{id}")))
}

/// Brings the list in, or says what stands in the way.
pub(super) async fn bring_in(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        let brought = import::bring_in(world, &seat, id, &once)?;
        Ok(match brought {
            BroughtIn::Now(counts) => Some((counts, import::view(world, &seat, id)?)),
            BroughtIn::Waits => None,
        })
    })
    .await;
    match done {
        Ok(None) => Ok(see(&format!("/import/{id}"))),
        Ok(Some((counts, view))) => {
            let bar = UndoBar {
                sentence: words::brought_in(counts, &view),
                action: format!("/import/{id}/undo"),
                token: fresh_once(),
            };
            Ok(see_saying(&format!("/import/{id}"), &bar))
        }
        Err(error) => {
            let Some(refused) = send::refusal(&error).map(|f| f.sentence.clone()) else {
                return Err(Failure(error));
            };
            let seat = desk.seat.clone();
            let view = answer(&state, move |world| import::view(world, &seat, id)).await?;
            let shown = (&view, Typed::default());
            wrong(&preview_page(&desk, &state, shown, Some(refused)))
        }
    }
}

/// Takes the list back.
pub(super) async fn undo(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let form = form.into_inner();
    let once = match form.value("token") {
        "" => form.once(),
        token => token.to_owned(),
    };
    let seat = desk.seat.clone();
    let undone = answer(&state, move |world| import::undo(world, &seat, id, &once)).await?;
    Ok(see_told(
        &format!("/import/{id}"),
        &words::taken_back(&undone),
    ))
}

/// Puts a list away.
pub(super) async fn put_away(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let (seat, once) = (desk.seat.clone(), form.once());
    answer(&state, move |world| {
        import::drop_list(world, &seat, id, &once)
    })
    .await?;
    Ok(see_told(
        "/import",
        "The list was put away; nothing of it was stored in the register.",
    ))
}

/// The rows that are held or left out, to be mended and sent again.
pub(super) async fn to_mend(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let seat = desk.seat.clone();
    let (name, bytes) = answer(&state, move |world| import::bad_rows(world, &seat, id)).await?;
    let plain: String = name
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_' | ' ') {
                c
            } else {
                '_'
            }
        })
        .collect();
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header((
            "content-disposition",
            format!("attachment; filename=\"{plain}\""),
        ))
        .body(bytes))
}
