//! In whose name records and letters go out: stated by the agent, printed on every paper.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::letterhead::{self, Letterhead};
use wording::Shell;

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(
        web::resource("/letterhead")
            .route(web::get().to(show))
            .route(web::post().to(take)),
    );
}

#[derive(Template)]
#[template(path = "letters/letterhead.html")]
struct LetterheadPage {
    shell: Shell,
    form: Typed,
    once: String,
}

async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let stated = answer(&state, move |world| letterhead::letterhead(world, &seat)).await?;
    page(&LetterheadPage {
        shell: desk.shell(&state, "letterhead"),
        form: Typed::starting_with([
            ("name", stated.name),
            ("address", stated.address),
            ("telephone", stated.telephone),
        ]),
        once: fresh_once(),
    })
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let typed = Letterhead {
        name: form.value("name").trim().to_owned(),
        address: form.value("address").trim().to_owned(),
        telephone: form.value("telephone").trim().to_owned(),
    };
    let (seat, key) = (desk.seat.clone(), once.clone());
    let asked = ask(&state, move |world| {
        letterhead::state_letterhead(world, &seat, &typed, &key)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told(
            "/letterhead",
            "Records and letters made from now on carry it; those that went out keep theirs.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            let shell = desk.shell(&state, "letterhead");
            wrong(&LetterheadPage { shell, form, once })
        }
    }
}
