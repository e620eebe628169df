//! In whose name records and letters go out, and where the buildings stand: printed on every paper.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::BuildingId;
use usecases::letterhead::{self, Letterhead};
use wording::Shell;

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/letterhead")
                .route(web::get().to(show))
                .route(web::post().to(take)),
        )
        .service(web::resource("/letterhead/{building}").route(web::post().to(take_address)));
}

#[derive(Template)]
#[template(path = "letters/letterhead.html")]
struct LetterheadPage {
    shell: Shell,
    form: Typed,
    /// Each building: id, name, address.
    buildings: Vec<(String, String, String)>,
    once: String,
}

/// The page with what stands, and over it what was typed.
async fn page_of(
    desk: &Desk,
    state: &web::Data<State>,
    typed: &Typed,
) -> Result<LetterheadPage, Failure> {
    let seat = desk.seat.clone();
    let (stated, buildings) = answer(state, move |world| {
        let stated = letterhead::letterhead(world, &seat)?;
        Ok((stated, letterhead::addresses(world, &seat)?))
    })
    .await?;
    let mut form = Typed::starting_with([
        ("name", stated.name),
        ("address", stated.address),
        ("telephone", stated.telephone),
    ]);
    form.lay_over(typed);
    Ok(LetterheadPage {
        shell: desk.shell(state, "letterhead"),
        buildings: buildings
            .into_iter()
            .map(|(id, name, address)| (id.to_string(), name, address))
            .collect(),
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    page(&page_of(&desk, &state, &Typed::default()).await?)
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
    let seat = desk.seat.clone();
    let asked = ask(&state, move |world| {
        letterhead::state_letterhead(world, &seat, &typed, &once)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told(
            "/letterhead",
            "Records and letters made from now on carry it; those that went out keep theirs.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&desk, &state, &form).await?)
        }
    }
}

/// Where one building stands.
async fn take_address(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let (seat, once) = (desk.seat.clone(), form.once());
    let typed = form.value("place").to_owned();
    let asked = ask(&state, move |world| {
        letterhead::state_address(world, &seat, (building, &typed), &once)
    })
    .await;
    match asked {
        Ok(()) => Ok(see_told("/letterhead", "The building’s address is stated.")),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&desk, &state, &form).await?)
        }
    }
}
