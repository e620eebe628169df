//! A device beside the password: beginning it, setting it by its first digits, taking it off.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Person;
use usecases::World;
use usecases::second_device::{self, Standing};
use wording::Shell;
use wording::drawings::{Drawing, square_code};

use crate::Failure;
use crate::form::Typed;
use crate::page::{page, see_told, wrong};
use crate::seats::Visitor;
use crate::state::{State, answer, ask};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/account/second-device")
                .route(web::get().to(show))
                .route(web::post().to(take_set)),
        )
        .service(web::resource("/account/second-device/begin").route(web::post().to(take_begin)))
        .service(web::resource("/account/second-device/off").route(web::post().to(take_off)));
}

#[derive(Template)]
#[template(path = "door/second-device.html")]
struct DevicePage {
    shell: Shell,
    words: &'static str,
    set: bool,
    begun: Option<Begun>,
    form: Typed,
}

struct Begun {
    code: Option<Drawing>,
    typed: String,
    address: String,
}

/// Where it stands, for the account's page.
pub(super) fn in_a_sentence(standing: &Standing) -> &'static str {
    match standing {
        Standing::Set => {
            "One is set: a decision above the sum the landlord stated asks for its digits."
        }
        Standing::Begun { .. } => "One was begun and not set yet, so nothing asks for it.",
        Standing::None => {
            "None is set. A decision above the sum the landlord stated asks for your password only."
        }
    }
}

async fn page_of(
    visitor: &Visitor,
    state: &web::Data<State>,
    form: Typed,
) -> Result<DevicePage, Failure> {
    let person = visitor.person.clone();
    let standing = answer(state, move |world| second_device::standing(world, &person)).await?;
    let words = in_a_sentence(&standing);
    let set = standing == Standing::Set;
    let begun = match standing {
        Standing::Begun { address, typed } => Some(Begun {
            code: square_code::draw(
                "device",
                &address,
                "A square code with what your device has to know; the same stands beside it to be typed.",
            ),
            typed,
            address,
        }),
        _ => None,
    };
    Ok(DevicePage {
        shell: super::shell_of(visitor, state, "account"),
        words,
        set,
        begun,
        form,
    })
}

async fn show(visitor: Visitor, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    page(&page_of(&visitor, &state, Typed::default()).await?)
}

async fn take_begin(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let said = "Show your device the code, then type the digits it shows.";
    let begin = |world: &World, person: &Person, form: &Typed| {
        second_device::begin(world, person, form.value("password"))
    };
    act(visitor, state, form, (begin, said)).await
}

async fn take_set(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let set = |world: &World, person: &Person, form: &Typed| {
        second_device::set(world, person, form.value("digits"))
    };
    act(visitor, state, form, (set, "Your second device is set.")).await
}

async fn take_off(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let off = |world: &World, person: &Person, form: &Typed| {
        second_device::take_off(world, person, form.value("password"), form.value("digits"))
    };
    act(
        visitor,
        state,
        form,
        (off, "Your second device is taken off."),
    )
    .await
}

/// Does one thing with what was typed; the page again with its sentences where it cannot be done.
async fn act(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
    (what, sentence): (
        fn(&World, &Person, &Typed) -> Result<(), usecases::Error>,
        &'static str,
    ),
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (person, typed) = (visitor.person.clone(), form.clone());
    match ask(&state, move |world| what(world, &person, &typed)).await {
        Ok(()) => Ok(see_told("/account/second-device", sentence)),
        Err(error) => {
            form.take_wrongs(error).map_err(Failure)?;
            wrong(&page_of(&visitor, &state, form).await?)
        }
    }
}
